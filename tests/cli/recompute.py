"""The figures of `odds --json` against the store's columns, read by h5py and worked out by NumPy and SciPy.

Exact intervals: scipy.stats.beta (Clopper and Pearson 1934 by way of the beta distribution); quantiles: numpy's "linear" method,
which is type 7 of Hyndman and Fan 1996. Nothing of the program is used but its printed figures.

usage: recompute.py ODDS.json STORE CAMPAIGN.json"""
import json
import math
import sys

import h5py
import numpy as np
from scipy.stats import beta, binom, t

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


def hold_mean(row, value):
    """Student's interval of the mean of flights that are independent of each other."""
    low, high = row["mean_interval"]
    if len(value) < 2:
        hold(row["name"] + " interval of one value", 0 if low is None and high is None else 1, 0)
    elif value.std() > 0:
        low_wanted, high_wanted = t.interval(row["confidence"], len(value) - 1, value.mean(), value.std(ddof=1) / math.sqrt(len(value)))
        hold(row["name"] + " mean from", low, low_wanted, 1e-8)
        hold(row["name"] + " mean to", high, high_wanted, 1e-8)


def hold_landing(landing, measures, plan):
    """Centre, axes and scales of the landing points; the interval by the binomial law of ranks."""
    points = np.array([measures["landing_east_m"], measures["landing_north_m"]])
    points = points[:, np.isfinite(points).all(axis=0)]
    n = points.shape[1]
    if n == 0:
        hold("landing of no flight", 0 if landing is None else 1, 0)
        return
    hold("landing flights", landing["flights"], n)
    hold("landing intervals that are indicative", landing["is_indicative"], plan != "plain")
    hold("landing east", landing["centre_east_m"], points[0].mean())
    hold("landing north", landing["centre_north_m"], points[1].mean())
    covariance = np.cov(points)
    width, axes = np.linalg.eigh(covariance)
    hold("long axis", landing["long_axis_sd_m"], math.sqrt(width[1]))
    hold("short axis", landing["short_axis_sd_m"], math.sqrt(width[0]))
    hold("bearing", landing["long_axis_deg"], math.degrees(math.atan2(axes[0, 1], axes[1, 1])) % 180, 1e-6)
    off = points - points.mean(axis=1, keepdims=True)
    distance = np.sort(np.sqrt(np.einsum("in,ij,jn->n", off, np.linalg.inv(covariance), off)))
    tail = (1 - landing["confidence"]) / 2
    for ellipse, share in zip(landing["ellipses"], (0.5, 0.9, 0.99), strict=True):
        hold("ellipse share", ellipse["share"], share)
        scale = np.percentile(distance, 100 * share)
        hold("ellipse scale", ellipse["scale"], scale)
        hold("ellipse area", ellipse["area_m2"], math.pi * scale**2 * math.sqrt(width[0] * width[1]))
        lower = max((rank for rank in range(1, n + 1) if binom.cdf(rank - 1, n, share) <= tail), default=0)
        upper = min((rank for rank in range(1, n + 1) if binom.sf(rank - 1, n, share) <= tail), default=0)
        hold("ellipse interval low", ellipse["scale_interval"][0], distance[lower - 1] if lower else 0.0)
        if upper:
            hold("ellipse interval high", ellipse["scale_interval"][1], distance[upper - 1])


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
        hold_mean(row, value)
        hold(row["name"] + " sd", row["sd"], value.std(ddof=1), 1e-7)
        hold(row["name"] + " least", row["least"], value.min())
        hold(row["name"] + " greatest", row["greatest"], value.max())
    hold_landing(odds["landing"], measures, campaign["run"].get("plan", "plain"))
    with np.errstate(invalid="ignore"):
        hold("unstable", odds["unstable_flights"], int((whole & (measures["static_margin_min_cal"] < 0)).sum()))
    aloft = whole & np.isnan(measures["landing_speed_mps"]) if "descent" in campaign else np.zeros(len(whole), bool)
    hold("aloft", odds["aloft_flights"], int(aloft.sum()))
    hold("less exact", odds["less_exact_flights"], int((whole & (measures["step_phase_max"] > 0.8)).sum()))
    if len(odds["measures"]) != len(measures):
        hold("measures", len(odds["measures"]), len(measures))
    print(f"{len(odds['criteria'])} criteria, {len(measures)} measures, {n_problems} figures differ")
    return 1 if n_problems or not measures else 0


sys.exit(main())
