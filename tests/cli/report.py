"""`rollcast report`: the page against `odds --json`, its figures against their data, names with markup in them, bad input.

The HTML is parsed by Python's html.parser and checked by HTML Tidy (Debian's tidy).

usage: report.py PROGRAM ROOT"""
import csv
import html.parser
import io
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import urllib.parse

from asking import PROGRAM, finish, ok

root = sys.argv[2]
scratch = tempfile.mkdtemp()
os.chdir(scratch)


def run(*words, **options):
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, stdin=subprocess.DEVNULL, **options)


VOID = {"meta", "br", "img", "input", "link", "hr"}


class Page(html.parser.HTMLParser):
    """Elements of a page, its tables as text, and what is not balanced or not unique."""

    def __init__(self, text):
        super().__init__()
        self.open, self.ids, self.wrong, self.elements = [], set(), [], []
        self.tables, self.links, self.headings, self.values, self.anchors = [], [], [], [], []
        self.refs = []
        self.feed(text)
        self.close()
        self.wrong += self.open

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_starttag(self, tag, attrs):
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.wrong.append(f"{tag} has an attribute twice: {names}")
        attrs = dict(attrs)
        self.elements.append((tag, attrs))
        if "id" in attrs:
            if attrs["id"] in self.ids:
                self.wrong.append(f"id {attrs['id']} stands twice")
            self.ids.add(attrs["id"])
        for name in ("href", "src"):
            if attrs.get(name, "").startswith("#"):
                self.refs.append(attrs[name][1:])
            elif name in attrs:
                self.links.append(attrs[name])
        if "data-value" in attrs:
            self.values.append(float(attrs["data-value"]))
        if tag not in VOID:
            self.open.append(tag)
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("th", "td") and self.tables:
            self.tables[-1][-1].append("")
        elif tag in ("h2", "title"):
            self.headings.append("")

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(f"</{tag}> closes something else")

    def handle_data(self, data):
        if {"th", "td"} & set(self.open):
            self.tables[-1][-1][-1] += data
        if self.open and self.open[-1] in ("h2", "title"):
            self.headings[-1] += data


def figures(text):
    return re.findall(r"<figure>.*?</figure>", text, re.S)


