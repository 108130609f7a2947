"""Forms of the answers: CSV against JSON, ASCII where the locale is not UTF-8, 80 columns.

usage: forms.py PROGRAM ROOT"""
import csv
import io
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

from asking import PROGRAM, finish, ok

root = sys.argv[2]
scratch = tempfile.mkdtemp()
os.chdir(scratch)


def run(*words, **variables):
    kept = {name: value for name, value in os.environ.items() if name not in ("LC_ALL", "LC_CTYPE", "LANG")}
    ended = subprocess.run([PROGRAM, *words], capture_output=True, env={**kept, **variables})
    return ended.returncode, ended.stdout.decode("utf-8"), ended.stderr.decode("utf-8", "replace")


for table in ("lapwing-thrust.csv", "lapwing-aero.csv"):
    shutil.copy(f"{root}/campaigns/{table}", ".")
campaign = json.load(open(root + "/campaigns/first.json", encoding="utf-8"))
campaign["name"] = "M\u00f6we \u2264 7, \"schnell\""
campaign["criteria"][0]["name"] = "h\u00e4lt, \"so\""
json.dump(campaign, open("one.json", "w"))
run("fly", "one.json", "-o", "one.h5", "--flights", "300", "-q")
run("fly", root + "/campaigns/stepper.json", "-o", "two.h5", "--flights", "64", "-q")

# CSV: every figure is the JSON's.
code, text, said = run("odds", "one.h5", "--csv")
ok(code == 0 and not said, f"odds --csv: {code} {said}")
rows = list(csv.DictReader(io.StringIO(text)))
odds = json.loads(run("odds", "one.h5", "--json")[1])
wanted = [*odds["criteria"], {"name": "all together", **odds["all_together"]}]
for row, want in zip(rows, wanted):
    same = row["row"] == "criterion" and row["name"] == want["name"] and row["verdict"] == want["verdict"]
    same = same and [float(row[key]) for key in ("flights", "passed", "odds", "bound_low", "bound_high", "odds_asked", "confidence")] == \
        [want[key] for key in ("flights", "passed", "odds", "bound_low", "bound_high", "odds_asked", "confidence")]
    same = same and [float(row["interval_low"]), float(row["interval_high"])] == want["interval"]
    same = same and (row["at_least"] == "" if want.get("at_least") is None else float(row["at_least"]) == want["at_least"])
    ok(same, f"odds --csv: {row} is not {want}")
measures = {row["name"]: row for row in odds["measures"]}
told = [row for row in rows if row["row"] == "measure"]
ok(len(told) > 10 and len(rows) == len(wanted) + len(told), f"{len(rows)} rows of CSV")
for row in told:
    ok([float(row[key]) for key in ("median", "p05", "p95", "mean", "sd", "least", "greatest", "mean_low", "mean_high", "confidence")] ==
       [measures[row["name"]][key] for key in ("median", "p05", "p95", "mean", "sd", "least", "greatest")] +
       [*measures[row["name"]]["mean_interval"], measures[row["name"]]["confidence"]] and not row["odds"] and not row["verdict"] and
       row["unit"] == measures[row["name"]]["unit"], f"odds --csv: {row}")
for words in (("odds", "one.h5", "two.h5", "--csv", "--json"), ("odds", "one.h5", "--csv", "--json"), ("size", "--odds", "0.9", "--csv", "--json")):
    code, text, said = run(*words)
    ok(code == 2 and not text and "--csv goes without --json" in said, f"{words}: {code}")

