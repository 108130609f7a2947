"""Campaigns of a formula through check, fly, odds and the store as h5py sees it: the worked examples of JCGM 101:2008, benchmark
functions and limit states, whose means, spreads, coverage intervals and odds are known. Usage: formulas.py PROGRAM"""
import json
import math
import tempfile
from pathlib import Path

import h5py
import numpy as np
from scipy import stats

from asking import call, finish, must, near, normal, ok, uniform

FLIGHTS = 32768  # of the worked examples; the others fly a quarter
ROOT3 = math.sqrt(3.0)
PI = math.pi


def student(freedom):
    return {"distribution": "student_t", "centre": 0, "scale": 1, "freedom": freedom}


def squares(x1, r):
    """Clause 9.4; the ordinary correlation of normals as a rank correlation is (6/pi) asin(r/2)."""
    return ("1e6 * (x1^2 + x2^2)", [normal(x1, 0.005), normal(0, 0.005)], 6 / PI * math.asin(r / 2))


UNIT = uniform(0, 1)
SQUARE = uniform(-ROOT3, ROOT3)
SUM4 = "x1 + x2 + x3 + x4"
GAUGE = ("50000623 + 25*x1 + 215 + 6*x2 + 4*x3 + 7*x4 - (50000623 + 25*x1) * ((-1.1e-6 + 0.2e-6*x8 + (2.2e-6 - 0.4e-6*x8)*x9)"
         " * (x6 + 0.5*sin(2*pi*x7)) + x5 * (-0.075 + 0.05*x10 + (0.15 - 0.1*x10)*x11)) - 5e7")
GAUGE_INPUTS = [student(18), student(24), student(5), student(8), uniform(9.5e-6, 13.5e-6), normal(-0.1, 0.2)] + 5 * [UNIT]

# JCGM 101:2008 clause 9: name, plan, (formula, inputs, rank correlation), share, mean, sd, low, high, and how near each has to be.
# Wanted as in tests/unit/sampling/test_jcgm101.c. The tolerances here are four times that test's, for 65,536 trials in place of a
# million; where they are used they grow by the root of two, for half as many.
JCGM = [
    ("9.2.2 four normals", "plain", (SUM4, 4 * [normal(0, 1)], 0), 0.95, 0, 2, -3.919928, 3.919928, 0.032, 0.024, 0.08),
    ("9.2.3 four rectangles", "latin", (SUM4, 4 * [SQUARE], 0), 0.95, 0, 2, -3.879407, 3.879407, 0.032, 0.024, 0.06),
    ("9.2.4 one wide rectangle", "sobol", (SUM4, 3 * [SQUARE] + [uniform(-10 * ROOT3, 10 * ROOT3)], 0), 0.95, 0, 10.148892,
     -17.015814, 17.015814, 0.16, 0.12, 0.16),
    ("9.3 mass", "plain", ("(x1 + x2) * (1 + (x3 - 1.2) * (1/x4 - 1/x5)) - 100000",
                           [normal(100000, 0.05), normal(1.234, 0.02), uniform(1.1, 1.3), uniform(7000, 9000),
                            uniform(7950, 8050)], 0), 0.95, 1.2340, 0.07546, 1.0845, 1.3835, 0.0016, 0.0012, 0.006),
    ("9.4 x1 0", "sobol", squares(0, 0), 0.95, 50.0, 50.0, 1.26589, 184.444, 1.2, 1.6, 3.2),
    ("9.4 x1 0.010", "latin", squares(0.010, 0), 0.95, 150.0, 111.8034, 8.546845, 427.1233, 2.4, 2.4, 6.4),
    ("9.4 x1 0.050", "plain", squares(0.050, 0), 0.95, 2550.0, 502.49378, 1638.477, 3603.358, 12, 8, 28),
    ("9.4 x1 0, r 0.9", "plain", squares(0, 0.9), 0.95, 50.0, 67.268, 0.5610, 241.22, 1.6, 2.4, 6),
    ("9.4 x1 0.050, r 0.9", "sobol", squares(0.050, 0.9), 0.95, 2550.0, 504.505, 1696.86, 3659.80, 12, 8, 28),
    ("9.5 gauge block", "plain", (GAUGE, GAUGE_INPUTS, 0), 0.99, 838.02, 35.82, 744.3, 931.7, 0.8, 0.8, 4),
]

