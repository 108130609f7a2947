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

from altered import altered
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


def check_page(path, n_figures, n_ranked=0):
    """Everything that holds for a page. in n_figures without those of what matters most, n_ranked how many of these"""
    text = open(path, encoding="utf-8").read()
    page = Page(text)
    ok(not page.wrong, f"{path}: {page.wrong[:3]}")
    ok(set(page.refs) <= page.ids, f"{path}: links to nothing: {set(page.refs) - page.ids}")
    ok(all(link.startswith("data:text/csv") for link in page.links), f"{path}: loads something from elsewhere")
    ok(not re.search(r"<script|@import|url\(", text), f"{path}: script or foreign style")
    ok("Caution: these figures estimate" in text and "Model error" in text, f"{path}: no caution")
    found = figures(text)
    n_found = text.count('download="matters-')
    ok(n_found == n_ranked, f"{path}: {n_found} rankings, wanted {n_ranked}")
    n_figures += n_ranked
    ok(len(found) == n_figures, f"{path}: {len(found)} figures, wanted {n_figures}")
    data = {}
    for number, figure in enumerate(found):
        name = re.search(r'download="([^"]+)"', figure).group(1)
        data[name] = check_figure(figure, f"{path} {name}")
    ok(len(data) == n_figures, f"{path}: two figures save under one name")
    tidied = tidy(text)
    ok(tidied.returncode == 0 and not tidied.stderr, f"{path}: tidy: {tidied.stderr[:300]}")
    named = [attrs.get("aria-label") for tag, attrs in page.elements if attrs.get("role") == "group"]
    ok(all(named) and len(named) == len(set(named)), f"{path}: two tables under one name: {named}")
    return text, page, data


def refused(ended, code, pattern, what):
    ok(ended.returncode == code and not ended.stdout and len(ended.stderr.splitlines()) == 1 and re.search(pattern, ended.stderr),
       f"{what}: {ended.returncode} {ended.stderr!r}")


def tidy(text):
    return subprocess.run(["tidy", "-q", "-e"], input=text, capture_output=True, text=True)


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
text, page, data = check_page("first.html", 8, 1)
odds = check_answer("first.h5", text, page, data)
ok(run("report", "first.h5", "-o", "-").stdout == text, "a second page of one store differs")
ok("floor of the drive \u00b140 deg/s" in text and "target \u00b110 deg/s" in text, "floor and target are not marked")
shares = {row[0]: float(row[1]) for row in data["usable-share.csv"][1:]}
ok(shares["0"] == 100 and all(a >= b for a, b in zip(list(shares.values()), list(shares.values())[1:])), "usable shares do not fall")

# HTML Tidy finds what is wrong with a page.
for what, find, change in (("a heading's name twice", 'id="criteria"', 'id="roll"'), ("an element that is not closed", "</figure>", ""),
                           ("an unknown element", "<section ", "<part "), ("a wrong value", '<th scope="row">', '<th scope="line">'),
                           ("an unknown attribute", '<nav ', '<nav colour="red" '), ("no title", "<title>", "<p>")):
    ok(text.count(find) and tidy(text.replace(find, change, 1)).returncode != 0, f"tidy lets {what} pass")

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
stats = __import__("scipy.stats").stats
with h5py.File("first.h5") as store:
    curves = store["bands/residual_rate/percentiles"][()]
    rows = numpy.array([[float(x or "nan") for x in row] for row in data["residual_rate-a.csv"][1:]])
    ok(numpy.allclose(rows[:, 1:].T, curves[:, :len(rows)], rtol=1e-9, atol=1e-12, equal_nan=True), "the band is not the store's")
    held = store["measures/held_fraction"][()]
    ok(shares["50"] == 100.0 * numpy.mean(store["measures/usable_fraction"][()] >= 0.5), "the usable share is not the store's")
