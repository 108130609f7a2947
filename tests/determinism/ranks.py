"""A run on the ranks of an MPI launcher has the bits of the run without one: any number of ranks, plans, stop rules, shards, stops,
killed ranks and resumes. Builds the program with RC_MPI first; needs Open MPI (Debian: openmpi-bin, libopenmpi-dev).

usage: ranks.py PROGRAM ROOT BUILD"""
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PROGRAM, ROOT, BUILD = sys.argv[1:4]
sys.path.insert(0, ROOT + "/tests/cli")
from asking import call, finish, normal, ok, same  # noqa: E402

FIRST = ROOT + "/campaigns/first.json"
ENVIRONMENT = {**os.environ, "OMPI_ALLOW_RUN_AS_ROOT": "1", "OMPI_ALLOW_RUN_AS_ROOT_CONFIRM": "1"}
RANKED = BUILD + "/src/cli/rollcast"


def build():
    for words in (["cmake", "-S", ROOT, "-B", BUILD, "-G", "Ninja", "-DRC_MPI=ON", "-DRC_TESTS=OFF", "-DRC_WERROR=ON",
                   "-DCMAKE_BUILD_TYPE=Release"], ["cmake", "--build", BUILD, "--target", "rollcast"]):
        ran = subprocess.run(words, capture_output=True, text=True)
        if ran.returncode != 0:
            sys.exit(f"{' '.join(words)}: {ran.stdout[-3000:]}{ran.stderr[-3000:]}")


