"""The page of `report` in headless Chromium: no console error, every figure drawn and wide enough, nothing wider than a narrow screen,
dark and light, and on paper. Chromium must be there: without it this fails.

usage: browser.py PROGRAM ROOT"""
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
browser = shutil.which("chromium") or shutil.which("chromium-browser")
if browser is None:
    sys.exit("chromium is not there (Debian: apt-get install chromium)")


def chromium(*words):
    return subprocess.run([browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--user-data-dir=" + scratch + "/user",
                           "--enable-logging=stderr", "--allow-file-access-from-files", *words], capture_output=True, text=True, timeout=300)


# The page itself has no script and forbids any. A copy with one that measures stands in for it, in a frame of the width in question.
MEASURE = """<script>addEventListener("load", () => {
  const box = e => { const r = e.getBoundingClientRect(); return [r.width, r.height] };
  const colour = (e, p) => getComputedStyle(e)[p];
  const svgs = [...document.querySelectorAll("figure svg")];
  parent.postMessage(JSON.stringify({
    figures: svgs.map(s => ({name: s.getAttribute("aria-label"), box: box(s), text: s.querySelectorAll("text").length,
      drawn: [...s.querySelectorAll("path, polygon, use, circle, ellipse, rect")].filter(e => e.getBoundingClientRect().height > 40 ||
             e.getBoundingClientRect().width > 200).length,
      words: [...s.querySelectorAll("text")].filter(e => e.getBoundingClientRect().width > 2).length,
      ink: colour(s.querySelector("text").parentElement, "fill"),
      beyond: [...s.querySelectorAll("text")].filter(e => { const t = e.getBoundingClientRect(), r = s.getBoundingClientRect();
              return t.left < r.left - 1 || t.right > r.right + 1 || t.top < r.top - 1 || t.bottom > r.bottom + 1 }).map(e => e.textContent)})),
    page: [document.documentElement.scrollWidth, innerWidth], paper: colour(document.body, "backgroundColor"), ink: colour(document.body, "color"),
    word: colour(document.querySelector(".word"), "color"), details: document.querySelectorAll("details").length}), "*") })</script>"""


def measure(page, width, *words):
    text = open(page, encoding="utf-8").read()
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text).replace("</head>", MEASURE + "</head>")
    open("copy.html", "w", encoding="utf-8").write(text)
    open("frame.html", "w", encoding="utf-8").write(
        f'<!DOCTYPE html><meta charset="utf-8"><title>x</title><script>addEventListener("message", e => '
        f'document.getElementById("out").textContent = e.data)</script><pre id="out"></pre>'
        f'<iframe src="copy.html" style="width:{width}px;height:900px;border:0"></iframe>')
    ended = chromium("--window-size=1600,1000", "--virtual-time-budget=8000", "--dump-dom", *words, f"file://{scratch}/frame.html")
    found = re.search(r'<pre id="out">(.*?)</pre>', ended.stdout, re.S)
    import html
    return json.loads(html.unescape(found.group(1))) if found and found.group(1) else None


def brightness(colour):
    return sum(int(x) for x in re.findall(r"\d+", colour)[:3])


shutil.copytree(root + "/campaigns", "c")
for name, flights in (("first", 600), ("readiness", 400), ("stepper", 200)):
    subprocess.run([PROGRAM, "fly", f"c/{name}.json", "-o", f"{name}.h5", "--flights", str(flights), "-q"], check=True)
FLOOR = ["--vary", "drive.floor_dps.mean=20:60:5", "--flights", "100", "-q"]
for folder, words in (("curve", FLOOR), ("map", [*FLOOR, "--vary", "cameras[0].shutter_s=0.001:0.004:3"])):
    subprocess.run([PROGRAM, "trade", "c/first.json", *words, "-o", folder], check=True, stdout=subprocess.DEVNULL)
subprocess.run([PROGRAM, "report", "readiness.h5", "-o", "readiness.html"], check=True)
subprocess.run([PROGRAM, "report", "first.h5", "stepper.h5", "--trade", "curve", "-o", "both.html"], check=True)
subprocess.run([PROGRAM, "report", "first.h5", "--trade", "map", "-o", "map.html"], check=True)

for page in ("readiness.html", "both.html", "map.html"):
    titles = re.findall(r"<figcaption><b>(.*?)</b>", open(page, encoding="utf-8").read())
    opened = chromium("--dump-dom", f"file://{scratch}/{page}")
    ok(opened.returncode == 0 and "</html>" in opened.stdout, f"{page}: chromium ended with {opened.returncode}")
    ok("CONSOLE" not in opened.stderr, f"{page}: {re.findall('.*CONSOLE.*', opened.stderr)[:3]}")
    for width, dark in ((1100, False), (1100, True), (360, False)):
        where = f"{page} at {width} px{', dark' if dark else ''}"
        seen = measure(page, width, f"--blink-settings=preferredColorScheme={0 if dark else 1}")
        ok(seen is not None, f"{where}: nothing could be measured")
        if seen is None:
            continue
        ok([f["name"] for f in seen["figures"]] == titles and len(titles) >= 9, f"{where}: figures {[f['name'] for f in seen['figures']]}")
        for figure in seen["figures"]:
            ok(figure["box"][0] > (700 if width > 1000 else 300) and figure["box"][1] > figure["box"][0] / 4, f"{where}: {figure['name']} is {figure['box']}")
            ok(figure["box"][0] < width, f"{where}: {figure['name']} is cut off: {figure['box']}")
            ok(figure["drawn"] >= 3 and figure["words"] >= 6, f"{where}: {figure['name']}: {figure['drawn']} shapes, {figure['words']} texts")
            ok(not figure["beyond"], f"{where}: {figure['name']}: text beyond the drawing: {figure['beyond']}")
            ok(figure["ink"] == seen["ink"], f"{where}: {figure['name']}: text is {figure['ink']}, the page's {seen['ink']}")
        ok(seen["page"][0] <= seen["page"][1], f"{where}: wider than the screen: {seen['page']}")
        ok((brightness(seen["paper"]) < 150) == dark and abs(brightness(seen["paper"]) - brightness(seen["ink"])) > 450,
           f"{where}: paper {seen['paper']}, ink {seen['ink']}")
    for size, points in (("A4", (595, 842)), ("Letter", (612, 792))):
        text = open(page, encoding="utf-8").read().replace("@page{margin:15mm}", f"@page{{margin:15mm;size:{size}}}")
        open("paper.html", "w", encoding="utf-8").write(text)
        chromium("--no-pdf-header-footer", f"--print-to-pdf={scratch}/paper.pdf", f"file://{scratch}/paper.html")
        facts = subprocess.run(["pdfinfo", "paper.pdf"], capture_output=True, text=True).stdout
        found = re.search(r"Page size: +([0-9.]+) x ([0-9.]+)", facts)
        ok(found and all(abs(float(a) - b) < 1.5 for a, b in zip(found.groups(), points)), f"{page} on {size}: {facts[-300:]}")
        printed = " ".join(subprocess.run(["pdftotext", "paper.pdf", "-"], capture_output=True, text=True).stdout.split())
        ok(all(title.replace("&#39;", "'") in printed for title in titles), f"{page} on {size}: a figure is not printed")
        ok("Caution: these figures estimate" in printed and "Save the numbers" not in printed, f"{page} on {size}: caution or links")

shutil.rmtree(scratch, ignore_errors=True)
finish()