chosen = [int(n) for n in re.findall(r'rollcast replay first\.h5 <span class="whole">--flight (\d+)</span>', text)]
ok(held[chosen[1]] == held.max() and held[chosen[2]] == held.min(), f"best and worst are not {chosen}")


def typical_of(name):
    """By SciPy's ranks, equal ones averaged: the flight at apogee that is nearest to the middle in all measures that count."""
    with h5py.File(name + ".h5") as store:
        counted = {row["measure"] for row in json.load(open(f"c/{name}.json"))["criteria"]} | {"roll_peak_dps", "apogee_m"}
        columns = [store["measures/" + measure][()] for measure in sorted(counted)]
        flights = numpy.flatnonzero(numpy.isfinite(columns).all(axis=0))
    distances = [abs((stats.rankdata(column[flights]) - 0.5) / len(flights) - 0.5) for column in columns]
    return flights, numpy.sum(distances, axis=0), numpy.array(distances)


flights, sums, distances = typical_of("first")
at = list(flights).index(chosen[0])
ok(len(flights) > 250 and sums[at] <= sums.min() + 1e-12, f"typical is flight {chosen[0]}, not {flights[sums.argmin()]}")
ok(distances[:, at].max() < 0.25, f"the typical flight is not in the middle half of every measure: {distances[:, at]}")


def check_flight(which, flight):
    """The figure of a flight takes every tick of its replay into one of its rows: least, greatest, and smear's greatest."""
    ticks = numpy.genfromtxt(io.StringIO(run("replay", "first.h5", "--flight", str(flight)).stdout), delimiter=",", names=True)
    rows = numpy.array([[float(cell) for cell in row] for row in data[f"flight-{which}-a.csv"][1:]])
    begin = numpy.searchsorted(ticks["time_s"], rows[:, 0] - 1e-9)
    ok(len(rows) > 100 and begin[0] == 0 and (ticks["roll_rate_dps"][begin] == rows[:, 1]).all(), f"the {which} flight is not its replay")
    ok((numpy.minimum.reduceat(ticks["residual_dps"], begin) == rows[:, 2]).all() and
       (numpy.maximum.reduceat(ticks["residual_dps"], begin) == rows[:, 3]).all(), f"the {which} flight: a swing between rows is lost")
    if which == "typical":
        smear = numpy.array([[float(cell) for cell in row] for row in data["smear-a.csv"][1:]])
        ok((numpy.maximum.reduceat(ticks["smear_0_px"], begin) == smear[:, 1]).all(), "smear is not the greatest of each row")
    return (rows[:, 3] - rows[:, 2]).max()


swings = [check_flight(which, flight) for which, flight in zip(("typical", "best", "worst"), chosen)]
ok(swings[2] > 20, f"the worst flight's swings are {swings[2]} deg/s at most")
ok(data["smear-a.csv"][0][1] == "greatest smear, camera side [px]" and "Camera side takes 60 frames" in text and "camera 0" not in text.lower(),
   "the camera is not called by its name")

# What the page says of its verdict: the same rows as the text.
named = re.search(r"^NO-GO: short of the odds asked: (.*)\.$", run("odds", "first.h5").stdout, re.M).group(1)
ok(f"<p>Short of the odds asked: {named}.</p>" in text, f"the page does not say what is short: {named}")

