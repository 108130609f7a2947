"""A run cut into shards and merged has the bits of the run in one piece: every dataset, type and attribute. Shards that do not
belong together, are missing, given twice, unfinished or damaged are refused, and nothing is left in the store's place.

usage: shards.py PROGRAM FLY_NARROW ROOT"""
import itertools
import json
import resource
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import h5py
import numpy

PROGRAM, NARROW, ROOT = sys.argv[1:4]
sys.path.insert(0, ROOT + "/tests/cli")
from asking import call, finish, normal, ok, same  # noqa: E402
from reseal import seal  # noqa: E402


def refused(words, said, code=4, **others):
    """One line that says all of `said`, and no store."""
    done = call(*words, code=code, **others)
    ok(done.stderr.count("\n") == 1 and done.stdout == "", f"{words}: {done.stderr!r} is not one line")
    for text in said:
        ok(text in done.stderr, f"{words}: '{done.stderr.strip()}' lacks '{text}'")
    output = Path(words[words.index("-o") + 1])
    if words[0] == "merge":
        ok(not output.exists() and not Path(f"{output}.tmp").exists(), f"{words}: left {output}")


def formula(folder, plan, flights):
    file = folder / f"{plan}.json"
    file.write_text(json.dumps({
        "name": plan, "run": {"flights": flights, "seed": 7, "plan": plan}, "formula": "x + y * y",
        "inputs": [{"name": name, "value": normal()} for name in "xy"],
        "criteria": [{"name": "below", "measure": "result", "at_most": 1.5, "odds": 0.8, "confidence": 0.95}],
        "all_together": {"odds": 0.8, "confidence": 0.95}}))
    return file


def shards(campaign, folder, count, *words):
    """Fly all shards. ends their paths"""
    paths = [folder / f"{Path(campaign).stem}-{number}of{count}.h5" for number in range(1, count + 1)]
    for number, path in enumerate(paths, 1):
        path.unlink(missing_ok=True)
        call("fly", campaign, "-o", path, "--shard", f"{number}/{count}", "--threads", 1 + number % 3, "-q", *words)
    return paths


def check_cuts(folder):
    """Any cut of any plan, in any order; of a whole chunk and more a shard, and of less."""
    first = ROOT + "/campaigns/first.json"
    whole = folder / "first.h5"
    call("fly", first, "-o", whole, "--flights", 403, "-q")
    for count in (1, 3, 7):
        paths = shards(first, folder, count, "--flights", 403)
        merged = folder / f"merged{count}.h5"
        call("merge", *reversed(paths), "-o", merged)
        same(ROOT, whole, merged)
        call("replay", merged, "--flight", 402, "-o", folder / f"{count}.csv")
    for plan, flights, cuts in (("plain", 200003, (2, 3)), ("sobol", 5000, (3,)), ("latin", 5001, (4,)), ("paired", 999, (2,))):
        campaign, whole = formula(folder, plan, flights), folder / f"{plan}.h5"
        call("fly", campaign, "-o", whole, "-q")
        for count in cuts:
            paths = shards(campaign, folder, count)
            for path, (begin, end) in zip(paths, itertools.pairwise([*map(first_of, paths), flights])):
                with h5py.File(path) as kept:
                    ok(numpy.array_equal(kept["flight"][()], numpy.arange(begin, end)), f"{path} does not hold {begin} to {end}")
            merged = folder / f"{plan}-{count}.h5"
            call("merge", *paths, "-o", merged, "-q")
            same(ROOT, whole, merged)
    ok(first_of(folder / "plain-2of3.h5") % 4096 == 0, "long shards do not begin at a chunk")


def first_of(path):
    with h5py.File(path) as kept:
        ok(kept.attrs["format"] == "rollcast-shard" and kept.attrs["finished"] == 1, f"{path} does not say what it is")
        return int(kept.attrs["first_flight"])


def check_builds(folder):
    """A shard of a build with other lanes and instruction sets belongs to the others; a resumed one too."""
    first = ROOT + "/campaigns/first.json"
    paths = shards(first, folder, 3, "--flights", 403)
    paths[1].unlink()
    done = subprocess.run([NARROW, first, str(paths[1]), "403", "2", "3"], capture_output=True, text=True)
    ok(done.returncode == 0, done.stderr)
    paths[2].unlink()
    run = subprocess.Popen([PROGRAM, "fly", first, "-o", str(paths[2]), "--shard", "3/3", "--flights", "403", "--threads", "1", "-q"])
    while not Path(f"{paths[2]}.journal").exists() or Path(f"{paths[2]}.journal").stat().st_size < 20000:
        time.sleep(0.002)
    run.send_signal(signal.SIGKILL)
    run.wait()
    refused(["merge", *paths, "-o", folder / "early.h5"], ["1 of the shards are not finished", "3/3", "--resume"])
    call("fly", first, "-o", paths[2], "--resume", "-q")
    done = call("merge", *paths, "-o", folder / "mixed.h5", "--json")
    told = json.loads(done.stdout)
    ok(told == {"schema": "rollcast-merge/1", "store": str(folder / "mixed.h5"), "flights": 403, "shards": 3,
                "flights_checked": 48, "is_mixed": True}, f"merge --json says {told}")
    same(ROOT, folder / "first.h5", folder / "mixed.h5")


