"""`rank` on campaigns of a formula, end to end: shares of benchmark functions in closed form; every figure again from the store's columns
by SciPy and NumPy; odds after a change of spread against exact ones. Usage: rankings.py PROGRAM

Ishigami and Homma 1990; Sobol' 1993; the linear Gaussian and the pure interaction are elementary. Tolerances: four times the root mean
square error of corrected equal-count bins at 10,000 points, measured elsewhere (0.0068, 0.0069, 0.0014 for Ishigami)."""
import csv
import json
import math
import re
import tempfile
from pathlib import Path

import h5py
from scipy import stats

from asking import finish, must, near, normal, ok, uniform

PI = math.pi


def fly(folder, formula, inputs, flights=10000, plan="plain", at_least=0.0, correlations=(), seed=7):
    """A store of a formula's campaign."""
    campaign = {
        "name": "ranked", "run": {"flights": flights, "seed": seed, "plan": plan}, "formula": formula,
        "inputs": [{"name": f"x{i + 1}", "value": value} for i, value in enumerate(inputs)],
        "criteria": [{"name": "safe", "measure": "result", "at_least": at_least, "odds": 0.9, "confidence": 0.95}],
        "all_together": {"odds": 0.9, "confidence": 0.95}, "correlations": list(correlations)}
    if not correlations:
        del campaign["correlations"]
    file, store = folder / "c.json", folder / "s.h5"
    store.unlink(missing_ok=True)
    file.write_text(json.dumps(campaign))
    must("fly", file, "-o", store, "--quiet")
    return store


def rank(store, *words):
    """The answer, and its rows by path."""
    answer = json.loads(must("rank", store, "--json", *words))
    return answer, {row["path"]: row for row in answer["quantities"]}


def shares(store, wanted, within, name):
    rows = rank(store, "--of", "result")[1]
    for index, (value, reach) in enumerate(zip(wanted, within, strict=True)):
        row = rows[f"inputs[{index}].value"]
        near(f"{name}: share of x{index + 1}", row["share"]["value"], value, reach)
        ok(row["share"]["interval"][0] <= max(row["share"]["value"], 0) <= row["share"]["interval"][1], f"{name}: interval of x{index + 1}")


def equal_count_share(x, y):
    """The corrected share from equal-count bins of ranks, written anew."""
    n = len(y)
    bins = 2 ** int(math.log2(min(64, math.sqrt(n))))
    grade = (stats.rankdata(x) - 0.5) / n
    place = (grade * bins).astype(int)
    within = sum(((y[place == b] - y[place == b].mean()) ** 2).sum() for b in range(bins) if (place == b).any())
    return 1 - within / (n - bins) / y.var(ddof=1)


def recompute(store, density, name):
    """Every figure of a yes-or-no ranking again. density: of each input before (value) and after (value, scale, shift)."""
    answer, rows = rank(store, "--of", "safe")
    with h5py.File(store) as kept:
        met = kept["criteria/safe"][()] == 1.0
        columns = [kept[f"quantities/inputs[{i}].value"][()] for i in range(len(density))]
    near(f"{name}: passed", answer["passed"], met.sum(), 0)
    for index, (x, law) in enumerate(zip(columns, density, strict=True)):
        row = rows[f"inputs[{index}].value"]
        near(f"{name}: x{index + 1} share", row["share"]["value"], equal_count_share(x, met.astype(float)), 1e-9)
        near(f"{name}: x{index + 1} rank correlation", row["rank_correlation"]["value"], stats.spearmanr(x, met).correlation, 1e-9)
        found = stats.ks_2samp(x[met], x[~met])
        near(f"{name}: x{index + 1} separation", abs(row["separation"]["value"]), found.statistic, 0.012) # cells of 1/256
        median, sd = law.median(), law.std()
        for key, scale, shift in (("half", 0.5, 0), ("tenth", 0.1, 0), ("up", 1, 0.5 * sd), ("down", 1, -0.5 * sd)):
            weight = law.pdf(median + (x - median - shift) / scale) / scale / law.pdf(x)
            after = row[key]
            near(f"{name}: x{index + 1} {key} effective flights", after["effective_flights"],
                  weight.sum() ** 2 / (weight ** 2).sum(), 0.01 * after["effective_flights"])
            if after["is_supported"]:
                near(f"{name}: x{index + 1} {key} odds", after["odds"], weight[met].sum() / weight.sum(), 2e-4)
    return answer, rows