X3 = 3 * [uniform(-PI, PI)]
G8 = " * ".join(f"(abs(4*x{i + 1} - 2) + {a}) / (1 + {a})" for i, a in enumerate([0, 1, 4.5, 9, 99, 99, 99, 99]))
G_VARIANCE = math.prod(1 + 1 / (3 * (1 + a) ** 2) for a in [0, 1, 4.5, 9, 99, 99, 99, 99]) - 1
LINEAR = [3, 2, 1, 0.5]

# Closed forms: name, formula, inputs, mean, sd. Ishigami and Homma 1990 (a = 7, b = 0.1); Sobol' 1993 and Saltelli and Sobol' 1995 (g);
# the linear Gaussian and the pure interaction are elementary.
BENCHMARKS = [
    ("Ishigami", "sin(x1) + 7*sin(x2)^2 + 0.1*x3^4*sin(x1)", X3, 3.5,
     math.sqrt(49 / 8 + 0.1 * PI ** 4 / 5 + 0.01 * PI ** 8 / 18 + 0.5)),
    ("Sobol' g", G8, 8 * [UNIT], 1.0, math.sqrt(G_VARIANCE)),
    ("linear Gaussian", "3*x1 + 2*x2 + x3 + 0.5*x4", 4 * [normal(0, 1)], 0.0, math.sqrt(sum(c * c for c in LINEAR))),
    ("pure interaction", "x1 * x2", 2 * [normal(0, 1)], 0.0, 1.0),
]

N01 = stats.norm()
# Limit states with exact odds of failure, result at most 0: the plane and the sphere are elementary; the series of four planes is two
# independent pairs; the sum of exponentials is a gamma distribution (Rackwitz' example; Engelund and Rackwitz 1993, from memory).
LIMITS = [
    ("plane at 2 sd", "2 - (x1 + x2 + x3 + x4) / 2", 4 * [normal(0, 1)], N01.sf(2.0)),
    ("sphere in ten", "16 - (" + " + ".join(f"x{i}^2" for i in range(1, 11)) + ")", 10 * [normal(0, 1)], stats.chi2(10).sf(16)),
    ("series of four", "min(min(2.5 - x1, 2.5 + x1), min(2.5 - x2, 2.5 + x2))", 2 * [normal(0, 1)], 1 - (1 - 2 * N01.sf(2.5)) ** 2),
    ("sum of exponentials", "30 + " + " + ".join(f"log(x{i})" for i in range(1, 21)), 20 * [UNIT], stats.gamma(20).sf(30)),
]

