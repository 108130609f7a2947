"""Every JSON answer of every command under its JSON Schema in docs/schemas, with python3-jsonschema: the schemas are sound, real answers
are valid, answers with one thing wrong are not, and each command that has --json has a schema.

usage: answer_schemas.py PROGRAM ROOT"""
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time

import jsonschema

from altered import altered
from asking import PROGRAM, finish, ok

root = sys.argv[2]
scratch = tempfile.mkdtemp()
os.chdir(scratch)
schemas = {os.path.basename(path): json.load(open(path, encoding="utf-8")) for path in glob.glob(root + "/docs/schemas/*.schema.json")}
for name, schema in schemas.items():
    jsonschema.Draft202012Validator.check_schema(schema)
    kind, version = re.fullmatch(r"([a-z]+)-(\d+)\.schema\.json", name).groups()
    ok(schema["$id"] == name and schema["title"] == f"rollcast-{kind}/{version}", f"{name}: named otherwise inside")


def validator(answer):
    """Of the schema that an answer names."""
    name = answer["schema"].removeprefix("rollcast-").replace("/", "-") + ".schema.json"
    resolver = jsonschema.RefResolver(base_uri=name, referrer=schemas[name], store=schemas)
    return jsonschema.Draft202012Validator(schemas[name], resolver=resolver)


