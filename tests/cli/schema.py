"""docs/campaign.schema.json under python3-jsonschema: itself sound, every campaign valid, broken ones not; and `check` agrees.

usage: schema.py PROGRAM ROOT"""
import glob
import json
import os
import shutil
import subprocess
import sys
import tempfile

import jsonschema

from altered import altered

program, root = sys.argv[1:3]
schema = json.load(open(root + "/docs/campaign.schema.json", encoding="utf-8"))
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
problems, n_valid, n_broken, n_agreed = [], 0, 0, 0
scratch = tempfile.mkdtemp()
for path in glob.glob(root + "/campaigns/*.csv"):
    shutil.copy(path, scratch)

formula = {"$schema": "campaign.schema.json", "name": "Area", "formula": "width * height",
           "inputs": [{"name": "width", "value": 2}, {"name": "height", "value": {"distribution": "uniform", "low": 1, "high": 2}}],
           "criteria": [{"name": "big", "measure": "result", "at_least": 3, "odds": 0.5, "confidence": 0.9}],
           "all_together": {"odds": 0.5, "confidence": 0.9}}
campaigns = {os.path.basename(path): json.load(open(path, encoding="utf-8")) for path in sorted(glob.glob(root + "/campaigns/*.json"))}
campaigns["formula"] = formula
campaigns["first and its schema"] = {"$schema": "../docs/campaign.schema.json", **campaigns["first.json"]}


def accepted(campaign):
    """What `rollcast check` says: is it a campaign?"""
    path = os.path.join(scratch, "one.json")
    json.dump(campaign, open(path, "w"))
    ended = subprocess.run([program, "check", path], capture_output=True, text=True)
    if ended.returncode not in (0, 3):
        problems.append(f"check ended with {ended.returncode}: {ended.stderr}")
    return ended.returncode == 0


for name, campaign in campaigns.items():
    n_valid += 1
    for error in validator.iter_errors(campaign):
        problems.append(f"{name}: {error.json_path}: {error.message}")
    if not accepted(campaign):
        problems.append(f"{name}: check refuses it")


def places(node, path=()):
    """Every value of a campaign, with where it stands."""
    yield path, node
    if isinstance(node, dict) and "distribution" not in node:
        for key in node:
            yield from places(node[key], path + (key,))
    elif isinstance(node, list):
        for index, member in enumerate(node):
            yield from places(member, path + (index,))


def broken(campaign):
    """Campaigns with one mistake each, and what it is."""
    for path, value in places(campaign):
        if path and isinstance(value, (int, float)) and not isinstance(value, bool):
            yield f"{path} a text", altered(campaign, path, "x")
            yield f"{path} too large", altered(campaign, path, 1e300)
        elif path and isinstance(value, str):
            yield f"{path} a number", altered(campaign, path, 7)
        elif path and isinstance(value, list):
            yield f"{path} an empty list", altered(campaign, path, [])
            yield f"{path} no list", altered(campaign, path, 3.5 if path[-1] != "misalignment_deg" else "x")
        elif isinstance(value, dict) and "distribution" in value:
            yield f"{path} without a parameter", altered(campaign, path, {"distribution": value["distribution"]})
            yield f"{path} unknown distribution", altered(campaign, path, {**value, "distribution": "normall"})
            yield f"{path} a parameter too many", altered(campaign, path, {**value, "extra": 1})
        elif isinstance(value, dict):
            yield f"{path} unknown key", altered(campaign, path, {**value, "colour_m": 1}) if path else {**value, "colour_m": 1}
    for path in (("name",), ("criteria",), ("all_together", "odds"), ("vehicle", "mass", "burnt_kg"), ("vehicle",), ("drive", "kind"),
                 ("rail",), ("footage",), ("cameras", 0, "shutter_s"), ("controller", "gain_per_s"), ("wind", "speed_mps"),
                 ("drive", "floor_dps"), ("criteria", 0, "at_least")):
        yield f"{path} missing", altered(campaign, path, None)
    yield "a stepper's key", altered(campaign, ("drive", "holding_torque_Nm"), 1)
    yield "unknown drive", altered(campaign, ("drive", "kind"), "magic")
    yield "a rate controller's key", altered(campaign, ("controller", "gain"), 1)
    yield "unknown measure", altered(campaign, ("criteria", 0, "measure"), "held")
    yield "a formula too", {**campaign, "formula": "1"}
    yield "unknown plan", altered(campaign, ("run", "plan"), "plan")


cases = [("first", *case) for case in broken(campaigns["first.json"])]
cases += [("formula", "a vehicle too", {**formula, "vehicle": {}}), ("formula", "no inputs", {k: v for k, v in formula.items() if k != "inputs"})]
stepper = campaigns["stepper.json"]
cases += [("stepper", "no winding", altered(stepper, ("drive", "supply_V"), None)),
          ("stepper", "no torque", altered(stepper, ("drive", "holding_torque_Nm"), None))]
for number, (name, what, campaign) in enumerate(cases):
    n_broken += 1
    if validator.is_valid(campaign):
        problems.append(f"{name}, {what}: the schema accepts it")
    if number % 9 == 0 or "missing" in what or not what.startswith("("): # the program is asked for some, all kinds of mistakes among them
        n_agreed += 1
        if accepted(campaign):
            problems.append(f"{name}, {what}: check accepts it")

shutil.rmtree(scratch)
print(*problems, sep="\n")
print(f"{n_valid} campaigns, {n_broken} broken ones, {n_agreed} of them asked of check, {len(problems)} problems")
sys.exit(1 if problems or n_valid < 5 or n_broken < 100 else 0)
