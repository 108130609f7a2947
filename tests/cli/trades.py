"""`trade`: designs on the same flights against exact odds of a normal sum, exact paired tests by SciPy from the stores' own columns,
the search for a limit that is known, resuming, and every kind of bad input. Usage: trades.py PROGRAM"""
import json
import subprocess
import tempfile
from pathlib import Path

import h5py
import numpy as np
from scipy import stats

from asking import PROGRAM, call, finish, ok



def said(*words, code=0, error=""):
    """Standard output; of a failure nothing there, and one line that holds `error`."""
    ran = call(*words, code=code)
    ok(error in ran.stderr, f"{words}: standard error lacks '{error}': {ran.stderr}")
    ok(code == 0 or (ran.stdout == "" and len(ran.stderr.splitlines()) == 1), f"{words}: says something and fails")
    return ran.stdout


def campaign(path, k=1.0, flights=2000, plan="plain", sd=1.0, second=0.5, **more):
    path.write_text(json.dumps({
        **more, "name": "sum", "run": {"flights": flights, "seed": 5, "plan": plan}, "formula": "x1 + x2 + k - 3",
        "inputs": [{"name": "x1", "value": {"distribution": "normal", "mean": 0, "sd": sd}},
                   {"name": "x2", "value": {"distribution": "normal", "mean": 0, "sd": second}}, {"name": "k", "value": k}],
        "criteria": [{"name": "safe", "measure": "result", "at_most": 0, "odds": 0.9, "confidence": 0.95}],
        "all_together": {"odds": 0.9, "confidence": 0.95}}))
    return path