def check_figure(figure, name):
    page = Page(figure)
    drawings = [attrs for tag, attrs in page.elements if tag == "svg"]
    ok(len(drawings) == 1 and drawings[0].get("aria-label") and drawings[0].get("role") == "img", f"{name}: no named drawing")
    ok(sum(tag == "text" for tag, _ in page.elements) >= 6, f"{name}: a drawing without text")
    ok(any(tag in ("path", "use", "polygon") and "class" in attrs for tag, attrs in page.elements), f"{name}: nothing of our colours is drawn")
    ok(not re.search(r'(stroke|fill|color)="(black|gray|rgb|#0)', figure), f"{name}: a colour that is no class")
    saved = [link for link in page.links if link.startswith("data:text/csv")]
    ok(len(saved) == 1 and len(page.tables) == 1, f"{name}: no table, or no CSV")
    rows = list(csv.reader(io.StringIO(urllib.parse.unquote(saved[0].split(",", 1)[1]))))
    table = page.tables[0]
    ok(rows[0] == table[0], f"{name}: heads differ: {rows[0]} {table[0]}")
    every = -(-(len(rows) - 1) // 400)
    kept = rows[1:][::every]
    ok(len(kept) == len(table) - 1 and len(kept) > (0 if "matters" in name else 5), f"{name}: {len(kept)} rows of CSV, {len(table) - 1} of the table")
    same = all((a == "" and b == "") or (a and b and abs(float(a) - float(b)) <= 1e-5 * abs(float(a)))
               for left, right in zip(kept, table[1:]) for a, b in zip(left, right))
    ok(same, f"{name}: table and CSV differ")
    return rows


def check_page(path, n_figures):
    text = open(path, encoding="utf-8").read()
    page = Page(text)
    ok(not page.wrong, f"{path}: {page.wrong[:3]}")
    ok(set(page.refs) <= page.ids, f"{path}: links to nothing: {set(page.refs) - page.ids}")
    ok(all(link.startswith("data:text/csv") for link in page.links), f"{path}: loads something from elsewhere")
    ok(not re.search(r"<script|@import|url\(", text), f"{path}: script or foreign style")
    ok("Caution: these figures estimate" in text and "Model error" in text, f"{path}: no caution")
    found = figures(text)
    n_figures += text.count('download="matters-') # there where the flights tell enough
    ok(len(found) == n_figures, f"{path}: {len(found)} figures, wanted {n_figures}")
    data = {}
    for number, figure in enumerate(found):
        name = re.search(r'download="([^"]+)"', figure).group(1)
        data[name] = check_figure(figure, f"{path} {name}")
    ok(len(data) == n_figures, f"{path}: two figures save under one name")
    tidied = subprocess.run(["tidy", "-q", "-e", path], capture_output=True, text=True)
    ok(tidied.returncode == 0 and not tidied.stderr, f"{path}: tidy: {tidied.stderr[:300]}")
    return text, page, data


def number(text):
    return float(text) if text else None


def check_answer(name, text, page, data, store=""):
    """Every number of the criteria and measures, and the last point of the settling odds, are those of odds --json."""
    odds = json.loads(run("odds", name, "--json").stdout)
    wanted = [value for row in [*odds["criteria"], odds["all_together"]] for value in (row["odds"], *row["interval"])]
    wanted += [row["median"] for row in odds["measures"] if row["flights"]]
    ok(page.values == wanted, f"{name}: numbers are not those of odds --json")
    ok(f'<p class="word">{odds["verdict"]}</p>' in text, f"{name}: another verdict")
    last = data["settling.csv"][-1]
    settled = [int(last[0])] + [float(x) / 100 for x in last[1:4]]
    exact = [odds["all_together"]["flights"], odds["all_together"]["odds"], *odds["all_together"]["interval"]]
    ok(all(abs(a - b) <= 1e-9 * abs(b) for a, b in zip(settled, exact)), f"{name}: the odds settle at {settled}, not {exact}")
    return odds


shutil.copytree(root + "/campaigns", "c")
campaign = json.load(open("c/first.json"))
evil = "<img src=x onerror=alert(1)> & \"it's\" `touch evil`"
campaign["name"] = evil
campaign["purpose"] = "</style><script>alert(2)</script>"
campaign["criteria"][0]["name"] = "a<b>&'`$x"
campaign["criteria"][1]["name"] = "zwei\u00b2 \u2264"
json.dump(campaign, open("c/evil.json", "w"))
for name, flights in (("first", 300), ("evil", 64), ("stepper", 64), ("readiness", 150)):
    ok(run("fly", f"c/{name}.json", "-o", f"{name}.h5", "--flights", str(flights), "-q").returncode == 0, f"{name} does not fly")

# One store: every figure, every number. A second run gives the same page.
ended = run("report", "first.h5", "-o", "first.html")
ok(ended.returncode == 0 and not ended.stdout and not ended.stderr, f"first: {ended.returncode} {ended.stderr}")
text, page, data = check_page("first.html", 8)
odds = check_answer("first.h5", text, page, data)
ok(run("report", "first.h5", "-o", "-").stdout == text, "a second page of one store differs")
ok("floor of the drive \u00b140 deg/s" in text and "target \u00b110 deg/s" in text, "floor and target are not marked")
shares = {row[0]: float(row[1]) for row in data["usable-share.csv"][1:]}
ok(shares["0"] == 100 and all(a >= b for a, b in zip(list(shares.values()), list(shares.values())[1:])), "usable shares do not fall")

# What matters most is what `rank` says, in its order.
ranked = [row for row in json.loads(run("rank", "first.h5", "--json").stdout)["quantities"] if not row["is_noise"]]
rows = data["matters-a.csv"][1:]
ok(0 < len(rows) <= 12 and all(abs(float(row[1]) - 100 * max(want["share"]["value"], 0)) < 1e-7 for row, want in zip(rows, ranked)),
   "shares are not those of rank")
ok(all(row[1].startswith(want["path"]) for row, want in zip(next(t for t in page.tables if t[0][0] == "row")[1:], ranked)),
   "what matters is not named as rank does")

# The bands are those of the store, the single flights those of replay, typical, best and worst those of the column.
h5py = __import__("h5py")
numpy = __import__("numpy")
with h5py.File("first.h5") as store:
    curves = store["bands/residual_rate/percentiles"][()]
    rows = numpy.array([[float(x or "nan") for x in row] for row in data["residual_rate-a.csv"][1:]])
    ok(numpy.allclose(rows[:, 1:].T, curves[:, :len(rows)], rtol=1e-9, atol=1e-12, equal_nan=True), "the band is not the store's")
    held = store["measures/held_fraction"][()]
    ok(shares["50"] == 100.0 * numpy.mean(store["measures/usable_fraction"][()] >= 0.5), "the usable share is not the store's")
chosen = [int(n) for n in re.findall(r"rollcast replay first\.h5 --flight (\d+)", text)]
ok(held[chosen[0]] == held[numpy.argmin(abs(held - numpy.median(held)))] and held[chosen[1]] == held.max() and
   held[chosen[2]] == held.min(), f"typical, best and worst are not {chosen}")
again = list(csv.DictReader(io.StringIO(run("replay", "first.h5", "--flight", str(chosen[2])).stdout)))
by_time = {row["time_s"]: row for row in again}
worst = data["flight-worst-a.csv"][1:]
ok(len(worst) > 100 and all(row[1] == by_time[row[0]]["roll_rate_dps"] and row[2] == by_time[row[0]]["residual_dps"] for row in worst),
   "the worst flight is not its replay")

# Names with markup: shown as text, run by nobody. Several stores: a column each.
ok(run("report", "evil.h5", "-o", "evil.html").returncode == 0, "evil: no page")
text, page, data = check_page("evil.html", 8)
check_answer("evil.h5", text, page, data)
ok(page.headings[0] == evil and "alert(2)" in text and "<script" not in text and "<img" not in text, "a name became markup")
ok(any("a<b>&'`$x" in cell for row in page.tables[0] for cell in row), "the criterion's name is not on the page")
ok(not os.path.exists("evil"), "a name was run")
ok(run("report", "first.h5", "stepper.h5", "readiness.h5", "-o", "three.html").returncode == 0, "three: no page")
text, page, data = check_page("three.html", 3 * 6 + 1 + 1 + 1)
ok("would be flown" in text or "none would be flown" in text.lower(), "which of three would be flown is not told")
ok(text.count('class="word"') == 3 and [len(row) for row in page.tables[0]][0] == 5, "three stores are not three columns")
ok(any("C: Lapwing, flight readiness" in heading for heading in page.headings), "the third store has no name")
ok(run("report", "readiness.h5", "-o", "readiness.html").returncode == 0, "readiness: no page")
text, page, data = check_page("readiness.html", 9)
check_answer("readiness.h5", text, page, data)
ok(len(data["landing-a.csv"]) == 151 and text.count("<ellipse") == 0, "not every landing is there")

# A formula in place of a vehicle: no bands, no flights, no rocket in the words. A run with a stop rule says so.
json.dump({"name": "Area of a plate", "run": {"flights": 512, "plan": "sobol"}, "formula": "width * height",
           "inputs": [{"name": "width", "value": {"distribution": "normal", "mean": 20, "sd": 0.1}},
                      {"name": "height", "value": {"distribution": "uniform", "low": 9.9, "high": 10.1}}],
           "criteria": [{"name": "big enough", "measure": "result", "at_least": 198, "odds": 0.5, "confidence": 0.9}],
           "all_together": {"odds": 0.5, "confidence": 0.9}}, open("plate.json", "w"))
ok(run("fly", "plate.json", "-o", "plate.h5", "-q").returncode == 0 and run("report", "plate.h5", "-o", "plate.html").returncode == 0, "plate: no page")
text, page, data = check_page("plate.html", 1)
check_answer("plate.h5", text, page, data)
ok("<code>width * height</code>" in text and not re.search("rail|fins|exact 90", text), "a formula's page speaks of a vehicle")
plate = json.load(open("plate.json"))
plate["run"]["plan"] = "paired" # two of four flights count
json.dump(plate, open("paired.json", "w"))
run("fly", "paired.json", "-o", "paired.h5", "-q")
ok(run("report", "paired.h5", "-o", "paired.html").returncode == 0, "paired: no page")
text, page, data = check_page("paired.html", 1)
ok(check_answer("paired.h5", text, page, data)["all_together"]["flights"] == 256, "paired: not half of the flights count")
run("fly", "c/stepper.json", "-o", "stop.h5", "--flights", "400", "--stop-verdict", "-q")
ok(run("report", "stop.h5", "-o", "stop.html").returncode == 0, "stop: no page")
text, page, data = check_page("stop.html", 8)
odds = check_answer("stop.h5", text, page, data)
ok("stop rule: " + odds["stop_rule"] in text and "confidence sequences" in text, "the stop rule is not told")

# Flights that another version flew cannot be flown again: said, and the rest of the page stands.
shutil.copy("first.h5", "old.h5")
with h5py.File("old.h5", "r+") as store:
    store.attrs["version"] = "0.0.9+abc1234"
    del store["measures/resonance_crossings"]
    kept = [c for c in store["columns"][:] if c != b"measures/resonance_crossings"]
    kind = store["columns"].dtype
    del store["columns"]
    store.create_dataset("columns", data=kept, dtype=kind)
subprocess.run([sys.executable, root + "/tests/cli/reseal.py", "old.h5"], check=True)
ok(run("report", "old.h5", "-o", "old.html").returncode == 0, "old: no page")
text, _, _ = check_page("old.html", 4)
ok("No single flights: was filled by 0.0.9+abc1234" in text, "an old store's missing flights are not told")

# No flight reaches apogee; a store without flights; what is no store; an output that exists; no gnuplot.
campaign = json.load(open("c/first.json"))
campaign["run"]["time_limit_s"] = 5
json.dump(campaign, open("c/cut.json", "w"))
run("fly", "c/cut.json", "-o", "cut.h5", "--flights", "32", "-q")
ok(run("report", "cut.h5", "-o", "cut.html").returncode == 0, "cut: no page")
text, _, _ = check_page("cut.html", 3)
ok("32 of 32 flights did not reach apogee" in text and "No single flights: no flight reached apogee" in text, "cut: not told")


def refused(ended, code, pattern, what):
    ok(ended.returncode == code and not ended.stdout and len(ended.stderr.splitlines()) == 1 and re.search(pattern, ended.stderr),
       f"{what}: {ended.returncode} {ended.stderr!r}")


shutil.copy("first.h5", "empty.h5")
subprocess.run([sys.executable, "-B", root + "/tests/cli/emptied.py", "empty.h5"], check=True)
refused(run("report", "empty.h5", "-o", "x.html"), 4, r"empty\.h5: the store holds no flight yet", "a store without flights")
refused(run("report", "first.h5", "empty.h5", "-o", "x.html"), 4, r"empty\.h5: the store holds no flight yet", "one of two without flights")
refused(run("report", "c/first.json", "-o", "x.html"), 4, r"c/first\.json", "no store")
refused(run("report", "first.h5"), 2, "wants a page", "no output")
refused(run("report", "first.h5", "-o", "first.html"), 4, r"first\.html: the output exists", "an output that exists")
ok(run("report", "first.h5", "-o", "first.html", "--overwrite").returncode == 0, "--overwrite is refused")
os.mkdir("nothing")
refused(run("report", "first.h5", "-o", "x.html", env={**os.environ, "PATH": scratch + "/nothing"}), 4, "gnuplot is not there.*gnuplot-nox",
        "no gnuplot")
ok(run("odds", "first.h5", env={**os.environ, "PATH": scratch + "/nothing"}).returncode == 0, "odds needs gnuplot")
with open("nothing/gnuplot", "w") as fake:
    fake.write("#!/bin/sh\necho 'line 0: no such terminal' >&2\nexit 1\n")
os.chmod("nothing/gnuplot", 0o755)
refused(run("report", "first.h5", "-o", "x.html", env={**os.environ, "PATH": scratch + "/nothing:/usr/bin:/bin"}), 4,
        "gnuplot could not draw a figure: line 0: no such terminal", "a gnuplot without svg")
ok(not os.path.exists("x.html") and not [name for name in os.listdir(".") if name.endswith(".part")], "something is left of a refused page")

shutil.rmtree(scratch)
finish()
