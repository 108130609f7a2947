"""How many flights each plan needs for the interval width that plain flights reach, on the demonstration campaigns: for the odds
of every criterion and for the means of measures. Prints the table of docs/coverage.md.

Each campaign is flown under each plan; a plan's flights for the width of N plain ones are N times the square of the ratio of widths,
Student's t and its wider factor for 16 replicates included. Fails where a replicated plan does not gain at least twofold on the
mean of the apogee, or where its odds differ from plain ones by more than their intervals allow.

usage: plan_gain.py PROGRAM ROOT [FLIGHTS]"""
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import h5py
import numpy as np
from scipy import stats

PROGRAM, ROOT = sys.argv[1:3]
FLIGHTS = int(sys.argv[3]) if len(sys.argv) > 3 else 4096
CAMPAIGNS = ("first", "fine-drive", "readiness")
PLANS = {"plain": 0, "latin": 16, "sobol": 16}
MEASURES = ("held_fraction", "usable_s", "longest_clip_s", "roll_peak_dps", "apogee_m", "static_margin_min_cal")
failures = []


def fly(folder, name, plan):
    """The answer of one campaign under a plan, and its measures by flight."""
    campaign = json.loads(Path(f"{ROOT}/campaigns/{name}.json").read_text(encoding="utf-8"))
    campaign["run"]["plan"] = plan
    campaign["run"]["flights"] = FLIGHTS
    file, store = folder / f"{name}.json", folder / f"{name}-{plan}.h5"
    file.write_text(json.dumps(campaign), encoding="utf-8")
    subprocess.run([PROGRAM, "fly", str(file), "-o", str(store), "--quiet"], check=True)
    answer = json.loads(subprocess.run([PROGRAM, "odds", str(store), "--json"], check=True, capture_output=True, text=True).stdout)
    with h5py.File(store) as kept:
        return answer, {measure: kept[f"measures/{measure}"][()] for measure in MEASURES}


def mean_width(values, n_replicates):
    """Width of the 95 % interval of a mean, from flights or from replicates."""
    if n_replicates:
        values = np.array([np.nanmean(values[index::n_replicates]) for index in range(n_replicates)])
    values = values[np.isfinite(values)]
    return 2 * stats.t.ppf(0.975, len(values) - 1) * values.std(ddof=1) / np.sqrt(len(values))


def row(what, widths):
    flights = [FLIGHTS * (widths[plan] / widths["plain"]) ** 2 if widths["plain"] > 0 else float("nan") for plan in PLANS]
    cells = ["-" if not np.isfinite(n) else f"{n:.3g}" if n < 100 else f"{n:.0f}" for n in flights]
    print(f"| {what} | {widths['plain']:.4g} | {' | '.join(cells)} |", flush=True)
    return flights


print(f"| campaign and figure | width of {FLIGHTS} plain flights | plain | latin | sobol |\n|---|---|---|---|---|")
with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    for table in Path(f"{ROOT}/campaigns").glob("*.csv"):
        (folder / table.name).write_bytes(table.read_bytes())
    for name in CAMPAIGNS:
        flown = {plan: fly(folder, name, plan) for plan in PLANS}
        answers = {plan: answer for plan, (answer, _) in flown.items()}
        rows = {plan: answer["criteria"] + [{**answer["all_together"], "name": "all together"}] for plan, answer in answers.items()}
        for index, plain in enumerate(rows["plain"]):
            intervals = {plan: rows[plan][index]["interval"] for plan in PLANS}
            row(f"{name}: odds of \"{plain['name']}\", {plain['odds']:.3f}", {plan: high - low for plan, (low, high) in intervals.items()})
            for plan, (low, high) in intervals.items():
                apart = abs(rows[plan][index]["odds"] - plain["odds"])
                if apart > (high - low) + (intervals["plain"][1] - intervals["plain"][0]):
                    failures.append(f"{name}, {plain['name']}: {plan} and plain differ by {apart}")
        for measure in MEASURES:
            flights = row(f"{name}: mean of `{measure}`", {plan: mean_width(flown[plan][1][measure], PLANS[plan]) for plan in PLANS})
            if measure == "apogee_m" and max(flights[1:]) > FLIGHTS / 2:
                failures.append(f"{name}: mean of the apogee takes {flights} flights")

for failure in failures:
    print("FAILED:", failure)
sys.exit(1 if failures else 0)