def run(folder, name, plan, formula, inputs, rank=0, flights=FLIGHTS // 4):
    """Fly a formula; its answer and its results in flight order."""
    campaign = {
        "name": name, "run": {"flights": flights, "seed": 101, "plan": plan}, "formula": formula,
        "inputs": [{"name": f"x{i + 1}", "value": value} for i, value in enumerate(inputs)],
        "criteria": [{"name": "safe", "measure": "result", "at_least": 0.0, "odds": 0.9, "confidence": 0.999}],
        "all_together": {"odds": 0.9, "confidence": 0.999}}
    if rank != 0:
        campaign["correlations"] = [{"first": "inputs[0].value", "second": "inputs[1].value", "rank": rank}]
    file, store = folder / "c.json", folder / "s.h5"
    store.unlink(missing_ok=True)
    file.write_text(json.dumps(campaign))
    seen = json.loads(must("check", str(file), "--json"))
    ok(seen["formula"] == formula and len(seen["inputs"]) == len(inputs) == seen["uncertain"], f"{name}: check tells another formula")
    must("fly", str(file), "-o", str(store), "--quiet")
    answer = json.loads(must("odds", str(store), "--json"))
    with h5py.File(store) as kept:
        ok(set(kept["measures"]) == {"result"} and len(kept["quantities"]) == len(inputs),
           f"{name}: the store has other columns: {list(kept['measures'])} {list(kept['quantities'])}")
        return answer, kept["measures/result"][()]


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    for name, plan, (formula, inputs, rank), share, mean, sd, low, high, mean_within, sd_within, ends_within in JCGM:
        answer, values = run(folder, name, plan, formula, inputs, rank, FLIGHTS)
        mean_within, sd_within, ends_within = (math.sqrt(2) * within for within in (mean_within, sd_within, ends_within))
        (row,) = answer["measures"]
        near(f"{name} mean", row["mean"], mean, mean_within)
        near(f"{name} sd", row["sd"], sd, sd_within)
        ends = np.quantile(values, [(1 - share) / 2, (1 + share) / 2])
        near(f"{name} lower end", ends[0], low, ends_within)
        near(f"{name} upper end", ends[1], high, ends_within)
    for name, formula, inputs, mean, sd in BENCHMARKS:
        for plan in ("plain", "latin", "sobol"):
            row = run(folder, name, plan, formula, inputs)[0]["measures"][0]
            near(f"{name}, {plan}: mean", row["mean"], mean, 4 * sd / math.sqrt(FLIGHTS // 4))
            near(f"{name}, {plan}: sd", row["sd"], sd, 0.04 * sd)
    for name, formula, inputs, odds in LIMITS:
        for plan in ("plain", "latin", "sobol"):
            low, high = run(folder, name, plan, formula, inputs)[0]["all_together"]["interval"]
            ok(low <= 1 - odds <= high, f"{name}, {plan}: 99.9 % interval {low} to {high} misses {1 - odds}")

# What cannot be drawn from, each refused in one line with its place and what would do.
REFUSED = [
    ("three that cannot go together", 3 * [normal(0, 1)], [(0, 1, 0.9), (1, 2, 0.9), (0, 2, -0.9)], "/correlations/", "between inputs[1].value and inputs[2].value cannot be together"),
    ("a truncation that leaves nothing", [{"distribution": "truncated_normal", "mean": 0, "sd": 1, "low": 2, "high": 1}], [],
     "/inputs/0/value", "low"),
    ("a truncation beyond the tails", [{"distribution": "truncated_normal", "mean": 0, "sd": 1, "low": 60, "high": 61}], [],
     "/inputs/0/value", ""),
    ("weights that do not add up", [{"distribution": "discrete", "values": [1, 2], "weights": [0.5, 0.4]}], [],
     "/inputs/0/value/weights", "sum to 0.9"),
    ("no weights", [{"distribution": "discrete", "values": [1, 2], "weights": []}], [], "/inputs/0/value/weights", "got an empty list, wanted"),
    ("too many weights", [{"distribution": "discrete", "values": [1, 2], "weights": 4097 * [1]}], [], "/inputs/0/value/weights", "got a list of 4097,"),
    ("a window of no width", [{"distribution": "truncated_normal", "mean": 0, "sd": 1, "low": 2, "high": 2}], [],
     "/inputs/0/value/high", "give a plain number"),
    ("a range upside down", [{"distribution": "uniform", "low": 2, "high": 1}], [], "/inputs/0/value/high", "exchange the two"),
    ("a mode outside no range", [{"distribution": "triangular", "low": 2, "mode": 1, "high": 1}], [], "/inputs/0/value/high", "exchange the two"),
    ("names for paths", 2 * [normal(0, 1)], [("x2", 0, 0.5)], "/correlations/0/first", "is an input's name, wanted the path of its value: \"inputs[1].value\""),
    ("a column whose name has quotes", [{"distribution": "empirical", "csv": "quoted.csv", "column": "a", "smoothing": 0}], [], "quoted.csv:1", "quotes"),
    ("a column with text", [{"distribution": "empirical", "csv": "words.csv", "column": "a", "smoothing": 0}], [], "words.csv:3", "calm"),
]
with tempfile.TemporaryDirectory() as scratch:
    file = Path(scratch) / "c.json"
    (Path(scratch) / "quoted.csv").write_text('"a","b"\n1,2\n3,4\n')
    (Path(scratch) / "words.csv").write_text("a\n1\ncalm\n")
    for what, inputs, pairs, place, words in REFUSED:
        campaign = {"name": what, "formula": "x1", "inputs": [{"name": f"x{i + 1}", "value": value} for i, value in enumerate(inputs)],
                    "criteria": [{"name": "c", "measure": "result", "at_least": 0, "odds": 0.5, "confidence": 0.9}],
                    "all_together": {"odds": 0.5, "confidence": 0.9}}
        if pairs:
            campaign["correlations"] = [{"first": a if isinstance(a, str) else f"inputs[{a}].value", "second": f"inputs[{b}].value", "rank": rank}
                                        for a, b, rank in pairs]
        file.write_text(json.dumps(campaign))
        ran = call("check", file, code=3)
        ok(place in ran.stderr and words in ran.stderr and ran.stderr.count("\n") == 1, f"{what}: {ran.stderr}")

finish()
