"""What tightening buys and costs, end to end: new paired flights where reweighting does not carry, against exact odds of a normal sum and
against the stores' own columns; the cheapest way to the odds; every kind of bad input. Usage: tightening.py PROGRAM"""
import csv
import json
import math
import re
import tempfile
from pathlib import Path

import h5py
import numpy as np
from scipy import stats

from asking import call, finish, must, near, normal, ok, uniform

SLOPES = (0.8, 0.5, 0.3)
LIMIT = 1.2


def campaign(path, inputs, formula="0.8*x1 + 0.5*x2 + 0.3*x3", odds=0.93, **more):
    path.write_text(json.dumps({
        "name": "sum", "cost_unit": "h", "run": {"flights": 1200, "seed": 11, "plan": "plain"}, "formula": formula,
        "inputs": [{"name": f"x{i + 1}", "value": value} for i, value in enumerate(inputs)],
        "criteria": [{"name": "safe", "measure": "result", "at_most": LIMIT, "odds": odds, "confidence": 0.95}],
        "all_together": {"odds": odds, "confidence": 0.95}, **more}))
    return path


def fly(folder, name, file, *words):
    store = folder / name
    must("fly", file, "-o", store, "-q", *words)
    return store


def rank(store, *words):
    answer = json.loads(must("rank", store, "--json", "-q", *words))
    return answer, {row["path"]: row for row in answer["quantities"]}


def exact(scales, shift=0.0):
    sd = math.sqrt(sum((slope * scale) ** 2 for slope, scale in zip(SLOPES, scales, strict=True)))
    return stats.norm.cdf((LIMIT - shift) / sd)


def met(store, n=None):
    with h5py.File(store) as kept:
        return kept["criteria/safe"][:n] == 1.0


def column(store, index, n=None):
    with h5py.File(store) as kept:
        return kept[f"quantities/inputs[{index}].value"][:n]


def refused(*words, code=3, error=""):
    ran = call("rank", *words, code=code)
    ok(error in ran.stderr and ran.stdout == "" and len(ran.stderr.splitlines()) == 1, f"{words}: {ran.stderr}")


def hold_flown(folder, store, answer, rows):
    """Rows told by new flights: their odds hold the exact ones, and their figures are those of the pairs in the stores."""
    n_flown = n_held = 0
    for index in range(3):
        row = rows[f"inputs[{index}].value"]
        for key, scale, shift in (("half", 0.5, 0), ("tenth", 0.0, 0), ("up", 1, 0.5), ("down", 1, -0.5)):
            after = row[key]
            ok(after["is_supported"], f"x{index + 1} {key} is not told")
            if after["from"] == "reweighted flights":
                continue
            n_flown += 1
            ok(after["from"] == "new paired flights", f"x{index + 1} {key} from {after['from']}")
            scales = [scale if other == index else 1.0 for other in range(3)]
            truth = exact(scales, SLOPES[index] * shift)
            n_held += after["interval"][0] <= truth <= after["interval"][1]
            near(f"x{index + 1} {key}", after["odds"], truth, 0.05)
            own = folder / "new" / f"inputs[{index}].value-{key}.h5"
            marks, before = met(own), met(store, 1000)
            near(f"x{index + 1} {key} odds", after["odds"], marks.mean(), 1e-12)
            near(f"x{index + 1} {key} gain", after["gain"], marks.mean() - before.mean(), 1e-12)
            near(f"x{index + 1} {key} values", np.abs(column(own, index) - (scale * column(store, index, 1000) + shift)).max(), 0, 1e-12)
            other = (index + 1) % 3
            ok((column(own, other) == column(store, other, 1000)).all(), f"x{index + 1} {key}: other draws differ")
            # as wide as pairs make it, no wider: Wald's interval of paired shares is close at these numbers
            b, c = (marks & ~before).sum(), (before & ~marks).sum()
            wald = 2 * stats.norm.ppf(0.975) * math.sqrt(b + c - (b - c) ** 2 / 1000) / 1000
            width = after["gain_interval"][1] - after["gain_interval"][0]
            ok(0.7 * wald <= width <= 1.5 * wald + 0.006, f"x{index + 1} {key}: gain {after['gain_interval']}, Wald's width {wald}")
    ok(n_flown >= 3 and n_held >= n_flown - 1, f"{n_held} of {n_flown} intervals hold the exact odds")
    ok(answer["flights_new"] % 1000 == 0 and answer["flights_new"] >= 1000 * n_flown, f"new flights: {answer['flights_new']}")