def check_refusals(folder):
    first = ROOT + "/campaigns/first.json"
    whole, out = folder / "first.h5", folder / "refused.h5"
    a, b, c = shards(first, folder, 3, "--flights", 403)
    refused(["merge", a, c, "-o", out], ["missing: 2 of 3"])
    refused(["merge", b, "-o", out], ["missing: 1, 3 of 3"])
    refused(["merge", a, b, c, a, "-o", out], ["shard 1/3, and so is", "once"])
    refused(["merge", whole, "-o", out], ["no shard"])
    refused(["merge", a, whole, "-o", out], ["no shard"])
    refused(["merge", a, first, "-o", out], ["first.json"])
    refused(["merge", a, folder / "absent.h5", "-o", out], ["absent.h5"])
    halves = shards(first, folder, 2, "--flights", 403)
    refused(["merge", a, halves[1], "-o", out], ["2/2", "1/3", "overlap"])
    other = folder / "seed.h5"
    call("fly", first, "-o", other, "--flights", 403, "--seed", 5, "--shard", "2/3", "-q")
    refused(["merge", a, other, c, "-o", out], ["seed.h5", "seed 5"])
    other = folder / "campaign.h5"
    call("fly", ROOT + "/campaigns/stepper.json", "-o", other, "--flights", 403, "--shard", "2/3", "-q")
    refused(["merge", a, other, c, "-o", out], ["campaign.h5", "fingerprint"])
    other = folder / "flights.h5"
    call("fly", first, "-o", other, "--flights", 404, "--shard", "2/3", "-q")
    refused(["merge", a, other, c, "-o", out], ["flights.h5", "404", "403"])
    for command in ("odds", "rank", "report"):
        words = [command, a] + (["-o", folder / "page.html"] if command == "report" else [])
        done = call(*words, code=4)
        ok("shard 1/3" in done.stderr and "merge" in done.stderr, f"{command} of a shard: {done.stderr}")
    kept = (folder / "merged3.h5").read_bytes()
    done = call("merge", a, b, c, "-o", folder / "merged3.h5", code=4)
    ok("not overwritten" in done.stderr and (folder / "merged3.h5").read_bytes() == kept, "a store was overwritten")
    for shard in ("0/3", "4/3", "3", "a/b", "/3", "3/", "1/0", "-1/3", "1/3/5", "1/99999999999", ""):
        done = call("fly", first, "-o", out, "--shard", shard, code=2)
        ok("--shard" in done.stderr, f"--shard '{shard}': {done.stderr}")
    refused(["fly", first, "-o", out, "--flights", 20, "--shard", "1/21"], ["20 flights", "21 shards"], code=3)
    refused(["fly", first, "-o", out, "--stop-verdict", "--shard", "1/2"], ["stop rule", "take out"], code=3)
    refused(["fly", first, "-o", out, "--rare", "subset", "--criterion", "held", "--shard", "1/2"], ["rare", "whole"], code=3)
    refused(["fly", first, "-o", a, "--shard", "2/3", "--resume"], ["shard 1/3 of 403", "shard 2/3 of 403"])
    refused(["fly", first, "-o", a, "--flights", 500, "--resume"], ["403", "500"])
    refused(["fly", first, "-o", whole, "--shard", "1/3", "--resume"], ["a whole run"])
    call("merge", a, b, c, code=2)
    call("merge", "-o", out, code=2)


def check_damage(folder):
    """Broken files, numbers that are not this build's, a disk that is full, a merge that is killed."""
    first, out = ROOT + "/campaigns/first.json", folder / "spoilt.h5"
    a, b, c = shards(first, folder, 3, "--flights", 403)
    good = b.read_bytes()
    b.write_bytes(good[:-1000])
    refused(["merge", a, b, c, "-o", out], [b.name])
    b.write_bytes(good[:5000] + bytes([good[5000] ^ 1]) + good[5001:])
    refused(["merge", a, b, c, "-o", out], [b.name])
    b.write_bytes(good)
    with h5py.File(b, "r+") as kept:
        column = kept["measures/apogee_m"]
        column[0] = numpy.nextafter(column[0], 1e9)
    seal(b)
    refused(["merge", a, b, c, "-o", out], [b.name, "flight 134", "1 other number"])
    b.write_bytes(good)
    full = lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (100000, 100000))  # noqa: E731
    refused(["merge", a, b, c, "-o", out], ["spoilt.h5"], preexec_fn=full)
    Path(f"{out}.tmp").write_bytes(b"left by a kill")
    Path(f"{out}.lock").write_bytes(b"")
    call("merge", a, b, c, "-o", out)
    same(ROOT, folder / "first.h5", out)


with tempfile.TemporaryDirectory() as scratch:
    here = Path(scratch)
    check_cuts(here)
    check_builds(here)
    check_refusals(here)
    check_damage(here)
finish(least=100)
