"""What `check` says of a campaign's layout, as JSON and as text, against the campaign file itself and its tables, with every part and
without. Usage: layouts.py PROGRAM ROOT"""
import csv
import json
import shutil
import sys
import tempfile
from pathlib import Path

from asking import finish, must, near, ok

ROOT = Path(sys.argv[2])


def rows(folder, name):
    lines = (folder / name).read_text().splitlines() if name else []
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def middle(entry, default):
    """A number that is fixed, or the middle of a symmetric distribution."""
    if isinstance(entry, dict):
        return entry["mean"] if "mean" in entry else 0.5 * (entry["low"] + entry["high"])
    return default if entry is None else entry


def camera(given):
    return {"name": given["name"], "frame_rate_hz": given["frame_rate_hz"], "width_px": given["width_px"],
            "height_px": given.get("height_px") or given["width_px"] * 9 // 16, "mount": given.get("mount", "platform"),
            "lens_angle_deg": middle(given.get("lens_angle_deg"), 90), "line_time_us": middle(given.get("line_time_us"), 0)}


def wanted(folder, given):
    """The layout by the file alone; the thrust table's figures apart."""
    battery, controller, gyro = given.get("battery"), given["controller"], given["gyro"]
    on_angle = controller["acts_on"] == "angle"
    return {
        "nose": given["vehicle"]["nose"]["shape"], "body_sections": len(given.get("body", [])),
        "fins": [fins["count"] for fins in given["fins"]], "aero_rows": len(rows(folder, given.get("aero", {}).get("table_csv"))),
        "wind_rows": len(rows(folder, given["wind"].get("table_csv"))), "has_gusts": "gusts" in given["wind"],
        "has_descent": "descent" in given,
        "below_floor": given["drive"].get("below_floor", "stop") if given["drive"]["kind"] == "geared_sensorless" else None,
        "battery": {key: middle(battery[key], None) for key in ("full_V", "low_V", "capacity_As")} if battery else None,
        "gyro": {"mount": gyro["mount"], "rate_hz": gyro["rate_hz"], "latency_s": gyro.get("latency_s", 0)},
        "encoder_rate_hz": given.get("encoder", {}).get("rate_hz"),
        "controller": {"acts_on": controller["acts_on"], "rate_hz": controller["rate_hz"],
                       "turns": controller.get("turns", "accumulated") if on_angle else None},
        "cameras": [camera(one) for one in given["cameras"]]}


def check(file):
    given = json.loads(file.read_text())
    told = json.loads(must("check", file, "--json"))
    layout = told["layout"]
    thrust = [(float(row["time_s"]), float(row["thrust_N"])) for row in rows(file.parent, given["motor"]["thrust_csv"])]
    near(f"{file.name}: impulse", layout.pop("impulse_Ns"), sum(0.5 * (b + d) * (c - a) for (a, b), (c, d) in zip(thrust, thrust[1:])), 1e-9)
    near(f"{file.name}: thrust table", layout.pop("thrust_s"), thrust[-1][0] - thrust[0][0], 1e-12)
    ok(layout.pop("thrust_rows") == len(thrust), f"{file.name}: rows of the thrust table")
    for key, value in wanted(file.parent, given).items():
        ok(layout.pop(key, "missing") == value, f"{file.name}: {key} is not {value}: {told}")
    ok(layout == {}, f"{file.name}: {layout} besides")
    text = " ".join(must("check", file).split())
    gyro = given["gyro"]
    heard = f", heard {gyro['latency_s']} s later" if gyro.get("latency_s") else ""
    ok(f" gyro on the {gyro['mount']}, {gyro['rate_hz']} samples/s{heard} {'encoder' if 'encoder' in given else 'controller'} " in text,
       f"{file.name}: the text's gyro: {text}")


files = sorted((ROOT / "campaigns").glob("*.json"))
ok(len(files) >= 10, f"{len(files)} campaigns")
for file in files:
    check(file)
with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    for table in (ROOT / "campaigns").glob("*.csv"):
        shutil.copy(table, folder)
    (folder / "wind.csv").write_text("height_m,speed_mps,from_deg\n0,3,270\n500,6,280\n2000,9,290\n")
    campaign = json.loads((ROOT / "campaigns/long-wait.json").read_text())
    campaign["wind"] = {"table_csv": "wind.csv"}
    campaign["drive"]["below_floor"] = "run"
    campaign["gyro"]["mount"] = "vehicle"
    campaign["controller"] = {"acts_on": "rate", "rate_hz": 125, "gain": 1, "feed_forward": 0.9}
    campaign["battery"]["capacity_As"] = {"distribution": "normal", "mean": 1800, "sd": 20}
    campaign["cameras"][0].update(height_px=1440, mount="vehicle")
    campaign["body"] = [{"station_m": 2.345, "length_m": 0.005, "fore_diameter_m": 0.098, "aft_diameter_m": 0.097}]
    (folder / "other.json").write_text(json.dumps(campaign))
    check(folder / "other.json")
    (folder / "formula.json").write_text(json.dumps({
        "name": "f", "formula": "x", "inputs": [{"name": "x", "value": {"distribution": "normal", "mean": 0, "sd": 1}}],
        "criteria": [{"name": "c", "measure": "result", "at_least": 0, "odds": 0.5, "confidence": 0.9}],
        "all_together": {"odds": 0.5, "confidence": 0.9}}))
    ok(json.loads(must("check", folder / "formula.json", "--json"))["layout"] is None, "a formula has a layout")
finish(least=150)