def met(store):
    with h5py.File(store) as kept:
        return kept["criteria/safe"][()] == 1.0


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    one = campaign(folder / "one.json")
    # A sweep: the band holds all exact odds at once, pairs are those of the stores, flight for flight.
    answer = json.loads(said("trade", one, "--vary", "inputs[2].value=0:2:5", "-o", folder / "s", "-q", "--json"))
    marks = [met(folder / "s" / f"{i + 1:03d}.h5") for i in range(5)]
    ok([row["values"] for row in answer["settings"]] == [[0], [0.5], [1], [1.5], [2]], "settings")
    ok(answer["best"] == 0, "best")
    for row, mark in zip(answer["settings"], marks, strict=True):
        exact = stats.norm.cdf((3 - row["values"][0]) / np.sqrt(1.25))
        ok(row["band"][0] <= exact <= row["band"][1], f"band at {row['values']}")
        ok(row["passed"] == mark.sum(), f"odds at {row['values']}")
        ok(not (mark & ~marks[0]).any(), "a setting with fewer demands misses what a harder one meets")
        only_best, only_this = (marks[0] & ~mark).sum(), (mark & ~marks[0]).sum()
        ok((row["against_best"]["only_best"], row["against_best"]["only_this"]) == (only_best, only_this), "pairs")
        p = stats.binomtest(int(only_best), int(only_best + only_this)).pvalue if only_best + only_this else 1.0
        ok(np.isclose(row["against_best"]["exact_p"], p, rtol=1e-8), f"exact p at {row['values']}")
    ok([row["may_be_best"] for row in answer["settings"]][2:] == [False] * 3, "worse settings are not told from the best")
    ok(len(answer["exact_p_of_pairs"]) == 10, "pairs of all")
    # Draws are those of the campaign itself, and a store is an ordinary one.
    said("fly", one, "-o", folder / "own.h5", "-q")
    with h5py.File(folder / "own.h5") as own, h5py.File(folder / "s" / "001.h5") as other:
        ok((own["quantities/inputs[0].value"][()] == other["quantities/inputs[0].value"][()]).all(), "other draws")
    said("odds", folder / "s" / "003.h5")
    said("replay", folder / "s" / "003.h5", "--flight", 7, error="bit for bit")
    # Resumed, it says the same; not asked to, it refuses.
    said("trade", one, "--vary", "inputs[2].value=0:2:5", "-o", folder / "s", "-q", code=4, error="exists")
    again = json.loads(said("trade", one, "--vary", "inputs[2].value=0:2:5", "-o", folder / "s", "-q", "--json", "--resume"))
    ok(again == answer, "resumed, another answer")
    more = json.loads(said("trade", one, "--vary", "inputs[2].value=0:2:5", "-o", folder / "s", "-q", "--json", "--resume",
                           "--flights", 3000))
    ok(more["flights"] == 3000 and (met(folder / "s" / "001.h5")[:2000] == marks[0]).all(), "no flights added")
    said("trade", one, "--vary", "inputs[2].value=0:3:5", "-o", folder / "s", "-q", "--resume", code=4, error="another setting")
    # A map, and text within 80 columns.
    text = said("trade", one, "--vary", "inputs[2].value=0:2:3", "--vary", "inputs[0].value.sd=0.5:1:2", "-o", folder / "m", "-q")
    ok(len(list((folder / "m").iterdir())) == 6 and max(map(len, text.splitlines())) <= 80, "map: " + text)
    # Two designs: the interval holds the exact difference.
    other = campaign(folder / "two.json", second=1.0)
    answer = json.loads(said("trade", one, other, "-o", folder / "ab", "-q", "--json", "--of", "safe"))
    exact = stats.norm.cdf(2 / np.sqrt(1.25)) - stats.norm.cdf(2 / np.sqrt(2))
    low, high = answer["settings"][1]["against_best"]["interval"]
    ok(low <= exact <= high and answer["best"] == 0, f"difference {exact} outside {low} to {high}")
    # The pairs' interval against that of as many unpaired flights: the square of the ratio is the saving.
    odds = [row["odds"] for row in answer["settings"]]
    unpaired = 2 * 1.96 * np.sqrt(sum(p * (1 - p) for p in odds) / 2000)
    ok((high - low) < 0.85 * unpaired, "pairing saves nothing")
    ok("First less second" in said("trade", one, other, "-o", folder / "ab", "-q", "--resume"), "two designs in words")
    # Where the locale is not UTF-8 the text is ASCII.
    gull = campaign(folder / "m\u00f6we.json", second=1.0)
    for locale, is_ascii in (("C", True), ("C.UTF-8", False)):
        ran = subprocess.run([PROGRAM, "trade", one, gull, "-o", folder / f"l{locale}", "-q"], capture_output=True,
                             env={"LC_ALL": locale}, check=True)
        ok(ran.stdout.isascii() == is_ascii and b"First less second" in ran.stdout, f"{locale}: {ran.stdout}")
    # The limit is known: 3 - k = 1.2816 sd.
    limit = 3 - stats.norm.ppf(0.9) * np.sqrt(1.25)
    found = json.loads(said("trade", one, "--need", "0.9", "--relax", "inputs[2].value=0:3", "-o", folder / "r", "-q", "--json",
                            "--flights", 16000))
    ok(found["met_at"] <= limit <= found["missed_at"] and found["missed_at"] - found["met_at"] < 0.3, f"limit {limit} outside {found}")
    ok(found["bound_low"] >= 0.9, "bound")
    ok(found["flights"] < 16000 * found["values_tried"] / 1.5, f"flights: {found}")
    text = said("trade", one, "--need", "0.9", "--relax", "inputs[2].value=0:3", "-o", folder / "r", "-q", "--resume", "--flights", 16000)
    ok("may be relaxed to" in text and "The limit lies between" in text, "search in words: " + text)
    ok("None found" in said("trade", one, "--need", "0.9", "--relax", "inputs[2].value=2.5:3", "-o", folder / "n", "-q"), "none: ")
    ok("whole range" in said("trade", one, "--need", "0.9", "--relax", "inputs[2].value=-1:0", "-o", folder / "w", "-q"), "all: ")

    # The stores of a sweep say which value they have; the shift of a value leaves all else alone.
    for index, value in enumerate(("0", "0.5", "1")):
        with h5py.File(folder / "s" / f"{index + 1:03d}.h5") as store:
            ok(store.attrs["campaign"] in (f"sum; inputs[2].value = {value}", f"sum; inputs[2].value = {value}".encode()),
               f"title {store.attrs['campaign']}")
    # A sweep of the campaign's own: the same answer as by words; check holds it against the campaign.
    own = campaign(folder / "own.json", sweep=[{"path": "inputs[2].value", "from": 0, "to": 2, "values": 5}])
    answer = json.loads(said("trade", own, "-o", folder / "own", "-q", "--json", "--flights", 3000))
    ok([row["passed"] for row in answer["settings"]] == [row["passed"] for row in more["settings"]], "a sweep of the campaign's own")
    ok(answer["varied"] == ["inputs[2].value"], "varied")
    said("check", own)
    for sweep, what in ((dict(path="inputs[2].value", to=0), "the range is empty"), (dict(path="nowhere", to=1), "is not in the campaign"),
                        (dict(path="inputs[0].value", to=1), "inputs[0].value.mean"), (dict(path="inputs[0].value.sd", to=-1), "does not take"),
                        (dict(path="inputs[2].value", to=1, values=65), "wanted 2 to 64"), (dict(path="name", to=1), "not a number")):
        wrong = campaign(folder / "wrong.json", sweep=[{"from": 0.0 if "sd" not in sweep["path"] else 1, **sweep}])
        said("check", wrong, code=3, error=what)
        said("trade", wrong, "-o", folder / "x", "-q", code=3, error=what)
    wide = [{"path": f"inputs[{i}].value.sd", "from": 0.1, "to": 2, "values": 17} for i in range(2)]
    said("check", campaign(folder / "wrong.json", sweep=wide), code=3, error="289 settings, at most 256")
    said("check", campaign(folder / "wrong.json", sweep=[wide[0], wide[0]]), code=3, error="that of the first sweep too")
    # A search without a range goes from the campaign's own value to the edge of what it takes, and says so.
    found = json.loads(said("trade", one, "--need", "0.9", "--relax", "inputs[2].value", "-o", folder / "o", "-q", "--json",
                            "--flights", 16000))
    ok(found["met_at"] <= limit <= found["missed_at"] and found["range"][0] == 1, f"open range: {found}")
    ok("from the campaign's own 1" in found["range_from"], f"open range: {found['range_from']}")
    text = said("trade", one, "--need", "0.9", "--relax", "inputs[2].value=down", "-o", folder / "d", "-q", "--flights", 16000)
    ok("whole range will do" in text and "Range looked at: from the campaign's own 1 to -" in text, "downwards: " + text)
    sd = 2 / stats.norm.ppf(0.9)  # of the sum, at the limit
    found = json.loads(said("trade", one, "--need", "0.9", "--relax", "inputs[0].value.sd", "-o", folder / "p", "-q", "--json",
                            "--flights", 16000))
    ok(found["met_at"] ** 2 <= sd ** 2 - 0.25 <= found["missed_at"] ** 2, f"spread: {found}")
    said("trade", one, "--need", "0.9", "--relax", "inputs[0].value", "-o", folder / "x", "-q", code=3, error="is a distribution")

    # Bad input.
    for vary, what in (("inputs[0].value=0:1:3", "is a distribution, not a number; vary one of its parameters, such as "
                        "inputs[0].value.mean"), ("name=0:1:3", '.json: /name: is "' + json.loads(one.read_text())["name"] + '", not a number'),
                       ("nowhere=0:1:3", ".json: /nowhere: is not in the campaign file; give it there"),
                       ("inputs[2].vlaue=0:1:3", '.json: /inputs/2/vlaue: is not in the campaign file; did you mean "value"?'),
                       ("imputs[2].value=0:1:3", 'did you mean "inputs"?'), ("inputs[0].value.sb=0:1:3", 'did you mean "sd"?'),
                       ("inputs[.value=0:1:3", ".json: inputs[.value: is no path"),
                       ("run.flights=100:200:2", ".json: /run/flights: says how the campaign is flown, not what is flown"),
                       ("inputs[2=0:1:3", "inputs[2: is no path: a [ lacks its number or its ]"),
                       ("inputs[0].value.sd=-1:1:3", "wanted a number above 0")):
        said("trade", one, "--vary", vary, "-o", folder / "x", "-q", code=3, error=what)
        ok(not (folder / "x").exists(), f"{vary}: left a folder")
    # The ends of a range are looked at: a mean beyond its law's limits is warned of, where it is varied and where the campaign sweeps it.
    cut = campaign(folder / "cut.json")
    content = json.loads(cut.read_text())
    content["inputs"][0]["value"] = {"distribution": "truncated_normal", "mean": 3, "sd": 1, "low": 0, "high": 6}
    cut.write_text(json.dumps(content))
    for words in (("--vary", "inputs[0].value.mean=-2:3:2"), ("--need", "0.001", "--relax", "inputs[0].value.mean=-2:3")):
        ran = call("trade", cut, *words, "-o", folder / f"cut{words[0]}", "-q", "--flights", 100)
        ok(ran.stderr.count("\n") == 1 and "warning: cut.json: /inputs/0/value: at inputs[0].value.mean = -2: mean -2 lies outside" in ran.stderr
           and "have the mean 0.373" in ran.stderr, f"{words}: {ran.stderr}")  # scipy.stats.truncnorm(2, 8, loc=-2).mean()
    ok(call("trade", cut, "--vary", "inputs[0].value.mean=2:3:2", "-o", folder / "cut-not", "-q", "--flights", 100).stderr == "", "a warning of nothing")
    cut.write_text(json.dumps({**content, "sweep": [{"path": "inputs[0].value.mean", "from": 3, "to": -2, "values": 2}]}))
    ran = call("check", cut)
    ok("/sweep/0/to: at inputs[0].value.mean = -2: mean -2 lies outside" in ran.stderr and ran.stderr.count("\n") == 1, f"sweep: {ran.stderr}")
    # A range that is none is the command line's mistake, not the campaign's.
    for range_text, what in (("=1:1:3", "FROM other than TO"), ("=0:1:1", "N from 2"), ("=0:1", "N from 2"), ("", "PATH=FROM:TO:N"),
                             ("=a:1:3", "PATH=FROM:TO:N"), ("=:1:3", "PATH=FROM:TO:N"), ("=0:1:65", "N from 2 to 64")):
        said("trade", one, "--vary", f"inputs[2].value{range_text}", "-o", folder / "x", "-q", code=2, error=what)
        ok(call("trade", one, "--vary", f"inputs[2].value{range_text}", "-o", folder / "x", code=2).stderr.startswith("rollcast: --vary: got '"),
           f"{range_text}: another place")
    said("trade", one, *(word for i in range(2) for word in ("--vary", f"inputs[{i}].value.sd=1:2:17")), "-o", folder / "x", "-q", code=2,
         error="--vary: 289 settings, at most 256")
    for range_text in ("=0:0", "=0", "=0:1:3"):
        said("trade", one, "--need", "0.9", "--relax", f"inputs[2].value{range_text}", "-o", folder / "x", code=2, error="--relax: got '")
    ok(not (folder / "x").exists(), "a refused range left a folder")
    (folder / "x").mkdir()
    said("trade", one, "--vary", "inputs[0].value.sd=-1:1:3", "-o", folder / "x", "-q", code=3, error="wanted a number above 0")
    ok((folder / "x").is_dir(), "a folder that was there is gone")
    said("trade", one, "--vary", "inputs[2].value=0:1:3", "--of", "else", "-o", folder / "x", "-q", code=3, error="'else'")
    said("trade", campaign(folder / "l.json", plan="latin"), "--vary", "inputs[2].value=0:1:3", "-o", folder / "y", "-q", code=3,
         error="takes the plan plain")
    said("trade", one, "--vary", "inputs[2].value=0:1:3", "--of", "saef", "-o", folder / "x", "-q", code=3, error='did you mean "safe"')
    (folder / "file").write_text("")
    said("trade", one, "--vary", "inputs[2].value=0:1:3", "-o", folder / "file" / "below", "-q", code=4, error="name another one with -o")
    said("trade", one, "-o", folder / "x", code=3, error="gives no sweep")
    for words in ((one,), (one, "--vary", "a=0:1:2"), (one, other, "--vary", "a=0:1:2", "-o", folder / "x"),
                  (one, "--need", "0.9", "-o", folder / "x"), (one, "--need", "2", "--relax", "a=0:1", "-o", folder / "x"),
                  (one, *3 * ("--vary", "a=0:1:2"), "-o", folder / "x")):
        said("trade", *words, code=2)

finish()