# Several stores as CSV: each store's cells are those of its own table, and what is best is the JSON's.
run("fly", root + "/campaigns/stepper.json", "-o", "more.h5", "--flights", "64", "--seed", "7", "-q")
n_compared = n_best = 0
for stores in (("one.h5", "two.h5"), ("two.h5", "more.h5"), ("more.h5", "one.h5", "two.h5")):
    code, text, said = run("odds", *stores, "--csv")
    ok(code == 0 and not said, f"odds {stores} --csv: {code} {said}")
    rows = list(csv.DictReader(io.StringIO(text)))
    both = json.loads(run("odds", *stores, "--json")[1])
    asked = [(row, letter) for row in both["rows"] for letter in row["asked_by"]]
    for (want, letter), row in zip(asked, rows):
        ok((row["row"], row["name"], row["letter"], row["is_compared"]) == ("criterion", want["name"], letter, str(int(want["is_compared"]))) and
           row["is_best"] == (str(int(letter in want["best"])) if want["is_compared"] else ""), f"odds {stores} --csv: {row} is not {want}")
        n_compared += want["is_compared"]
        n_best += row["is_best"] == "1"
    n_measures = 0
    for at, store in enumerate(both["stores"]):
        own = list(csv.DictReader(io.StringIO(run("odds", store["store"], "--csv")[1])))
        mine = [row for row in rows if row["letter"] == store["letter"]]
        ok({(row["store"], row["campaign"]) for row in mine} == {(stores[at], store["answer"]["campaign"])}, f"odds {stores} --csv: {store['store']}")
        ok(sorted(tuple(row[key] for key in own[0]) for row in mine) == sorted(tuple(row.values()) for row in own), f"odds {stores} --csv: {store['store']}")
        n_measures += sum(row["row"] == "measure" for row in own)
    ok(len(rows) == len(asked) + n_measures, f"odds {stores} --csv: {len(rows)} rows")
    ok(all(row["is_compared"] == row["is_best"] == "" for row in rows[len(asked):]), f"odds {stores} --csv: measures are compared")
ok(n_compared >= 4 and 0 < n_best, f"{n_compared} rows compared, {n_best} best")

# Sizes as CSV: the JSON's figures, one row for each number of failures. 59 and 93 flights for 0.95 at 0.95 with 0 and 1 failures are the usual
# table of success runs (from memory).
SIZE = ("confidence", "failures", "odds", "flights_needed", "flights", "odds_shown", "failures_allowed")
for words, n_rows in ((("--odds", "0.95"), 5), (("--odds", "0.95", "--failures", "3", "--confidence", "0.9"), 5), (("--odds", "0.9", "--flights", "10"), 1),
                      (("--flights", "100", "--failures", "2"), 1), (("--odds", "0.9", "--flights", "50", "--failures", "1"), 1),
                      (("--odds", "0.99999999999999"), 5)):
    code, text, said = run("size", *words, "--csv")
    rows = [{key: None if cell == "" else float(cell) for key, cell in row.items()} for row in csv.DictReader(io.StringIO(text))]
    ok(code == 0 and not said and len(rows) == n_rows and tuple(rows[0]) == SIZE, f"size {words} --csv: {code} {said} {text}")
    for row in rows:
        given = words if "--failures" not in words else [
            *words[:words.index("--failures")], *words[words.index("--failures") + 2:]]
        answer = json.loads(run("size", *given, "--failures", str(int(row["failures"])), "--json")[1])
        ok(row == {key: answer.get(key) for key in SIZE}, f"size {words} --csv: {row} is not {answer}")
    if words == ("--odds", "0.95"):
        ok([row["flights_needed"] for row in rows][:2] == [59, 93], f"size {words} --csv: {text}")

# Quantiles and trades as CSV: the JSON's figures.
rows = list(csv.DictReader(io.StringIO(run("odds", "one.h5", "--measure", "usable_s", "--csv")[1])))
answer = json.loads(run("odds", "one.h5", "--measure", "usable_s", "--json")[1])
cells = [[row["row"], *(None if cell == "" else float(cell) for cell in list(row.values())[1:])] for row in rows]
wanted = [["mean", None, answer["mean"], *answer["mean_interval"]]]
wanted += [["quantile", q["share"], q["value"], *q["interval"]] for q in answer["quantiles"]]
for limit in answer["tolerance_limits"]:
    wanted += [["above", limit["share"], limit["above"], None, None], ["below", limit["share"], limit["below"], None, None],
               ["between", limit["share"], None, *limit["between"]]]