def ask(*words, code=0):
    ended = subprocess.run([PROGRAM, *words, "--json"], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    ok(ended.returncode == code, f"{words}: {ended.returncode} {ended.stderr}")
    return json.loads(ended.stdout)


def plate(name, plan, **run):
    json.dump({"name": "Area of a plate", "run": {"flights": 512, "plan": plan, **run}, "formula": "width * height",
               "inputs": [{"name": "width", "value": {"distribution": "normal", "mean": 20, "sd": 0.1}},
                          {"name": "height", "value": {"distribution": "uniform", "low": 9.9, "high": 10.1}}],
               "criteria": [{"name": "big enough", "measure": "result", "at_least": 198, "odds": 0.9, "confidence": 0.95}],
               "all_together": {"odds": 0.9, "confidence": 0.95}}, open(name, "w"))


shutil.copytree(root + "/campaigns", "c")
plate("plain.json", "plain")
plate("sobol.json", "sobol")
plate("paired.json", "paired")
plate("board.json", "plain", stop={"on_verdict": True})
costly = json.load(open("plain.json"))
for entry in costly["inputs"]:
    entry["value"].update(cost_to_halve=3, cost_to_remove=7)
costly["criteria"][0]["odds"] = costly["all_together"]["odds"] = 0.97
json.dump(costly, open("costly.json", "w"))
WIDTH = "inputs[0].value.mean="
answers = [
    ("check", "c/readiness.json"), ("check", "plain.json"), ("check", "c/first.json", "--aero"), ("check", "c/spun.json", "--aero"),
    *(("fly", f"{name}.json", "-o", f"{name}.h5", "-q") for name in ("plain", "sobol", "paired", "costly")),
    ("fly", "plain.json", "-o", "plain.h5", "-q", "--flights", "600", "--resume"),
    ("fly", "c/readiness.json", "-o", "readiness.h5", "-q", "--flights", "150"),
    ("fly", "c/stepper.json", "-o", "stepper.h5", "-q", "--flights", "300", "--stop-verdict"),
    ("fly", "c/first.json", "-o", "first.h5", "-q", "--flights", "300"), ("fly", "c/asleep.json", "-o", "asleep.h5", "-q", "--flights", "60"),
    ("fly", "plain.json", "-o", "half.h5", "-q", "--shard", "1/2"), ("fly", "plain.json", "-o", "rest.h5", "-q", "--shard", "2/2"),
    ("merge", "half.h5", "rest.h5", "-o", "merged.h5"),
    ("fly", "plain.json", "-o", "subset.h5", "-q", "--rare", "subset"), ("fly", "plain.json", "-o", "importance.h5", "-q", "--rare", "importance"),
    *(("odds", f"{name}.h5") for name in ("plain", "sobol", "paired", "readiness", "stepper", "asleep", "subset", "importance")),
    ("odds", "plain.h5", "--measure", "result"), ("odds", "sobol.h5", "--measure", "result"), ("odds", "readiness.h5", "--measure", "apogee_m"),
    ("odds", "readiness.h5", "stepper.h5", "first.h5"), ("odds", "plain.h5", "sobol.h5"),
    ("rank", "first.h5"), ("rank", "plain.h5"), ("rank", "plain.h5", "--of", "result"), ("rank", "paired.h5"),
    ("rank", "costly.h5"), ("rank", "costly.h5", "--fly", "400", "-o", "new", "-q"),
    ("size", "--odds", "0.9"), ("size", "--odds", "0.9", "--flights", "10"), ("size", "--flights", "100", "--failures", "2"),
    ("size", "--odds", "0.99999999999999"),
    ("trade", "plain.json", "--vary", WIDTH + "19:21:4", "-o", "curve", "-q", "--flights", "200"),
    ("trade", "plain.json", "--vary", WIDTH + "19:21:2", "--vary", "inputs[0].value.sd=0.1:0.2:2", "-o", "map", "-q", "--flights", "200"),
    ("trade", "c/first.json", "c/stepper.json", "-o", "two", "-q", "--flights", "60"),
    ("trade", "plain.json", "--need", "0.9", "--relax", WIDTH + "21:19", "-o", "found", "-q", "--flights", "2000"),
    ("trade", "plain.json", "--need", "0.9", "--relax", WIDTH + "19:21", "-o", "none", "-q", "--flights", "2000"),
    ("report", "plain.h5", "-o", "plain.html"), ("report", "plain.h5", "sobol.h5", "--trade", "curve", "--of", "big enough", "-o", "both.html"),
    ("replay", "readiness.h5", "--flight", "3", "--every", "5"), ("replay", "plain.h5", "--flight", "3")]
answers = [(" ".join(words), ask(*words)) for words in answers]

# What fly and replay say is what is there.
run = {text: answer for text, answer in answers if text.startswith("fly")}
more = run["fly plain.json -o plain.h5 -q --flights 600 --resume"]
ok((more["flights"], more["flights_before"], more["flights_asked"], more["ended_by"], more["is_finished"]) == (600, 512, 600, "flights", True),
   f"fly --resume: {more}")
early = run["fly c/stepper.json -o stepper.h5 -q --flights 300 --stop-verdict"]
ok(early["ended_by"] == "verdict" and early["flights"] < 300 and early["is_finished"], f"fly --stop-verdict: {early}")
half = run["fly plain.json -o half.h5 -q --shard 1/2"]
ok(half["shard"] == "1/2" and half["flights"] == 256 and more["shard"] is None, f"fly --shard: {half}")
history = answers[-2][1]
csv = subprocess.run([PROGRAM, "replay", "readiness.h5", "--flight", "3", "--every", "5"], capture_output=True, text=True).stdout.splitlines()
ok(history["columns"] == csv[0].split(",") and history["rows"] == [[float(cell) for cell in row.split(",")] for row in csv[1:]],
   "replay --json is not its CSV")
ok(history["flight"] == 3 and history["numbers_differing"] == 0 and len(history["rows"]) > 5, f"replay: {history['flight']}")
ok(subprocess.run([PROGRAM, "replay", "readiness.h5", "--flight", "3", "--every", "5", "--json", "-o", "x.json"], capture_output=True).returncode == 0 and
   json.load(open("x.json")) == history, "replay --json -o writes something else")

# What report says is what the page holds and what odds says; where no page is made it says nothing.
said = {text: answer for text, answer in answers}
one, both = said["report plain.h5 -o plain.html"], said["report plain.h5 sobol.h5 --trade curve --of big enough -o both.html"]
for told in (one, both):
    n_drawn = open(told["page"], encoding="utf-8").read().count("<figure>")
    ok(told["figures"] == n_drawn > 1, f"{told['page']}: {told['figures']} figures told, {n_drawn} drawn")
ok((one["page"], one["trade"], one["of"]) == ("plain.html", None, None) and (both["trade"], both["of"]) == ("curve", "big enough"), f"report: {one} {both}")
ok([shown["store"] for shown in one["stores"] + both["stores"]] == ["plain.h5", "plain.h5", "sobol.h5"], f"report: {one} {both}")
for shown in one["stores"] + both["stores"]:
    full = said["odds " + shown["store"]]
    ok({key: shown[key] for key in ("campaign", "flights", "is_finished", "verdict")} == {key: full[key] for key in ("campaign", "flights", "is_finished", "verdict")}
       and {key: full["all_together"][key] for key in ("passed", "odds", "interval", "odds_asked", "confidence")}.items() <= shown.items(), f"report: {shown}")
for words, code, why in ((("plain.h5", "-o", "-"), 2, "--json goes with a page in a file"), (("plain.h5", "-o", "plain.html"), 4, "the output exists"),
                         (("plain.h5", "-o", "nowhere/x.html"), 4, "nowhere/x.html"), (("plain.h5", "--trade", "nowhere", "-o", "x.html"), None, "nowhere")):
    ended = subprocess.run([PROGRAM, "report", *words, "--json"], capture_output=True, text=True)
    ok(ended.returncode == code or (code is None and ended.returncode > 0), f"report {words}: {ended.returncode}")
    ok(ended.stdout == "" and why in ended.stderr and not os.path.exists("x.html"), f"report {words}: {ended.stdout} {ended.stderr}")

# A run that a signal ends says so, and that it is not finished.
going = subprocess.Popen([PROGRAM, "fly", "c/first.json", "-o", "cut.h5", "--flights", "400000", "--json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                         text=True)
while going.poll() is None and not (os.path.exists("cut.h5.journal") and os.path.getsize("cut.h5.journal") > 100000):
    time.sleep(0.05)
going.terminate()
said = going.communicate()[0]
cut = json.loads(said)
ok(going.returncode == 5 and cut["ended_by"] == "signal" and not cut["is_finished"] and 0 < cut["flights"] < 400000, f"a stopped run: {going.returncode} {said}")
answers.append(("fly, stopped", cut))

# Real answers are valid; every schema is met.
for text, answer in answers:
    for error in list(validator(answer).iter_errors(answer))[:3]:
        ok(False, f"{text}: {error.json_path}: {error.message[:200]}")
    ok(True, text)
met = {answer["schema"] for _, answer in answers}
ok(met == {schema["title"] for schema in schemas.values()}, f"schemas without an answer, or the other way: {met ^ {s['title'] for s in schemas.values()}}")
page = open(root + "/docs/commands.md", encoding="utf-8").read()
ok(all(f"`{schema['title']}`" in page for schema in schemas.values()), "docs/commands.md does not name every schema")
documented = set(re.findall(r"[A-Za-z_][A-Za-z0-9_]*", " ".join(re.findall(r"`([^`]+)`", page))))


def members(schema):
    """Names of the members that a schema knows, at any depth."""
    if isinstance(schema, dict):
        if schema.get("type") == "object":
            yield from schema["properties"]
        for node in schema.values():
            yield from members(node)
    elif isinstance(schema, list):
        for node in schema:
            yield from members(node)


for name, schema in schemas.items():
    missing = sorted(set(members(schema)) - documented)
    ok(not missing, f"{name}: members that docs/commands.md does not name: {missing}")
for verb in re.findall(r"^  ([a-z]+) +[a-z]", subprocess.run([PROGRAM, "--help"], capture_output=True, text=True).stdout, re.M):
    help_text = subprocess.run([PROGRAM, verb, "--help"], capture_output=True, text=True).stdout
    ok("--json" in help_text, f"{verb}: no --json")
    ok(any(text.split()[0] == verb for text, _ in answers), f"{verb}: none of its answers is held against a schema")

OPTIONAL = {"formula", "inputs", "odds", "interval", "gain", "gain_interval", "effective_flights", "more_flights"} # some of these depend on others


def places(node, path=()):
    yield path, node
    members = node.items() if isinstance(node, dict) else enumerate(node[:2]) if isinstance(node, list) else ()
    for key, value in members:
        yield from places(value, path + (key,))


def broken(answer):
    """The answer with one thing wrong, and what."""
    for path, value in places(answer):
        if isinstance(value, dict):
            yield f"{path} a member too many", altered(answer, path + ("colour",), 1)
        if not path:
            continue
        if isinstance(path[-1], str) and path[-1] not in OPTIONAL:
            yield f"{path} missing", altered(answer, path, None)
        yield f"{path} of another kind", altered(answer, path, {"x": 1} if not isinstance(value, dict) else "x")
        if isinstance(value, str):
            yield f"{path} a number", altered(answer, path, 7)
        elif not isinstance(value, (dict, list)):
            yield f"{path} a text", altered(answer, path, ["7"])
    for key, value in (("schema", answer["schema"] + "0"), ("verdict", "MAYBE"), ("flights", -1), ("ended_by", "rain"), ("confidence", 1.5)):
        if key in answer:
            yield f"{key} {value}", {**answer, key: value}


n_broken = 0
seen = set()
for text, answer in answers:
    shape = answer["schema"], tuple(sorted(answer))
    if shape in seen:
        continue
    seen.add(shape)
    held = validator(answer)
    small = json.loads(json.dumps(answer), object_hook=lambda node: {k: v[:3] if isinstance(v, list) and k in ("rows", "measures", "quantities") else v
                                                                    for k, v in node.items()})
    ok(held.is_valid(small), f"{text}: shortened it is not valid")
    for what, wrong in broken(small):
        n_broken += 1
        ok(not held.is_valid(wrong), f"{text}, {what}: the schema accepts it")
for wrong in ({"schema": "rollcast-size/1", "confidence": 0.9, "failures": 0}, {"schema": "rollcast-size/1", "confidence": 0.9, "failures": 0, "odds": 0.9}):
    ok(not validator(wrong).is_valid(wrong), f"{wrong}: the schema accepts it")
ok(n_broken > 1000, f"only {n_broken} broken answers")
os.chdir("/")
shutil.rmtree(scratch)
finish()
