"""Stop rules of `fly`: the store is a finished one and tells the rule, the flight at which it ends depends on no thread and no
interruption, and `odds` answers with what then holds. Usage: stopping.py PROGRAM ROOT"""
import json
import sys
import tempfile
import time
from pathlib import Path

import h5py

from asking import call, finish, interrupted, normal, ok, same

ROOT = sys.argv[2]


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


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)

    # Verdict, in the campaign: GO at 0.8, NO-GO at 0.95, long before all flights; at 0.9 it has to fly them all.
    for odds, verdict, least, most in ((0.8, "GO", 50, 2000), (0.95, "NO-GO", 50, 5000), (0.9, "NOT YET KNOWN", 20000, 20000)):
        file, store = campaign(folder, "verdict", "plain", odds, {"on_verdict": "yes"}), folder / f"verdict{odds}.h5"
        said = call("fly", file, "-o", store).stderr
        told = answer(store)
        ok(told["verdict"] == verdict and least <= told["flights"] <= most, f"odds {odds}: {told['flights']} flights, {told['verdict']}")
        ok(told["is_finished"] and told["flights_asked"] == told["flights"], f"odds {odds}: not a finished store")
        ok(told["all_together"]["interval_from"] == "sequence", f"odds {odds}: {told['all_together']['interval_from']}")
        ok(("verdict is reached" in said) == (most < 20000), f"odds {odds}: the message says '{said}'")
        low, high = told["all_together"]["interval"]
        ok(low <= 0.9 <= high, f"odds {odds}: interval {low} to {high}")
        with h5py.File(store) as kept:
            ok(kept.attrs["run_rule"].startswith("width 0e-6, verdict 1"), "the store does not tell its rule")
            ok(kept.attrs["finished"] == 1 and kept.attrs["flights_asked"] == kept.attrs["flights"], "the store is not finished")
        call("fly", file, "-o", store, "--resume", "--quiet")  # nothing left to do
        ok(answer(store)["flights"] == told["flights"], "a finished store grew")
        call("replay", store, "--flight", told["flights"] - 1, "-o", folder / "r.csv", "--overwrite")

    # Width, as an option, for each plan and number of threads: the same store, with intervals as narrow as asked.
    for plan in ("plain", "latin", "sobol"):
        file, stores = campaign(folder, plan, plan, 0.8), []
        for threads in (1, 2, 3):
            stores.append(folder / f"{plan}{threads}.h5")
            call("fly", file, "-o", stores[-1], "--stop-width", "0.02", "--threads", threads, "--quiet")
        same(ROOT, *stores)
        told = answer(stores[0])
        low, high = told["all_together"]["interval"]
        ok(high - low <= 0.02 and low <= 0.9 <= high, f"{plan}: interval {low} to {high} after {told['flights']}")
        ok(told["flights"] < 20000 and told["is_finished"], f"{plan}: {told['flights']} flights")
        ok("2 % wide" in told["stop_rule"], f"{plan}: {told['stop_rule']}")
        ok(told["all_together"]["interval_from"] == ("sequence" if plan == "plain" else "looks"), f"{plan}: an interval from {told['all_together']['interval_from']}")

    # Wall time: some flights, finished; resumed it goes on only where more are asked for.
    file, store = campaign(folder, "time", "plain", 0.8, flights=4_000_000_000_000), folder / "time.h5"
    begun = time.monotonic()
    said = call("fly", file, "-o", store, "--stop-after", "0.3").stderr
    told = answer(store)
    ok(time.monotonic() - begun < 30 and "time is over" in said, f"time: {time.monotonic() - begun} s, '{said}'")
    ok(told["is_finished"] and told["flights"] > 0, "time: not finished")

    # Interrupted on the way and resumed: the same store as straight through. The demonstration campaign flies slowly enough.
    straight, resumed = folder / "straight.h5", folder / "resumed.h5"
    first = f"{ROOT}/campaigns/first.json"
    call("fly", first, "-o", straight, "--stop-width", "0.12", "--quiet")
    interrupted(resumed, 30_000, "fly", first, "--stop-width", "0.12")
    told = answer(resumed)
    ok(not told["is_finished"] and told["flights"] < answer(straight)["flights"], "interrupted: finished all the same")
    call("fly", first, "-o", resumed, "--resume", "--quiet", "--threads", "2")
    same(ROOT, straight, resumed)

    # Another rule than the store's is refused, in one line; so are values that are no shares.
    ran = call("fly", first, "-o", resumed, "--resume", "--stop-width", "0.05", code=4)
    ok(ran.stderr.count("\n") == 1 and "was begun with the rule" in ran.stderr, f"another rule: {ran.stderr}")
    for value in ("0", "1", "2", "-0.1", "nan", "x"):
        ran = call("fly", first, "-o", folder / "n.h5", f"--stop-width={value}", code=2)
        ok("share above 0 and below 1" in ran.stderr, f"--stop-width={value}: {ran.stderr}")
    ran = call("check", campaign(folder, "bad", "plain", 0.8, {"width": 1.5}), code=3)
    ok("/run/stop/width" in ran.stderr, f"a width of 1.5: {ran.stderr}")

finish()
