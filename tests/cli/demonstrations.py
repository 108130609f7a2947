"""`size` against exact binomial sums of SciPy and published sizes, and `odds --measure` against means and ranks recomputed from the store.
Usage: demonstrations.py PROGRAM"""
import json
import re
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
    for plan in ("plain", "latin", "sobol", "paired"):
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
    # The mean under every plan: Student over the flights that count, or over the replicates' means (flight f is of replicate f % 16).
    for plan in ("plain", "latin", "sobol", "paired"):
        with h5py.File(folder / f"{plan}.h5") as store:
            values = store["measures/result"][()]
        place = np.arange(len(values))
        counts = np.isfinite(values) & ((place % 3 < 2) | (plan != "paired"))  # one input: rows of three flights, two independent
        values, place = values[counts], place[counts]
        parts = [values[place % 16 == part].mean() for part in range(16)] if plan in ("latin", "sobol") else values
        for words, confidence in ((("--confidence", "0.8"), 0.8), ((), 0.95)):
            told = json.loads(call("odds", folder / f"{plan}.h5", "--measure", "result", "--json", *words).stdout)
            error = np.std(parts, ddof=1) / np.sqrt(len(parts))
            wanted = stats.t.interval(confidence, len(parts) - 1, values.mean(), error)
            ok(np.allclose([told["mean"], *told["mean_interval"], told["standard_error"]], [values.mean(), *wanted, error], rtol=1e-9, atol=0),
               f"{plan}: mean {told['mean']} {told['mean_interval']}, wanted {values.mean()} {wanted}")
            ok(told["flights"] == len(values) and not told["is_indicative"], f"{plan}: {told}")
            is_replicated = plan in ("latin", "sobol")
            ok(told["interval_from"] == ("replicates" if is_replicated else "flights") and (told["quantiles"] is None) == is_replicated and
               (told["tolerance_limits"] is None) == is_replicated, f"{plan}: {told}")
        row, = json.loads(call("odds", folder / f"{plan}.h5", "--json").stdout)["measures"]
        ok(np.allclose(row["mean_interval"], wanted, rtol=1e-9, atol=0) and row["confidence"] == 0.95, f"{plan}: odds has {row}, wanted {wanted}")
        text = call("odds", folder / f"{plan}.h5", "--measure", "result").stdout
        low, high = map(float, re.search(r"^  mean +\S+  (\S+) to (\S+)$", text, re.M).groups())
        ok(low <= wanted[0] < low + 0.02 and high - 0.02 < wanted[1] <= high, f"{plan}: {text}")
        rows = call("odds", folder / f"{plan}.h5", "--measure", "result", "--csv").stdout.splitlines()
        ok(rows[1].startswith("mean,,") and len(rows) == (2 if is_replicated else 18), f"{plan}: {rows}")
        ok(("share below" in text) != is_replicated and ("16 independent replicates" in text) == is_replicated, f"{plan}: {text}")
    call("fly", folder / "plain.json", "-o", folder / "stopped.h5", "--quiet", "--stop-verdict")
    ok(json.loads(call("odds", folder / "stopped.h5", "--measure", "result", "--json").stdout)["is_indicative"], "a stop rule is not told")
    ok("had a stop rule" in call("odds", folder / "stopped.h5", "--measure", "result").stdout, "text: a stop rule is not told")
    # one flight has a mean and no interval; what does not vary has one of no width
    call("fly", folder / "plain.json", "-o", folder / "one.h5", "--quiet", "--flights", "1")
    told = json.loads(call("odds", folder / "one.h5", "--measure", "result", "--json").stdout)
    ok(told["mean_interval"] == [None, None] and told["standard_error"] is None and told["mean"] == told["quantiles"][3]["value"], f"one: {told}")
    ok("no interval" in call("odds", folder / "one.h5", "--measure", "result").stdout, "text of one flight")
    text = call("odds", folder / "plain.h5", "--measure", "result").stdout
    ok("share below" in text and "With 95 % confidence at least this share" in text, f"text: {text}")
    ok(all(len(line) <= 80 for line in text.splitlines()), "a line has more than 80 columns")
    for words, code, said in ((("plain.h5", "--measure", "apogee_m"), 3, "no measure has the name"),
                              (("plain.h5", "--measure", "result", "--strict"), 2, "--measure goes with one store"),
                              (("plain.h5", "--confidence", "0.9"), 2, "--confidence goes with --measure")):
        ran = call("odds", folder / words[0], *words[1:], code=code)
        ok(said in ran.stderr and ran.stderr.count("\n") == 1, f"{words}: {ran.stderr}")

finish()
