"""What `odds A B C --json` says between the stores, worked out anew from each store's own `odds --json` and the campaign files.

Intervals: scipy.stats.beta (Clopper and Pearson 1934). Which entries differ: from the JSON files themselves.

usage: recompare.py ALL.json NAME... with NAME.odds.json and NAME.json of each store, in order"""
import json
import sys

from scipy.stats import beta

everything, names = json.load(open(sys.argv[1], encoding="utf-8")), sys.argv[2:]
letters = "ABCDEFGH"[:len(names)]
problems = []


def hold(what, got, wanted):
    if got != wanted:
        problems.append(f"{what}: printed {got}, recomputed {wanted}")


def interval(row):
    tail, passed, flights = (1 - row["confidence"]) / 2, row["passed"], row["flights"]
    return (beta.ppf(tail, passed, flights - passed + 1) if passed else 0.0,
            beta.ppf(1 - tail, passed + 1, flights - passed) if passed < flights else 1.0)


def leaves(node, path=""):
    """Plain entries by path; a distribution counts as one entry."""
    if isinstance(node, dict) and "distribution" not in node:
        for key, below in node.items():
            yield from leaves(below, f"{path}.{key}" if path else key)
    elif isinstance(node, list):
        for index, below in enumerate(node):
            yield from leaves(below, f"{path}[{index}]")
    else:
        yield path, json.dumps(node)


answers = [json.load(open(name + ".odds.json", encoding="utf-8")) for name in names]
for letter, name, answer, store in zip(letters, names, answers, everything["stores"]):
    hold("letter", store["letter"], letter)
    hold("store", store["store"], name + ".h5")
    hold(letter + "'s own answer", store["answer"], answer)

hold("go", everything["go"], [x for x, answer in zip(letters, answers) if answer["verdict"] == "GO"])
rows = [[answer["criteria"][i] for answer in answers] for i in range(len(answers[0]["criteria"]))]
rows.append([answer["all_together"] for answer in answers])
hold("number of rows", len(everything["rows"]), len(rows))
for printed, row in zip(everything["rows"], rows):
    top = max(row, key=lambda one: one["odds"])
    reach = [interval(one)[1] >= interval(top)[0] for one in row]
    hold(printed["name"] + " best", printed["best"], [x for x, reaches in zip(letters, reach) if reaches])
    hold(printed["name"] + " asked by", printed["asked_by"], list(letters))
among = [one for x, one in zip(letters, rows[-1]) if x in everything["go"]]
top = max(among, key=lambda one: one["odds"])
hold("would be flown", everything["would_be_flown"],
     [x for x, one in zip(letters, rows[-1]) if x in everything["go"] and interval(one)[1] >= interval(top)[0]])

campaigns = [dict(leaves(json.load(open(name + ".json", encoding="utf-8")))) for name in names]
told_apart = {"name", "purpose"}
wanted = {path for campaign in campaigns for path in campaign
          if path not in told_apart and len({other.get(path) for other in campaigns}) > 1}
printed = {row["path"] for row in everything["differences"]}
hold("entries of the files that differ but are not printed", sorted(wanted - printed), [])
hold("entries printed that no file has", sorted(path for path in printed - wanted if all(path not in c for c in campaigns)
                                                and not path.startswith(("cameras[1]", "controller.turns", "drive.gear"))), [])

print(*problems, sep="\n")
print(f"{len(rows)} rows, {len(printed)} differences, {len(problems)} problems")
sys.exit(1 if problems or not printed else 0)
