"""Brute force: are the odds that `rank` promises for a halved spread those that flights with a spread really halved have? One large
store of each halved campaign is the truth; many stores of the campaign as it is are ranked, and the intervals that hold the truth are
counted. The halved campaigns are written here, parameter by parameter, not by the program.
Usage: halved.py PROGRAM ROOT [REPEATS FLIGHTS TRUTH]"""
import json
import math
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "cli"))
from asking import finish, must, ok  # noqa: E402
from scipy import stats  # noqa: E402

ROOT = Path(sys.argv[2])
REPEATS, FLIGHTS, TRUTH = (int(word) for word in sys.argv[3:6]) if len(sys.argv) > 3 else (100, 2000, 200000)
CRITERION = "held"
PATHS = ("fins[0].misalignment_deg", "fins[0].cant_deg", "drive.floor_dps", "pad.wait_s")


def entry(campaign, path):
    for key in path.replace("[", ".").replace("]", "").split("."):
        campaign = campaign[int(key) if key.isdigit() else key]
    return campaign


def halve(law):
    """Symmetrical laws, whose median is their middle."""
    kind = law["distribution"]
    middle = law["mean"] if "mean" in law else (law["low"] + law["high"]) / 2
    assert kind in ("normal", "truncated_normal", "uniform"), kind
    assert kind != "truncated_normal" or math.isclose(law["low"] + law["high"], 2 * middle) or law["sd"] < 0.35 * (middle - law["low"])
    for key in ("low", "high"):
        if key in law:
            law[key] = middle + (law[key] - middle) / 2
    if "sd" in law:
        law["sd"] /= 2


def fly(folder, campaign, name, seed, flights):
    file, store = folder / f"{name}.json", folder / f"{name}.h5"
    store.unlink(missing_ok=True)
    file.write_text(json.dumps(campaign))
    must("fly", file, "-o", store, "--flights", flights, "--seed", seed, "-q")
    return store


def odds(store):
    answer = json.loads(must("odds", store, "--json"))
    return next(row["odds"] for row in answer["criteria"] if row["name"] == CRITERION)


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    for table in (ROOT / "campaigns").glob("*.csv"):
        shutil.copy(table, folder)
    text = (ROOT / "campaigns" / "first.json").read_text()
    base = odds(fly(folder, json.loads(text), "base", 900001, TRUTH))
    truth = {}
    for number, path in enumerate(PATHS):
        campaign = json.loads(text)
        halve(entry(campaign, path))
        truth[path] = odds(fly(folder, campaign, "halved", 900002 + number, TRUTH))
    held = dict.fromkeys(PATHS, 0)
    gained = dict.fromkeys(PATHS, 0)
    told = dict.fromkeys(PATHS, 0)
    width = dict.fromkeys(PATHS, 0.0)
    for repeat in range(REPEATS):
        store = fly(folder, json.loads(text), "one", 1000 + repeat, FLIGHTS)
        rows = {row["path"]: row["half"] for row in json.loads(must("rank", store, "--json", "--of", CRITERION))["quantities"]}
        for path in PATHS:
            after = rows[path]
            if after["is_supported"]:
                told[path] += 1
                held[path] += after["interval"][0] <= truth[path] <= after["interval"][1]
                gained[path] += after["gain_interval"][0] <= truth[path] - base <= after["gain_interval"][1]
                width[path] += after["interval"][1] - after["interval"][0]

print(f"{REPEATS} stores of {FLIGHTS} flights; truth from {TRUTH} flights each; odds of {CRITERION} as they are {100 * base:.2f} %")
for path in PATHS:
    n = told[path]
    # what so many repeats can show: eight counts, of which one in a hundred runs has one below this, were each to hold in 94 %
    least = stats.binom.ppf(0.01 / 8, n, 0.94)
    print(f"{path}: halved {100 * truth[path]:.2f} %; told in {n}, held in {held[path]}, its gain in {gained[path]}; "
          f"mean width {100 * width[path] / max(n, 1):.1f} %")
    ok(n > 0.5 * REPEATS, f"{path}: told in {n} of {REPEATS} only")
    ok(held[path] >= least, f"{path}: the odds were held in {held[path]} of {n}")
    ok(gained[path] >= least, f"{path}: the gain was held in {gained[path]} of {n}")
    # an interval of everything would hold it too: as many flights as count, at most four of their standard errors wide
    effective = FLIGHTS * (math.sqrt(7) / 4) ** (4 if path.startswith("fins[0].mis") else 1)
    bound = 1.3 * 2 * 1.96 * math.sqrt(truth[path] * (1 - truth[path]) / effective)
    ok(width[path] / max(n, 1) <= bound, f"{path}: intervals of {width[path] / max(n, 1):.3f}, {bound:.3f} would do")
if REPEATS >= 100:
    ok(sum(held.values()) >= 0.94 * sum(told.values()), f"the odds were held in {sum(held.values())} of {sum(told.values())}")
finish()