# Names with markup: shown as text, run by nobody. Several stores: a column each.
ok(run("report", "evil.h5", "-o", "evil.html").returncode == 0, "evil: no page")
text, page, data = check_page("evil.html", 8)
check_answer("evil.h5", text, page, data)
ok(re.search(r"<p>Not told\. <code>rollcast rank</code> says: holds 64 flights, ranking takes 100", text), "whose options the reason names is not told")
ok(page.headings[0] == evil and "alert(2)" in text and "<script" not in text and "<img" not in text, "a name became markup")
ok(any("a<b>&'`$x" in cell for row in page.tables[0] for cell in row), "the criterion's name is not on the page")
ok(not os.path.exists("evil"), "a name was run")
ok(run("report", "first.h5", "stepper.h5", "readiness.h5", "-o", "three.html").returncode == 0, "three: no page")
# Where stores' lines lie on each other every one of them is still to be seen: marks of its own shape and colour, drawn after all lines, at
# places that no other store's marks have. A single store's line has none.
for name in ("usable-share.csv", "settling.csv"):
    drawn = next(figure for figure in figures(open("three.html", encoding="utf-8").read()) if f'download="{name}"' in figure)
    first = re.search(r'<use href="#f\d+-\w+" transform', drawn).start()
    key = drawn.rindex("<path", 0, drawn.index('class="l1"/>', first))  # the key, with one line and mark more of each, follows
    marks = re.findall(r'<use href="#f\d+-(\w+)" transform="translate\(([0-9.]+),([0-9.]+)\)[^"]*" class="p(\d)"', drawn[:key])
    shapes = {mark[3]: {other[0] for other in marks if other[3] == mark[3]} for mark in marks}
    ok(sorted(shapes) == ["1", "2", "3"] and len(set.union(*shapes.values())) == 3, f"{name}: shapes {shapes}")
    ok(all(sum(mark[3] == store for mark in marks) >= 6 for store in "123"), f"{name}: too few marks: {marks}")
    apart = min(abs(float(a[1]) - float(b[1])) + abs(float(a[2]) - float(b[2])) for a in marks for b in marks if a[3] != b[3])
    ok(apart > 6, f"{name}: marks of two stores are {apart} apart")
    ok(first > max(drawn.rindex(f'class="l{store}"/>', 0, key) for store in (1, 2, 3)), f"{name}: a line is drawn over marks")
    alone = next(figure for figure in figures(open("first.html", encoding="utf-8").read()) if f'download="{name}"' in figure)
    ok(not re.search(r'<use href="#f\d+-\w+" transform', alone), f"{name}: marks where there is nothing to tell apart")
text, page, data = check_page("three.html", 3 * 6 + 1 + 1 + 1, 2)
ok("<p>B would be flown: it alone is GO.</p>" in text, "which of three would be flown is not told")
ok(re.search(r"<p>Not settled: [a-z, ]+\. About [0-9,]+ more flights would settle it", text), "what is not settled is not named")
ok(text.count('class="word"') == 3 and [len(row) for row in page.tables[0]][0] == 5, "three stores are not three columns")
ok(any("C: Lapwing, flight readiness" in heading for heading in page.headings), "the third store has no name")
ok(run("report", "readiness.h5", "-o", "readiness.html").returncode == 0, "readiness: no page")
text, page, data = check_page("readiness.html", 9, 1)
check_answer("readiness.h5", text, page, data)
ok(len(data["landing-a.csv"]) == 151 and text.count("<ellipse") == 0, "not every landing is there")

# A formula in place of a vehicle: no bands, no flights, no rocket in the words. A run with a stop rule says so.
json.dump({"name": "Area of a plate", "run": {"flights": 512, "plan": "sobol"}, "formula": "width * height",
           "inputs": [{"name": "width", "value": {"distribution": "normal", "mean": 20, "sd": 0.1}},
                      {"name": "height", "value": {"distribution": "uniform", "low": 9.9, "high": 10.1}}],
           "criteria": [{"name": "big enough", "measure": "result", "at_least": 198, "odds": 0.5, "confidence": 0.9}],
           "all_together": {"odds": 0.5, "confidence": 0.9}}, open("plate.json", "w"))
ok(run("fly", "plate.json", "-o", "plate.h5", "-q").returncode == 0 and run("report", "plate.h5", "-o", "plate.html").returncode == 0, "plate: no page")
text, page, data = check_page("plate.html", 1, 1)
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

# A trade on the page: every number is that of `trade --json`, the stores' own values are marked, what is no such trade is refused.
FLOOR = "drive.floor_dps.mean"


