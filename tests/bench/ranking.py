"""Bench of `rank` and of pairing. `rank` on stores of 40 uncertain quantities, the second ten times the first: seconds and greatest memory.
`trade` on the demonstration campaign: how many times as many unpaired flights would know a difference of odds equally well.
Usage: ranking.py PROGRAM ROOT [FLIGHTS]   (1,000,000 of the larger store unless said otherwise)"""
import json
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PROGRAM, ROOT = sys.argv[1], Path(sys.argv[2])
FLIGHTS = int(sys.argv[3]) if len(sys.argv) > 3 else 1000000
INPUTS = 40


def run(*words):
    """Seconds on the clock, seconds of the processor, greatest memory in MB, and what it said."""
    began = time.monotonic()
    child = subprocess.Popen([PROGRAM, *map(str, words)], stdout=subprocess.PIPE)
    said = child.stdout.read()
    _, status, used = os.wait4(child.pid, 0)
    if status != 0:
        sys.exit(f"rollcast {' '.join(map(str, words))}: status {status}")
    return time.monotonic() - began, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, said


def rank(folder, flights):
    file, store = folder / "c.json", folder / f"{flights}.h5"
    terms = "+".join(f"{1 / (i + 1):.4f}*x{i + 1}" for i in range(INPUTS))
    file.write_text(json.dumps({
        "name": "forty", "run": {"flights": flights, "seed": 1}, "formula": terms,
        "inputs": [{"name": f"x{i + 1}", "value": {"distribution": "normal", "mean": 0, "sd": 1}} for i in range(INPUTS)],
        "criteria": [{"name": "safe", "measure": "result", "at_most": 1.5, "odds": 0.9, "confidence": 0.95}],
        "all_together": {"odds": 0.9, "confidence": 0.95}}))
    run("fly", file, "-o", store, "-q")
    wall, cpu, memory, said = run("rank", store, "--json")
    assert len(json.loads(said)["quantities"]) == INPUTS
    print(f"rank, {flights:>9,} flights x {INPUTS} quantities: {wall:6.1f} s, {cpu:6.1f} s of the processor, {memory:5.0f} MB", flush=True)
    store.unlink()
    return memory


def saving(folder, low, high, flights=2000):
    """Flights that unpaired ones need for paired ones: the variances of a difference of odds, squares of the intervals."""
    for table in (ROOT / "campaigns").glob("*.csv"):
        shutil.copy(table, folder)
    shutil.copy(ROOT / "campaigns" / "first.json", folder)
    said = run("trade", folder / "first.json", "--vary", f"drive.floor_dps.mean={low}:{high}:2", "--of", "held", "--flights", flights,
               "-o", folder / f"t{low}-{high}", "-q", "--json")[3]
    answer = json.loads(said)
    pairs = next(row["against_best"] for row in answer["settings"] if row["against_best"]["only_best"] + row["against_best"]["only_this"] > 0)
    share = [row["odds"] for row in answer["settings"]]
    b, c = pairs["only_best"] / flights, pairs["only_this"] / flights
    paired = b + c - (b - c) ** 2
    unpaired = sum(p * (1 - p) for p in share)
    print(f"pairing, floor {low} against {high} deg/s, {flights:,} flights each: difference {100 * (b - c):+.1f} +/- "
          f"{196 * math.sqrt(paired / flights):.1f} %; unpaired flights would be {unpaired / paired:.1f} times as many", flush=True)


with tempfile.TemporaryDirectory() as scratch:
    folder = Path(scratch)
    for low, high in ((35, 40), (40, 45), (30, 50)):
        saving(folder, low, high)
    rank(folder, FLIGHTS // 10)
    rank(folder, FLIGHTS)