def hold_exact(rows, coefficients, limit, name):
    """A linear sum of standard normals: the odds after each change, exactly. One miss of sixteen 95 % intervals may be."""
    missed = 0
    for index, c in enumerate(coefficients):
        total = sum(k * k for k in coefficients)
        for key, scale, shift in (("half", 0.5, 0), ("tenth", 0.1, 0), ("up", 1, 0.5), ("down", 1, -0.5)):
            sd = math.sqrt(total - c * c * (1 - scale * scale))
            exact = stats.norm.sf((limit - c * shift) / sd)
            after = rows[f"inputs[{index}].value"][key]
            ok(after["is_supported"], f"{name}: x{index + 1} {key} is not told")
            missed += not after["interval"][0] <= exact <= after["interval"][1]
            near(f"{name}: x{index + 1} {key} odds", after["odds"], exact, 0.03)
    ok(missed <= 3, f"{name}: {missed} of {4 * len(coefficients)} intervals miss the exact odds")


def paired(folder, formula, inputs, rows, first, total, together, within, name):
    """The paired design against closed forms. together: {(i, j): share}, all other pairs have none."""
    n = len(inputs)
    store = fly(folder, formula, inputs, flights=rows * (n + 2), plan="paired")
    answer, _ = rank(store, "--of", "result")
    design = answer["paired_design"]
    ok(design["rows"] == rows and answer["passed"] <= 2 * rows, f"{name}: rows")
    found = {row["path"]: row for row in design["quantities"]}
    for index in range(n):
        row = found[f"inputs[{index}].value"]
        near(f"{name}: x{index + 1} alone", row["alone"]["value"], first[index], within)
        near(f"{name}: x{index + 1} in all", row["in_all"]["value"], total[index], within)
    for pair in design["together"]:
        key = tuple(int(pair[side][7]) for side in ("first", "second"))
        near(f"{name}: {key} together", pair["share"]["value"], together.get(key, 0.0), within)
    # the same again from the store's columns: Saltelli 2010 and Jansen 1999 by NumPy
    with h5py.File(store) as kept:
        y = kept["measures/result"][()].reshape(rows, n + 2)
    y = y - y[:, :2].mean()
    variance = (y[:, :2] ** 2).mean()
    for index in range(n):
        row = found[f"inputs[{index}].value"]
        near(f"{name}: x{index + 1} alone again", row["alone"]["value"], (y[:, 1] * (y[:, index + 2] - y[:, 0])).mean() / variance, 1e-9)
        near(f"{name}: x{index + 1} in all again", row["in_all"]["value"],
              ((y[:, 0] - y[:, index + 2]) ** 2).mean() / 2 / variance, 1e-9)
    odds = json.loads(must("odds", store, "--json"))["all_together"]
    near(f"{name}: flights that count for odds", odds["flights"], 2 * rows, 0)
    near(f"{name}: passed", odds["passed"], answer["passed"], 0)
    return store


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    ishigami = "sin(x1) + 7*sin(x2)^2 + 0.1*x3^4*sin(x1)"
    for plan in ("plain", "latin", "sobol"):
        shares(fly(folder, ishigami, 3 * [uniform(-PI, PI)], plan=plan), [0.313905191148, 0.44241114479, 0.0],
               [4 * 0.0068, 4 * 0.0069, 4 * 0.0014], f"Ishigami, {plan}")
    a = [0, 1, 4.5, 9, 99, 99, 99, 99]
    g = " * ".join(f"(abs(4*x{i + 1} - 2) + {c}) / (1 + {c})" for i, c in enumerate(a))
    parts = [1 / (3 * (1 + c) ** 2) for c in a]
    variance = math.prod(1 + part for part in parts) - 1
    shares(fly(folder, g, 8 * [uniform(0, 1)]), [part / variance for part in parts], [0.03, 0.03] + 6 * [0.012], "g")
    linear = [3, 2, 1, 0.5]
    store = fly(folder, "3*x1 + 2*x2 + x3 + 0.5*x4", 4 * [normal(0, 1)], at_least=-4)
    shares(store, [c * c / 14.25 for c in linear], [0.03, 0.03, 0.02, 0.01], "linear Gaussian")
    answer, rows = recompute(store, 4 * [stats.norm()], "linear Gaussian")
    hold_exact(rows, linear, -4, "linear Gaussian")
    ok(answer["quantities"][0]["path"] == "inputs[0].value", "the greatest part of the sum is not ranked first")
    shares(fly(folder, "x1 * x2", 2 * [normal(0, 1)]), [0, 0], [0.012, 0.012], "pure interaction")
    recompute(fly(folder, "x1 + x2 - 9", [{"distribution": "lognormal", "median": 3, "spread": 0.4}, normal(6, 2)]),
              [stats.lognorm(0.4, scale=3), stats.norm(6, 2)], "lognormal and normal")

    store = paired(folder, ishigami, 3 * [uniform(-PI, PI)], 8192, [0.313905191148, 0.44241114479, 0.0],
                   [0.55758885521, 0.44241114479, 0.243683664062], {(0, 2): 0.243683664062}, 0.06, "Ishigami")
    text = must("rank", store)
    ok("- inputs[0].value and inputs[2].value act together" in text, "no interaction is named: " + text)
    ok(max(map(len, text.splitlines())) <= 80, "a line of the design has more than 80 columns")
    totals = [part * math.prod(1 + other for j, other in enumerate(parts) if j != i) / variance for i, part in enumerate(parts)]
    paired(folder, g, 8 * [uniform(0, 1)], 8192, [part / variance for part in parts], totals,
           {(i, j): parts[i] * parts[j] * math.prod(1 + p for k, p in enumerate(parts) if k not in (i, j)) / variance
            for i in range(8) for j in range(i + 1, 8)}, 0.05, "g")
    paired(folder, "3*x1 + 2*x2 + x3 + 0.5*x4", 4 * [normal(0, 1)], 4096, [c * c / 14.25 for c in linear],
           [c * c / 14.25 for c in linear], {}, 0.06, "linear Gaussian")
    paired(folder, "x1 * x2 + 0*x3", 3 * [normal(0, 1)], 8192, [0, 0, 0], [1, 1, 0], {(0, 1): 1.0}, 0.12, "pure interaction")
    # Screening: 20 rows tell what matters, too few independent flights for the rest. Effects of a plane are its slopes.
    store = fly(folder, "1 + 2*x1 - 3*x2 + 0.5*x3", 3 * [uniform(0, 1)], flights=100, plan="paired")
    answer, rows = rank(store, "--of", "result")
    ok(not rows, "ranked from too few")
    met, n = answer["passed"], answer["outcomes"]
    for end, exact in enumerate((stats.beta.ppf(0.025, met, n - met + 1), stats.beta.ppf(0.975, met + 1, n - met))): # Clopper and Pearson 1934
        near(f"too few to rank: interval of {met} of {n}", answer["interval"][end], exact, 1e-9)
    ok(0 < met < n and answer["noise"] == {"dummies": 0, "share": None, "rank_correlation": None, "separation": None}, f"noise of nothing: {answer['noise']}")
    for row in answer["paired_design"]["quantities"]:
        near("slope " + row["path"], row["mean_effect"], [2, -3, 0.5][int(row["path"][7])], 1e-9)

    # Few rows: what is above 100 %, and what has no interval, is explained.
    store = fly(folder, "x1*x2", 2 * [normal(0, 1)], flights=120, plan="paired", at_least=-1, seed=3)
    text = " ".join(must("rank", store).split())
    ok("none" not in text and "134 %" in text and "above 100 % is too great by chance" in text and "without \u00b1 have no interval" in text, text)
    text = must("rank", store, "--of", "result")
    ok("100 %" not in text and "no interval" not in text, "explains what is not there: " + text)

    # Text: 80 columns; the sentence; CSV as the JSON has it. A quantity that does nothing is called noise.
    store = fly(folder, "3*x1 + x2 + 0*x3", 3 * [normal(0, 1)], at_least=-3)
    text = must("rank", store, "--of", "safe")
    ok(max(map(len, text.splitlines())) <= 80, "a line has more than 80 columns")
    ok("halving the spread of inputs[0].value lifts the odds of safe from 8" in text, "no sentence: " + text)
    ok(text.index("Cannot be told from noise") < text.index("inputs[2].value"), "noise: " + text)
    rows = rank(store, "--of", "safe")[1]
    for line in csv.DictReader(must("rank", store, "--of", "safe", "--csv").splitlines()):
        row = rows[line["path"]]
        near("CSV share", float(line["share"]), row["share"]["value"], 0)
        near("CSV odds", float(line["half_odds"]), row["half"]["odds"], 0)

    # An even effect, too weak for share, rank and separation: what halving the spread surely changes is no noise, and goes before noise.
    store = fly(folder, "x2 - 0.15*x1^2 + 0*x3", 3 * [normal(0, 1)], flights=1000, at_least=-0.5, seed=2)
    answer, rows = rank(store, "--of", "safe")
    even, chance = rows["inputs[0].value"], answer["noise"]
    ok(all(abs(even[key]["value"]) <= chance[key] for key in ("share", "rank_correlation", "separation")), "the even effect is seen without halving")
    ok(even["half"]["gain_interval"][0] > 0 and not even["is_noise"] and rows["inputs[2].value"]["is_noise"], f"an even effect is called noise: {even}")
    text = must("rank", store, "--of", "safe")
    ok("halving the spread of inputs[0].value lifts the odds of safe" in text, "the even effect has no sentence: " + text)
    ok(text.index("\ninputs[0].value") < text.index("Cannot be told from noise"), "the even effect stands under noise: " + text)

    # A measure has its mean and spread, shares and rank correlations with their intervals, and no odds unless they are asked for; then they
    # are of what the heading names. Odds asked where nothing has a cost get an answer.
    text = must("rank", store, "--of", "result")
    ok("- inputs[1].value: 9" in text and "% of result's variance" in text, "no share leads: " + text)
    ok("halving the spread" not in text and "odds" not in text and "sep." not in text and "safe" not in text, "a measure has odds: " + text)
    answer, rows = rank(store, "--of", "result")
    said = re.search(r"for result: mean ([-0-9.,]+), standard deviation ([0-9.]+), of 1,000 flights\.", " ".join(text.split()))
    near("mean said", float(said.group(1)), answer["outcome_mean"], 0.006)
    near("spread said", float(said.group(2)), answer["outcome_sd"], 0.006)
    for path, share, reach, correlation in re.findall(r"^(inputs\S+) +([0-9.]+) % \(\u00b1([0-9.]+)\) +(-?[0-9.]+) \(", text, re.M):
        row = rows[path]
        near(f"share of {path} said", float(share), 100 * max(row["share"]["value"], 0), 0.51)
        ok(float(reach) >= 100 * (row["share"]["interval"][1] - max(row["share"]["value"], 0)) - 1e-9, f"{path}: interval said: {text}")
        near(f"correlation of {path} said", float(correlation), row["rank_correlation"]["value"], 0.006)
    ok(len(re.findall(r"^inputs", text, re.M)) == 3, "rows of a measure: " + text)
    ok("odds of safe in %, were its spread" in must("rank", store, "--of", "result", "--need", "0.9"), "a measure's odds are not named")
    no_cost = "No cost_to_halve or cost_to_remove in the campaign, so there is no cheapest way."
    ok(no_cost in must("rank", store, "--of", "safe", "--need", "0.9") and no_cost not in text, "--need without costs is ignored")

    # What is a little below zero is rounded to zero, without a sign.
    store = fly(folder, "x1", 30 * [normal(0, 1)])
    for name in ("safe", "result"):
        rows = rank(store, "--of", name)[1].values()
        ok(any(-0.005 < row["rank_correlation"]["value"] < 0 for row in rows), f"{name}: no figure rounds to zero from below")
        text = must("rank", store, "--of", name)
        ok(" 0.00" in text and "-0.00" not in text, f"{name}: a zero with a sign: {text}")

    # A change for the worse counts as much as one for the better: narrowing what lifts a few flights over the limit lowers the odds.
    store = fly(folder, "3*x1 + x2 + 0*x3", 3 * [normal(0, 1)], at_least=3)
    answer, rows = rank(store, "--of", "safe")
    ok([row["path"] for row in answer["quantities"]] == [f"inputs[{i}].value" for i in range(3)], "losses are not sorted by their size")
    ok(rows["inputs[0].value"]["half"]["gain_interval"][1] < 0, "no loss")

    # Separate values, quantities that vary together, and a uniform one that is moved: no odds, and why.
    _, rows = rank(fly(folder, "x1 + x2 + x3 + x4", [{"distribution": "chance", "odds": 0.7}, normal(0, 1), normal(0, 1),
                                                    uniform(-1, 1)],
                      correlations=[{"first": "inputs[1].value", "second": "inputs[2].value", "rank": 0.5}]))
    ok("separate values" in rows["inputs[0].value"]["half"]["why_not"], "a chance has odds")
    ok("varies together" in rows["inputs[1].value"]["half"]["why_not"], "a tied quantity has odds")
    ok(not rows["inputs[3].value"]["up"]["is_supported"] and rows["inputs[3].value"]["half"]["is_supported"], "a moved uniform has odds")

finish()