def trade_rows(answer):
    return [[*row["values"], 100 * row["odds"], *(100 * end for end in row["band"]), float(row["may_be_best"])] for row in answer["settings"]]


def same_rows(rows, wanted):
    got = [[float(cell) for cell in row] for row in rows[1:]]
    return len(got) == len(wanted) and all(abs(a - b) <= 1e-9 * abs(b) for left, right in zip(got, wanted) for a, b in zip(left, right))


def trade(folder, *words):
    ended = run("trade", "c/first.json", *words, "-o", folder, "-q", "--json")
    ok(ended.returncode == 0, f"trade {words}: {ended.stderr}")
    return json.loads(ended.stdout)


curve = trade("curve", "--vary", FLOOR + "=60:25:7", "--flights", "120")
ok(run("report", "first.h5", "stepper.h5", "--trade", "curve", "-o", "curve.html").returncode == 0, "curve: no page")
text, page, data = check_page("curve.html", 2 * 6 + 1 + 1 + 1, 1)
ok(data["trade.csv"][0][0] == FLOOR + " [deg/s]" and same_rows(data["trade.csv"], trade_rows(curve)), "the curve is not the trade's")
ok(0 < sum(row["may_be_best"] for row in curve["settings"]) < 7, "all settings of the curve are alike")
best = curve["settings"][curve["best"]]
ok(f'data-odds="{best["odds"]:.17g}"' in text and f"Most flights meet at {best['values'][0]:g}&nbsp;deg/s" in text, "the best is not told")
drawing = next(figure for figure in figures(text) if 'download="trade.csv"' in figure)
ok("A: Lapwing, coarse drive</text>" in drawing and "B: " not in drawing, "stores of the trade are not marked, or others are")
ok("Not marked: B: Lapwing, stepper differs from the trade&#39;s settings at" in text, "a store of another design is not told")
ok("asked</text>" in drawing, "the odds asked are not drawn")
held = trade("curve", "--vary", FLOOR + "=60:25:7", "--flights", "120", "--resume", "--of", "held")
ok(run("report", "first.h5", "--trade", "curve", "--of", "held", "-o", "held.html").returncode == 0, "held: no page")
_, _, data = check_page("held.html", 9, 1)
ok(same_rows(data["trade.csv"], trade_rows(held)) and trade_rows(held) != trade_rows(curve), "--of counts something else")
plane = trade("plane", "--vary", FLOOR + "=30:50:3", "--vary", "cameras[0].shutter_s=0.001:0.004:2", "--flights", "60")
ok(run("report", "first.h5", "--trade", "plane", "-o", "plane.html").returncode == 0, "map: no page")
text, _, data = check_page("plane.html", 9, 1)
ok(same_rows(data["trade.csv"], trade_rows(plane)), "the map is not the trade's")
drawing = next(figure for figure in figures(text) if 'download="trade.csv"' in figure)
ok(all(f">{row[2]:.0f}</text>" in drawing for row in trade_rows(plane)) and drawing.count("fill-opacity") >= 6, "the map has no numbers or fields")
backwards = trade("backwards", "--vary", "cameras[0].shutter_s=0.001:0.004:2", "--vary", FLOOR + "=30:50:3", "--flights", "60")
ok(run("report", "first.h5", "--trade", "backwards", "-o", "backwards.html").returncode == 0, "map: no page")
ok(same_rows(check_page("backwards.html", 9, 1)[2]["trade.csv"], trade_rows(backwards)), "the map is not the trade's where its paths are the other way about")
run("trade", "c/first.json", "c/stepper.json", "-o", "two", "--flights", "20", "-q")
os.mkdir("bare")
for folder, words, code, said in (
        ("nowhere", (), 3, "nowhere: holds no settings 001.h5.*rollcast trade --vary"), ("two", (), 3, r"two: holds two designs.*report two/a\.h5 two/b\.h5"),
        ("curve", ("--of", "holds"), 3, "holds"), ("curve", ("--of", "held_fraction"), 3, "curve: .*wanted a criterion"), ("bare", (), 3, "bare: holds no settings"),
        ("x" * 500, (), 3, "folder is too long")):
    refused(run("report", "first.h5", "--trade", folder, *words, "-o", "x.html"), code, said, f"--trade {folder[:9]} {words}")
