"""What a store keeps: `run.keep` leaves out bands, or the measures that no criterion asks for, and changes no bit of the rest.

usage: keeping.py PROGRAM ROOT"""
import json
import shutil
import sys
import tempfile
from pathlib import Path

import h5py

from altered import altered
from asking import call, finish, ok, same

ROOT = sys.argv[2]
FLIGHTS = 403


def varied(folder, name, keep):
    """A copy of a campaign that keeps less."""
    campaign = altered(json.loads(Path(ROOT, "campaigns", f"{name}.json").read_text()), ("run", "keep"), keep)
    file = folder / f"{name}-{'-'.join(keep.values()) or 'all'}.json"
    file.write_text(json.dumps(campaign))
    return file, {criterion["measure"] for criterion in campaign["criteria"]}


def datasets(store):
    found = {}
    with h5py.File(store) as kept:
        kept.visititems(lambda name, item: found.update({name: item[()].tobytes()}) if isinstance(item, h5py.Dataset) else None)
    return found


def check(folder, name):
    full_file, asked = varied(folder, name, {})
    full = folder / f"{name}.h5"
    call("fly", full_file, "-o", full, "--flights", FLIGHTS, "-q")
    everything, answer = datasets(full), json.loads(call("odds", full, "--json").stdout)
    size = full.stat().st_size
    for keep in ({"bands": "yes", "measures": "all"}, {"bands": "no"}, {"measures": "asked"}, {"bands": "no", "measures": "asked"}):
        file, _ = varied(folder, name, keep)
        store = file.with_suffix(".h5")
        call("fly", file, "-o", store, "--flights", 200, "-q")
        call("fly", file, "-o", store, "--flights", FLIGHTS, "--resume", "-q")
        here = datasets(store)
        dropped = {item for item in everything if item.startswith("bands/") and keep.get("bands") == "no" or item.startswith("measures/")
                   and keep.get("measures") == "asked" and item.split("/")[1] not in asked}
        ok(set(everything) - set(here) == dropped and not set(here) - set(everything), f"{file.name}: keeps {sorted(here)}")
        ok(all(here[item] == everything[item] for item in here if item.split("/")[0] in ("bands", "criteria", "end", "flight", "measures", "quantities")),
           f"{file.name}: what is kept has other bits")
        ok(bool(dropped) == (store.stat().st_size < size), f"{file.name}: {store.stat().st_size} bytes, all take {size}")
        told = json.loads(call("odds", store, "--json").stdout)
        ok(told["criteria"] == answer["criteria"] and told["all_together"] == answer["all_together"], f"{file.name}: other odds")
        for words in (("odds", store), ("rank", store), ("replay", store, "--flight", 5, "-o", folder / "r.csv", "--overwrite")):
            call(*words)
        if shutil.which("gnuplot") and (name == "first" or len(keep) == 2):
            call("report", store, "-o", folder / "page.html", "--overwrite")
        if keep.get("measures") == "asked":
            missing = call("odds", store, "--measure", "ascent_s", code=3)
            ok("run.keep.measures" in missing.stderr, f"a measure that is not kept: {missing.stderr}")
        parts = [folder / f"part{number}.h5" for number in (1, 2)]
        for number, part in enumerate(parts, 1):
            part.unlink(missing_ok=True)
            call("fly", file, "-o", part, "--flights", FLIGHTS, "--shard", f"{number}/2", "-q")
        merged = store.with_suffix(".merged.h5")
        call("merge", *parts, "-o", merged, "-q")
        same(ROOT, store, merged)


with tempfile.TemporaryDirectory() as scratch:
    for table in Path(ROOT, "campaigns").glob("*.csv"):
        shutil.copy(table, scratch)
    check(Path(scratch), "first")
    check(Path(scratch), "readiness")
    here = Path(scratch)
    for keep, place in (({"bands": "maybe"}, "/run/keep/bands"), ({"measures": "none"}, "/run/keep/measures"), ({"flights": "no"}, "/run/keep/flights")):
        refused = call("check", varied(here, "first", keep)[0], code=3)
        ok(place in refused.stderr, f"{keep}: {refused.stderr}")
finish()
