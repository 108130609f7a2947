"""Stop rules of `fly`: the store is a finished one and tells the rule, the flight at which it ends depends on no thread and no
interruption, and `odds` answers with what then holds. Usage: stopping.py PROGRAM ROOT"""
import json
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import h5py

PROGRAM, ROOT = sys.argv[1:3]
failures = []


def call(*words, code=0):
    ran = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True)
    if ran.returncode != code:
        failures.append(f"rollcast {' '.join(map(str, words))}: exit code {ran.returncode}, wanted {code}: {ran.stderr}")
    return ran


def hold(what, is_true):
    if not is_true:
        failures.append(what)


def normal():
    return {"distribution": "normal", "mean": 0, "sd": 1}


def campaign(folder, name, plan, odds, stop=None, flights=20000):
    """x + y below 1.812...: true odds 0.9."""
    file = folder / f"{name}.json"
    run = {"flights": flights, "seed": 7, "plan": plan}
    if stop:
        run["stop"] = stop
    file.write_text(json.dumps({
        "name": name, "run": run, "formula": "x + y",
        "inputs": [{"name": "x", "value": normal()}, {"name": "y", "value": normal()}],
        "criteria": [{"name": "below", "measure": "result", "at_most": 1.8123876, "odds": odds, "confidence": 0.95}],
        "all_together": {"odds": odds, "confidence": 0.95}}))
    return file


def answer(store):
    return json.loads(call("odds", store, "--json").stdout)


def same(*stores):
    ran = subprocess.run([sys.executable, "-B", f"{ROOT}/tests/support/compare_stores.py", *map(str, stores)], capture_output=True,
                         text=True)
    hold(f"stores differ: {ran.stderr}", ran.returncode == 0)


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)

    # Verdict, in the campaign: GO at 0.8, NO-GO at 0.95, long before all flights; at 0.9 it has to fly them all.
    for odds, verdict, least, most in ((0.8, "GO", 50, 2000), (0.95, "NO-GO", 50, 5000), (0.9, "NOT YET KNOWN", 20000, 20000)):
        file, store = campaign(folder, "verdict", "plain", odds, {"on_verdict": "yes"}), folder / f"verdict{odds}.h5"
        said = call("fly", file, "-o", store).stderr
        told = answer(store)
        hold(f"odds {odds}: {told['flights']} flights, {told['verdict']}", told["verdict"] == verdict and least <= told["flights"] <= most)
        hold(f"odds {odds}: not a finished store", told["is_finished"] and told["flights_asked"] == told["flights"])
        hold(f"odds {odds}: {told['all_together']['interval_from']}", told["all_together"]["interval_from"] == "sequence")
        hold(f"odds {odds}: the message says '{said}'", ("verdict is reached" in said) == (most < 20000))
        low, high = told["all_together"]["interval"]
        hold(f"odds {odds}: interval {low} to {high}", low <= 0.9 <= high)
        with h5py.File(store) as kept:
            hold("the store does not tell its rule", kept.attrs["run_rule"].startswith("width 0e-6, verdict 1"))
            hold("the store is not finished", kept.attrs["finished"] == 1 and kept.attrs["flights_asked"] == kept.attrs["flights"])
        call("fly", file, "-o", store, "--resume", "--quiet")  # nothing left to do
        hold("a finished store grew", answer(store)["flights"] == told["flights"])
        call("replay", store, "--flight", told["flights"] - 1, "-o", folder / "r.csv", "--overwrite")

    # Width, as an option, for each plan and number of threads: the same store, with intervals as narrow as asked.
    for plan in ("plain", "latin", "sobol"):
        file, stores = campaign(folder, plan, plan, 0.8), []
        for threads in (1, 2, 3):
            stores.append(folder / f"{plan}{threads}.h5")
            call("fly", file, "-o", stores[-1], "--stop-width", "0.02", "--threads", threads, "--quiet")
        same(*stores)
        told = answer(stores[0])
        low, high = told["all_together"]["interval"]
        hold(f"{plan}: interval {low} to {high} after {told['flights']}", high - low <= 0.02 and low <= 0.9 <= high)
        hold(f"{plan}: {told['flights']} flights", told["flights"] < 20000 and told["is_finished"])
        hold(f"{plan}: {told['stop_rule']}", "2 % wide" in told["stop_rule"])
        hold(f"{plan}: an interval from {told['all_together']['interval_from']}",
             told["all_together"]["interval_from"] == ("sequence" if plan == "plain" else "looks"))

    # Wall time: some flights, finished; resumed it goes on only where more are asked for.
    file, store = campaign(folder, "time", "plain", 0.8, flights=4_000_000_000_000), folder / "time.h5"
    begun = time.monotonic()
    said = call("fly", file, "-o", store, "--stop-after", "0.3").stderr
    told = answer(store)
    hold(f"time: {time.monotonic() - begun} s, '{said}'", time.monotonic() - begun < 30 and "time is over" in said)
    hold("time: not finished", told["is_finished"] and told["flights"] > 0)

    # Interrupted on the way and resumed: the same store as straight through. The demonstration campaign flies slowly enough.
    straight, resumed = folder / "straight.h5", folder / "resumed.h5"
    first = f"{ROOT}/campaigns/first.json"
    call("fly", first, "-o", straight, "--stop-width", "0.12", "--quiet")
    process = subprocess.Popen([PROGRAM, "fly", first, "-o", str(resumed), "--stop-width", "0.12", "--quiet", "--threads", "1"],
                               stderr=subprocess.PIPE, text=True)
    journal = Path(str(resumed) + ".journal")
    while process.poll() is None and not (journal.exists() and journal.stat().st_size > 30_000):
        time.sleep(0.005)
    process.send_signal(signal.SIGINT)
    said = process.communicate()[1]
    hold(f"interrupted: exit code {process.returncode}: {said}", process.returncode == 5)
    told = answer(resumed)
    hold("interrupted: finished all the same", not told["is_finished"] and told["flights"] < answer(straight)["flights"])
    call("fly", first, "-o", resumed, "--resume", "--quiet", "--threads", "2")
    same(straight, resumed)

    # Another rule than the store's is refused, in one line; so are values that are no shares.
    ran = call("fly", first, "-o", resumed, "--resume", "--stop-width", "0.05", code=4)
    hold(f"another rule: {ran.stderr}", ran.stderr.count("\n") == 1 and "was begun with the rule" in ran.stderr)
    for value in ("0", "1", "2", "-0.1", "nan", "x"):
        ran = call("fly", first, "-o", folder / "n.h5", f"--stop-width={value}", code=2)
        hold(f"--stop-width={value}: {ran.stderr}", "share above 0 and below 1" in ran.stderr)
    ran = call("check", campaign(folder, "bad", "plain", 0.8, {"width": 1.5}), code=3)
    hold(f"a width of 1.5: {ran.stderr}", "/run/stop/width" in ran.stderr)

for failure in failures:
    print("FAILED:", failure)
sys.exit(1 if failures else 0)
