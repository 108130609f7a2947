"""The figures of `odds --json` against the store's columns, read by h5py and worked out by NumPy and SciPy.

Exact intervals: scipy.stats.beta (Clopper and Pearson 1934 by way of the beta distribution); quantiles: numpy's "linear" method,
which is type 7 of Hyndman and Fan 1996. Nothing of the program is used but its printed figures.

usage: recompute.py ODDS.json STORE CAMPAIGN.json"""
import json
import math
import sys

import h5py
import numpy as np
from scipy.stats import beta

n_problems = 0


def hold(name, got, wanted, relative=1e-9):
    global n_problems
    if got is None or not math.isclose(got, wanted, rel_tol=relative, abs_tol=1e-12):
        n_problems += 1
        print(f"{name}: printed {got}, recomputed {wanted}")


def bounds(passed, flights, tail):
    """Exact bounds that each leave out this much."""
    low = beta.ppf(tail, passed, flights - passed + 1) if passed > 0 else 0.0
    high = beta.ppf(1 - tail, passed + 1, flights - passed) if passed < flights else 1.0
    return low, high


def hold_row(name, row, met, asked):
    passed, flights = int(met.sum()), len(met)
    hold(name + " passed", row["passed"], passed)
    hold(name + " flights", row["flights"], flights)
    hold(name + " odds", row["odds"], passed / flights)
    low, high = bounds(passed, flights, (1 - asked["confidence"]) / 2)
    hold(name + " interval low", row["interval"][0], low, 1e-8)
    hold(name + " interval high", row["interval"][1], high, 1e-8)
    low, high = bounds(passed, flights, 1 - asked["confidence"])
    hold(name + " bound low", row["bound_low"], low, 1e-8)
    hold(name + " bound high", row["bound_high"], high, 1e-8)
    verdict = "GO" if low >= asked["odds"] else "NO-GO" if high < asked["odds"] else "NOT YET KNOWN"
    if row["verdict"] != verdict:
        hold(name + " verdict is " + row["verdict"] + ", not " + verdict, 0, 1)


def main():
    odds = json.load(open(sys.argv[1]))
    campaign = json.load(open(sys.argv[3]))
    with h5py.File(sys.argv[2]) as store:
        end = store["end"][:]
        measures = {name: column[:] for name, column in store["measures"].items()}
    whole = end == 0
    together = whole.copy()
    for row, asked in zip(odds["criteria"], campaign["criteria"], strict=True):
        value = measures[asked["measure"]]
        with np.errstate(invalid="ignore"):
            met = whole & (value >= asked.get("at_least", -math.inf)) & (value <= asked.get("at_most", math.inf))
        together &= met
        hold_row(asked["name"], row, met, asked)
    hold_row("all together", odds["all_together"], together, campaign["all_together"])
    hold("ended", sum(row["flights"] for row in odds["ended"]), len(end))
    for row in odds["ended"]:
        hold("end %d" % row["code"], row["flights"], int((end == row["code"]).sum()))
    for row in odds["measures"]:
        value = measures[row["name"]][whole]
        value = value[np.isfinite(value)]
        hold(row["name"] + " flights", row["flights"], len(value))
        if len(value) == 0:
            continue
        for key, percent in (("p05", 5), ("median", 50), ("p95", 95)):
            hold(row["name"] + " " + key, row[key], np.percentile(value, percent))
        hold(row["name"] + " mean", row["mean"], value.mean())
        hold(row["name"] + " sd", row["sd"], value.std(ddof=1), 1e-7)
        hold(row["name"] + " least", row["least"], value.min())
        hold(row["name"] + " greatest", row["greatest"], value.max())
    hold("less exact", odds["less_exact_flights"], int((whole & (measures["step_phase_max"] > 0.6)).sum()))
    if len(odds["measures"]) != len(measures):
        hold("measures", len(odds["measures"]), len(measures))
    print(f"{len(odds['criteria'])} criteria, {len(measures)} measures, {n_problems} figures differ")
    return 1 if n_problems or not measures else 0


sys.exit(main())