refused(run("report", "first.h5", "--of", "held", "-o", "x.html"), 2, "--of goes with --trade", "--of alone")
for name, change, said in (("short", lambda: run("fly", "c/first.json", "-o", "short/002.h5", "--flights", "50", "-q"), "differs in nothing|holds 50 flights"),
                           ("other", lambda: shutil.copy("stepper.h5", "other/007.h5"), "007.h5: is no setting of the same trade as 001.h5"),
                           ("middle", lambda: shutil.copy("stepper.h5", "middle/003.h5"), "003.h5: (is no setting|holds 64 flights)"),
                           ("lost", lambda: open("lost/004.h5", "w").close(), "004.h5"),
                           ("part", lambda: os.remove("part/006.h5"), "holds 5 settings, which fill no map")):
    shutil.copytree("plane" if name == "part" else "curve", name)
    if os.path.exists(name + "/002.h5") and name == "short":
        os.remove(name + "/002.h5")
    change()
    refused(run("report", "first.h5", "--trade", name, "-o", "x.html"), 3 if name != "lost" else 4, said, f"--trade {name}")

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
text, _, _ = check_page("old.html", 4, 1)
ok("No single flights: was filled by 0.0.9+abc1234" in text, "an old store's missing flights are not told")

# No flight reaches apogee; a store without flights; what is no store; an output that exists; no gnuplot.
json.dump(altered(json.load(open("c/first.json")), ("run", "time_limit_s"), 5), open("c/cut.json", "w"))
run("fly", "c/cut.json", "-o", "cut.h5", "--flights", "32", "-q")
ok(run("report", "cut.h5", "-o", "cut.html").returncode == 0, "cut: no page")
text, _, _ = check_page("cut.html", 3)
ok("32 of 32 flights did not reach apogee" in text and "No single flights: no flight reached apogee" in text, "cut: not told")


shutil.copy("first.h5", "empty.h5")
subprocess.run([sys.executable, "-B", root + "/tests/cli/emptied.py", "empty.h5"], check=True)
refused(run("report", "empty.h5", "-o", "x.html"), 4, r"empty\.h5: the store holds no flight yet", "a store without flights")
refused(run("report", "first.h5", "empty.h5", "-o", "x.html"), 4, r"empty\.h5: the store holds no flight yet", "one of two without flights")
refused(run("report", "c/first.json", "-o", "x.html"), 4, r"c/first\.json: is JSON, as a campaign is, not a store; fly the campaign first", "no store")
refused(run("report", "first.h5"), 2, "wants a page", "no output")
refused(run("report", "first.h5", "-o", "nowhere/x.html"), 4, "nowhere/x.html: the output cannot be written: .*; name a file in a folder that exists", "no folder")
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
for complaint, said in (("echo; echo boom >&2; echo again >&2; exit 1", "draw a figure: boom;"), ("exit 7", "exit code 7 and said nothing;"),
                        ("kill -9 $$", "it was stopped and said nothing;")):
    with open("nothing/gnuplot", "w") as fake:
        fake.write("#!/bin/sh\n" + complaint + "\n")
    refused(run("report", "first.h5", "-o", "x.html", env={**os.environ, "PATH": scratch + "/nothing:/usr/bin:/bin"}), 4, said, complaint)
ok(not os.path.exists("x.html") and not [name for name in os.listdir(".") if name.endswith(".part")], "something is left of a refused page")

shutil.rmtree(scratch)
finish()