def launch(n_ranks, *words):
    return subprocess.Popen(["mpirun", "--oversubscribe", "-n", str(n_ranks), RANKED, *map(str, words)], env=ENVIRONMENT,
                            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def on_ranks(n_ranks, *words, code=0):
    run = launch(n_ranks, *words)
    out, err = run.communicate(timeout=300)
    ok(run.returncode == code, f"{n_ranks} ranks, {words}: code {run.returncode}, wanted {code}: {err}")
    return out, err


def ranks_of(launcher):
    """Process numbers of its ranks, by rank."""
    found = {}
    for folder in Path("/proc").iterdir():
        try:
            if folder.name.isdigit() and f"PPid:\t{launcher}\n" in (folder / "status").read_text():
                names = dict(word.split("=", 1) for word in (folder / "environ").read_text().split("\0") if "=" in word)
                if "OMPI_COMM_WORLD_RANK" in names:
                    found[int(names["OMPI_COMM_WORLD_RANK"])] = int(folder.name)
        except OSError:
            continue # it ended meanwhile
    return found


def formula(folder, plan, flights, stop=None):
    file = folder / f"{plan}.json"
    file.write_text(json.dumps({
        "name": plan, "run": {"flights": flights, "seed": 7, "plan": plan, **({"stop": stop} if stop else {})}, "formula": "x + y",
        "inputs": [{"name": "x", "value": normal()}, {"name": "y", "value": normal()}],
        "criteria": [{"name": "below", "measure": "result", "at_most": 1.8, "odds": 0.8, "confidence": 0.95}],
        "all_together": {"odds": 0.8, "confidence": 0.95}}))
    return file


def check_bits(folder):
    whole = folder / "whole.h5"
    call("fly", FIRST, "-o", whole, "--flights", 1403, "-q")
    stores = []
    for n_ranks in (1, 2, 3, 6):
        stores.append(folder / f"ranks{n_ranks}.h5")
        on_ranks(n_ranks, "fly", FIRST, "-o", stores[-1], "--flights", 1403, "-q")
    ran = subprocess.run([RANKED, "fly", FIRST, "-o", folder / "none.h5", "--flights", "1403", "-q"], capture_output=True, text=True)
    ok(ran.returncode == 0, f"without a launcher: {ran.stderr}")
    same(ROOT, whole, *stores, folder / "none.h5")
    for plan, flights in (("plain", 60001), ("sobol", 4096)):
        campaign = formula(folder, plan, flights)
        call("fly", campaign, "-o", folder / f"{plan}.h5", "-q")
        on_ranks(4, "fly", campaign, "-o", folder / f"{plan}-4.h5", "-q")
        same(ROOT, folder / f"{plan}.h5", folder / f"{plan}-4.h5")
    campaign = formula(folder, "plain", 100000, {"width": 0.02})
    call("fly", campaign, "-o", folder / "rule.h5", "-q")
    _, said = on_ranks(3, "fly", campaign, "-o", folder / "rule-3.h5")
    ok("narrow enough" in said and said.count("\n") == 1, f"a stop rule on ranks says {said}")
    same(ROOT, folder / "rule.h5", folder / "rule-3.h5")
    for number in (1, 2):
        on_ranks(3, "fly", FIRST, "-o", folder / f"part{number}.h5", "--flights", 1403, "--shard", f"{number}/2", "-q")
    call("merge", folder / "part1.h5", folder / "part2.h5", "-o", folder / "merged.h5", "-q")
    same(ROOT, whole, folder / "merged.h5")
    return whole


def disturb(store, victim, number, resume):
    """Start a run on ranks, wait for rows, send a signal to a rank (or to the launcher, victim -1). ends the launcher's code"""
    run = launch(3, "fly", FIRST, "-o", store, "--flights", 1403, "-q", *(["--resume"] if resume else []))
    journal, before = Path(f"{store}.journal"), 0
    until = time.monotonic() + 60
    while run.poll() is None and time.monotonic() < until:
        size = journal.stat().st_size if journal.exists() else 0
        if size > before + 20000:
            break
        time.sleep(0.001)
    time.sleep(random.random() * 0.03)
    ranks = ranks_of(run.pid)
    if run.poll() is None and (victim < 0 or victim in ranks):
        os.kill(run.pid if victim < 0 else ranks[victim], number)
    run.communicate(timeout=120)
    return run.returncode


def check_kills(folder, whole):
    random.seed(3)
    n_killed = 0
    for turn, (victim, number) in enumerate([(1, signal.SIGKILL), (0, signal.SIGKILL), (2, signal.SIGKILL), (-1, signal.SIGTERM),
                                             (-1, signal.SIGINT), (0, signal.SIGTERM), (1, signal.SIGTERM)]):
        store = folder / f"disturbed{turn}.h5"
        code = disturb(store, victim, number, False)
        n_killed += code != 0
        told = json.loads(call("odds", store, "--json").stdout) # it opens
        ok(told["flights"] <= 1403, f"rank {victim}, signal {number}: {told['flights']} flights")
        if turn % 2: # once more, then to the end without ranks
            disturb(store, 1, signal.SIGKILL, True)
            call("fly", FIRST, "-o", store, "--flights", 1403, "--resume", "-q")
        else:
            on_ranks(2 + turn % 3, "fly", FIRST, "-o", store, "--flights", 1403, "--resume", "-q")
        same(ROOT, whole, store)
    print(f"{n_killed} of 7 runs were ended")
    ok(n_killed >= 4, f"only {n_killed} runs were disturbed before their end")


def check_refusals(folder):
    for words, code, said in ((("-o", folder / "no.h5", "--threads", 2), 2, "--threads does not go with ranks"),
                              (("-o", folder / "no.h5", "--rare", "subset", "--criterion", "held"), 3, "not shared out among ranks"),
                              (("-o", folder / "whole.h5"), 4, "not overwritten"),
                              (("-o", folder / "nowhere" / "no.h5"), 4, "nowhere")):
        _, err = on_ranks(3, "fly", FIRST, *words, code=code)
        lines = [line for line in err.splitlines() if line.startswith("rollcast:")]
        ok(len(lines) == 1 and said in lines[0], f"{words}: {err}")
        ok(not (folder / "no.h5").exists(), f"{words}: left a store")
    _, err = on_ranks(2, "fly", folder / "absent.json", "-o", folder / "no.h5", code=3)
    ok(err.count("rollcast:") == 1, f"an absent campaign: {err}")
    out, _ = on_ranks(3, "fly", "--help")
    ok(out.count("Usage:") == 1, f"help came {out.count('Usage:')} times")


build()
with tempfile.TemporaryDirectory() as scratch:
    here = Path(scratch)
    check_kills(here, check_bits(here))
    check_refusals(here)
finish()