ok(cells == wanted and len(cells) == 17, f"odds --measure --csv: {cells}")
TRADE = ("one.json", "--vary", "drive.floor_dps.mean=30:50:3", "--flights", "60", "-o", "folder", "-q")
answer = json.loads(run("trade", *TRADE, "--json")[1])
rows = list(csv.DictReader(io.StringIO(run("trade", *TRADE, "--resume", "--csv")[1])))
ok([[float(cell) for cell in list(row.values())[1:]] for row in rows] ==
   [[*s["values"], 60, s["passed"], s["odds"], *s["band"], float(s["may_be_best"]), s["against_best"]["best_less_this"], *s["against_best"]["interval"],
     s["against_best"]["exact_p"]] for s in answer["settings"]] and "drive.floor_dps.mean" in rows[0] and len(rows) == 3, f"trade --csv: {rows}")
for words in ((*TRADE, "--csv", "--json"), ("one.json", "--need", "0.5", "--relax", "drive.floor_dps.mean=30:50", "-o", "folder", "--csv")):
    code, text, said = run("trade", *words)
    ok(code == 2 and not text and "--csv goes without" in said, f"trade {words}: {code} {said}")

# The text names what never happened in one line: nothing is lost of what the JSON has, and nothing else is folded.
code, text, _ = run("odds", "one.h5")
folded = re.search(r"^0 in every flight: (.*?)\.$", text, re.M | re.S).group(1).split()
folded = {name.rstrip(",") for name in folded}
nothing = {row["name"] for row in measures.values() if row["flights"] and row["least"] == 0 and row["greatest"] == 0}
in_rows = set(re.findall(r"^([a-z_]+[A-Za-z0-9_]*) +[-0-9]", text, re.M))
ok(folded == nothing and "lost_steps" in folded and "usable_s" in in_rows and not folded & in_rows, f"0 in every flight: {folded ^ nothing}")
ok(nothing | in_rows >= {row["name"] for row in told}, "a measure of the CSV is missing in the text")

# check speaks of the drive there is, and calls cameras by their names.
_, text, _ = run("check", root + "/campaigns/stepper.json")
ok("  drive       stepper\n" in text and "  camera      side: 60 frames/s" in text, "check: the stepper's drive or camera")
_, text, _ = run("check", root + "/campaigns/first.json")
ok("a command below its floor rate makes it stand\n" in text, "check: the geared drive's floor")

# UTF-8, or ASCII where the locale says so. The first variable that is set counts.
for words in (("check", "one.json"), ("odds", "one.h5"), ("odds", "one.h5", "two.h5"), ("rank", "one.h5")):
    for variables, is_utf8 in (({}, True), ({"LC_ALL": "C.UTF-8"}, True), ({"LANG": "de_DE.utf8"}, True), ({"LC_ALL": "C"}, False),
                               ({"LANG": "en_US.ISO-8859-1"}, False), ({"LC_ALL": "C", "LANG": "C.UTF-8"}, False),
                               ({"LC_ALL": "", "LC_CTYPE": "POSIX"}, False)):
        code, text, _ = run(*words, **variables)
        ok(code == 0, f"{words} {variables}: {code}")
        ok(text.isascii() != is_utf8, f"{words} {variables}: {'no UTF-8' if is_utf8 else 'not ASCII'}")
        ok(max(map(len, text.splitlines())) <= 80, f"{words} {variables}: {max(text.splitlines(), key=len)}")
    code, text, _ = run(*words, LC_ALL="C")
    ok("M?we ? 7" in text if words[0] != "rank" else "(+/-" in text, f"{words}: letters are not replaced")
ok("M\u00f6we" in run("odds", "one.h5", "--json", LC_ALL="C")[1], "JSON depends on the locale")

shutil.rmtree(scratch)
finish()
