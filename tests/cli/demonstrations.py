"""`size` against exact binomial sums of SciPy and published sizes, and `odds --measure` against ranks recomputed from the store.
Usage: demonstrations.py PROGRAM"""
import json
import tempfile
from pathlib import Path

import h5py
import numpy as np
from scipy import stats

from asking import call, finish, ok



def size(**asked):
    return json.loads(call("size", "--json", *(f"--{key}={value}" for key, value in asked.items())).stdout)


# Flights with no failure at 95 %: 29, 59, 299 are in every book on acceptance sampling (common practice); the rest by SciPy.
for odds, flights in ((0.9, 29), (0.95, 59), (0.99, 299)):
    ok(size(odds=odds)["flights_needed"] == flights, f"odds {odds}: {size(odds=odds)}")
for odds in (0.5, 0.9, 0.999):
    for confidence in (0.8, 0.95, 0.99):
        for k in (0, 1, 7):
            n = size(odds=odds, confidence=confidence, failures=k)["flights_needed"]
            ok(stats.binom.cdf(k, n, 1 - odds) <= 1 - confidence < stats.binom.cdf(k, n - 1, 1 - odds), f"{odds} {confidence} {k}: {n}")
            shown = size(flights=n, failures=k, confidence=confidence)["odds_shown"]
            ok(abs(shown - stats.beta.ppf(1 - confidence, n - k, k + 1)) < 1e-12 and shown >= odds, f"{n} with {k}: {shown}")
            ok(size(odds=odds, flights=n, confidence=confidence)["failures_allowed"] == k, f"{n} allow {k}")
ok(size(odds=0.9, flights=10)["failures_allowed"] is None, "ten flights are too few")
ok("too few" in call("size", "--odds", "0.9", "--flights", "10").stdout, "text")
ok("98.746" in call("size", "--flights", "500", "--failures", "2").stdout, "text")
for words in ((), ("--odds", "1"), ("--odds", "0.9", "x"), ("--flights", "5", "--failures", "6"), ("--failures", "-1")):
    ran = call("size", *words, code=2)
    ok(ran.stderr.count("\n") == 1, f"size {words}: {ran.stderr}")

with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    for plan in ("plain", "sobol"):
        (folder / f"{plan}.json").write_text(json.dumps({
            "name": "two", "run": {"flights": 1500, "plan": plan}, "formula": "log(x) * 3",
            "inputs": [{"name": "x", "value": {"distribution": "normal", "mean": 2, "sd": 1}}],  # no result below 0: left out
            "criteria": [{"name": "c", "measure": "result", "at_least": 0, "odds": 0.5, "confidence": 0.9}],
            "all_together": {"odds": 0.5, "confidence": 0.9}}))
        call("fly", folder / f"{plan}.json", "-o", folder / f"{plan}.h5", "--quiet")
    told = json.loads(call("odds", folder / "plain.h5", "--measure", "result", "--confidence", "0.9", "--json").stdout)
    with h5py.File(folder / "plain.h5") as store:
        values = np.sort(store["measures/result"][()])
    values = values[np.isfinite(values)]
    n = len(values)
    ok(told["flights"] == n < 1500, f"{told['flights']} values of {n}")
    for row in told["quantiles"]:
        q = row["share"]
        ok(abs(row["value"] - np.quantile(values, q)) < 1e-12, f"quantile {q}: {row['value']}")
        below = stats.binom(n, q)
        ranks = [r for r in range(1, n + 1) if below.cdf(r - 1) <= 0.05]
        low = values[max(ranks) - 1] if ranks else None
        ranks = [r for r in range(1, n + 1) if below.sf(r - 1) <= 0.05]
        high = values[min(ranks) - 1] if ranks else None
        ok(row["interval"] == [low, high], f"quantile {q}: {row['interval']}, wanted {low} to {high}")
    for row in told["tolerance_limits"]:
        # so many values may lie beyond the limit: the chance that fewer do is at most 10 %
        beyond = stats.binom(n, 1 - row["share"])
        order = max(r for r in range(0, n) if r == 0 or beyond.cdf(r - 1) <= 0.1)
        ok(row["above"] == values[order - 1] and row["below"] == values[n - order], f"limit {row['share']}: {row['above']}")
        two = order // 2
        ok(two < 1 or row["between"] == [values[two - 1], values[n - two]], f"limits {row['share']}: {row['between']}")
    text = call("odds", folder / "plain.h5", "--measure", "result").stdout
    ok("share below" in text and "With 95 % confidence at least this share" in text, f"text: {text}")
    ok(all(len(line) <= 80 for line in text.splitlines()), "a line has more than 80 columns")
    for words, code, said in ((("plain.h5", "--measure", "apogee_m"), 3, "no measure has the name"),
                              (("sobol.h5", "--measure", "result"), 3, "independent of each other"),
                              (("plain.h5", "--measure", "result", "--strict"), 2, "--measure goes with one store"),
                              (("plain.h5", "--confidence", "0.9"), 2, "--confidence goes with --measure")):
        ran = call("odds", folder / words[0], *words[1:], code=code)
        ok(said in ran.stderr and ran.stderr.count("\n") == 1, f"{words}: {ran.stderr}")

finish()