def brute(costs, need):
    """Cheapest way by exact odds, every way tried."""
    best = (math.inf, ())
    for levels in np.ndindex(3, 3, 3):
        price = sum(costs[row][level] for row, level in enumerate(levels))
        if exact([(1, 0.5, 0.1)[level] for level in levels]) >= need and price < best[0]:
            best = (price, levels)
    return best


def hold_way(folder):
    costs = ((0, 40, 90), (0, 15, 28), (0, 5, 9))
    inputs = [dict(normal(0, 1), cost_to_halve=cost[1], cost_to_remove=cost[2]) for cost in costs]
    file = campaign(folder / "costs.json", inputs, odds=0.95)
    store = fly(folder, "costs.h5", file, "--flights", 40000)
    answer, rows = rank(store)
    way = answer["cheapest_way"]
    price, levels = brute(costs, 0.95)
    ok(way["reaches"] and way["odds_needed"] == 0.95 and way["cost_unit"] == "h", f"way: {way}")
    near("cost of the cheapest way", way["cost"], price, 0)
    steps = {step["path"]: step["to"] for step in way["steps"]}
    wanted = {f"inputs[{row}].value": (None, "half", "none")[level] for row, level in enumerate(levels) if level}
    ok(steps == wanted, f"cheapest way {steps}, exactly {wanted}")
    truth = exact([(1, 0.5, 0.1)[level] for level in levels])
    ok(way["bound_low"] <= truth <= way["bound_high"] and way["bound_high"] - way["bound_low"] < 0.02, f"{truth} in {way}")
    ok(rows["inputs[0].value"]["cost_to_halve"] == 40, "cost in its row")
    text = must("rank", store)
    said = " ".join(text.split())
    ok("Cheapest way to 95 %: " in said and "h. The odds are then" in said and "flights (--fly N -o FOLDER) confirm it" in said, text)
    ok(max(map(len, text.splitlines())) <= 80, "a line has more than 80 columns")
    line = {row["path"]: row for row in csv.DictReader(must("rank", store, "--csv").splitlines())}["inputs[1].value"]
    ok((line["cost_to_halve"], line["cost_to_remove"], line["half_from"]) == ("15", "28", "reweighted flights"), f"CSV: {line}")
    # Too few flights: how many in all would show the way, or a cheaper one, and so many do.
    for need, what, store_name in (("0.965", "show it", "short.h5"), ("0.93", "show the cheaper way", "shorter.h5")):
        few = fly(folder, store_name, file, "--flights", 1000)
        before = rank(few, "--need", need)[0]["cheapest_way"]
        text = " ".join(must("rank", few, "--need", need).split())
        found = re.search(r"- about ([0-9,]+) flights in all would " + what + r" if the estimate is right \(.* --flights ([0-9]+) --resume\)", text)
        ok(found is not None and found.group(1).replace(",", "") == found.group(2) and 1000 < int(found.group(2)) <= 65536, f"{need}: {text}")
        ok(before["flights_to_show"] == int(found.group(2)), f"{need}: {before['flights_to_show']} in JSON, {found.group(2)} in the text")
        must("fly", file, "-o", few, "-q", "--flights", found.group(2), "--resume")
        after = rank(few, "--need", need)[0]["cheapest_way"]
        ok(after["flights_to_show"] is None, f"{need}: shown, and {after['flights_to_show']} flights are to show it")
        ok(after["is_shown"] and (not before["is_shown"] or after["cost"] < before["cost"]), f"{need}: {before}, then {after}")
        ok("flights in all would" not in must("rank", few, "--need", need), f"{need}: shown, and more are asked for")
    # New flights confirm it, on other draws.
    answer, _ = rank(store, "--fly", 20000, "-o", folder / "ways")
    flown = answer["cheapest_way"]["flown"]
    ok(flown[-1]["verdict"] == "GO" and flown[-1]["cost"] == price and flown[-1]["bound_low"] >= 0.95, f"flown: {flown}")
    ok(all(way["verdict"] != "GO" for way in flown[:-1]), f"a cheaper way was confirmed: {flown}")
    own = next((folder / "ways").glob("way-*.h5"))
    ok((column(own, 2, 100) != column(store, 2, 100)).any(), "confirmed on the draws that chose it")
    ok("- confirmed: " in must("rank", store, "--fly", 20000, "-o", folder / "ways", "-q"), "not said")
    # Asked for less than there is, and for more than there can be.
    ok(rank(store, "--need", "0.85")[0]["cheapest_way"]["steps"] == [], "tightened for nothing")
    ok("Nothing needs to be tightened" in must("rank", store, "--need", "0.85"), "nothing needed")
    scarce = campaign(folder / "few.json", [normal(0, 1), normal(0, 1), dict(normal(0, 1), cost_to_halve=5)], odds=0.95)
    few = fly(folder, "few.h5", scarce, "--flights", 4000)
    most = rank(few)[0]["cheapest_way"]
    ok(not most["reaches"] and not most["is_shown"] and most["flown"] == [], f"beyond all ways: {most}")
    ok("No way to 95 % found" in must("rank", few), "no way")
    # A small store judges less, and says so; where reweighting cannot carry a cheap way, flying finds it.
    small = fly(folder, "small.h5", file, "--flights", 1000)
    answer, _ = rank(small, "--fly", 1000, "-o", folder / "small")
    ok(answer["cheapest_way"]["ways_not_judged"] > 0 and answer["cheapest_way"]["flown"], f"small: {answer['cheapest_way']}")
    ok("not judged: " in must("rank", small), "nothing said of what could not be judged")


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    one = campaign(folder / "one.json", [normal(0, 1)] * 3)
    store = fly(folder, "one.h5", one)
    ok(not rank(store)[1]["inputs[0].value"]["tenth"]["is_supported"], "1,200 flights carry a tenth of a spread")
    ok(rank(store)[0]["cheapest_way"] is None and "Cheapest" not in must("rank", store), "a way without costs")
    answer, rows = rank(store, "--fly", 1000, "-o", folder / "new")
    hold_flown(folder, store, answer, rows)
    again, _ = rank(store, "--fly", 1000, "-o", folder / "new")
    ok(again == answer, "a second run says something else")
    text = must("rank", store, "--fly", 1000, "-o", folder / "new", "-q")
    ok(" f " in text and "f: from new flights instead" in text and max(map(len, text.splitlines())) <= 80, text)

    # What reweighting cannot change alone, flying can: quantities that vary together keep their tie; a uniform one is moved.
    tied = campaign(folder / "tied.json", [normal(0, 1), normal(0, 1), uniform(-1, 1)],
                    correlations=[{"first": "inputs[0].value", "second": "inputs[1].value", "rank": 0.6}])
    store = fly(folder, "tied.h5", tied)
    _, rows = rank(store, "--fly", 1000, "-o", folder / "tied")
    ok(rows["inputs[0].value"]["half"]["from"] == rows["inputs[2].value"]["up"]["from"] == "new paired flights", "tied or moved: not flown")
    own = folder / "tied" / "inputs[0].value-half.h5"
    near("half of x1", np.abs(column(own, 0) - 0.5 * column(store, 0, 1000)).max(), 0, 1e-12)
    near("tie", stats.spearmanr(column(own, 0), column(own, 1)).correlation,
         stats.spearmanr(column(store, 0, 1000), column(store, 1, 1000)).correlation, 1e-12)
    r = 2 * math.sin(math.pi * 0.6 / 6)
    draws = np.random.default_rng(5)
    z = draws.multivariate_normal([0, 0], [[1, r], [r, 1]], 400000)
    truth = (0.4 * z[:, 0] + 0.5 * z[:, 1] + 0.3 * draws.uniform(-1, 1, 400000) <= LIMIT).mean()
    low, high = rows["inputs[0].value"]["half"]["interval"]
    ok(low - 0.002 <= truth <= high + 0.002, f"tied, halved: {truth} outside {low} to {high}")

    hold_way(folder)

    # Bad input.
    refused(store, "--fly", 1000, code=2, error="-o FOLDER")
    refused(store, "-o", folder / "x", code=2, error="give --fly N too")
    refused(store, "--fly", 1201, "-o", folder / "x", "-q", error="holds 1200 flights to pair new ones with, got --fly 1201")
    refused(store, "--fly", 0, "-o", folder / "x", code=2, error="--fly: got '0'")
    refused(store, "--need", "1.5", code=2, error="a share above 0 and below 1")
    refused(store, "--of", "saef", error='did you mean "safe"')
    (folder / "file").write_text("")
    refused(store, "--fly", 100, "-o", folder / "file" / "x", "-q", code=4, error="cannot be made")
    sobol = json.loads(one.read_text())
    sobol["run"]["plan"] = "sobol"
    (folder / "sobol.json").write_text(json.dumps(sobol))
    refused(fly(folder, "sobol.h5", folder / "sobol.json"), "--fly", 100, "-o", folder / "x", "-q", error="of the plan plain without a stop rule")
    stopped = fly(folder, "stopped.h5", one, "--stop-width", "0.08")
    refused(stopped, "--fly", 100, "-o", folder / "x", "-q", error="without a stop rule")
    # The folder has a store of that name already, of another campaign.
    refused(fly(folder, "other.h5", campaign(folder / "other.json", [normal(0, 2)] * 3)), "--fly", 1000, "-o", folder / "new", "-q", code=4,
            error="is of another setting or seed; name another folder")

finish()
