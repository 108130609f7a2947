"""How a run tells what it does: the status file, plain progress lines, priority and threads.

usage: status.py PROGRAM ROOT"""
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import h5py

from asking import PROGRAM, call, finish, normal, ok

ROOT = sys.argv[2]
FIRST = ROOT + "/campaigns/first.json"
LINE = re.compile(r"^(\d+) of (\d+) flights \(\d+ %\), \d+ flights/s, .+ to go, odds so far [\d.]+ % \([\d.]+ to [\d.]+ %\)$")


def campaign(folder, plan, flights):
    file = folder / f"{plan}.json"
    file.write_text(json.dumps({
        "name": plan, "run": {"flights": flights, "seed": 7, "plan": plan}, "formula": "x + y",
        "inputs": [{"name": "x", "value": normal()}, {"name": "y", "value": normal()}],
        "criteria": [{"name": "below", "measure": "result", "at_most": 1.8, "odds": 0.8, "confidence": 0.9}],
        "all_together": {"odds": 0.8, "confidence": 0.9}}))
    return file


def status(file):
    return json.loads(Path(file).read_text())


def start(*words):
    return subprocess.Popen([PROGRAM, *map(str, words)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def watch(process, file, seconds):
    """Read the status again and again; it is always whole. ends the states seen, in order, each once, and the last status"""
    states, last, held, end = [], None, None, time.monotonic() + seconds
    while process.poll() is None and time.monotonic() < end:
        if held or file.exists():
            text = file.read_text()  # once it is there it does not go away
            try:
                last = json.loads(text)
            except json.JSONDecodeError:
                ok(False, f"a status that is not whole: {text!r}")
                break
            if last["state"] not in states:
                states.append(last["state"])
            if not held:
                held = file.open()
                kept = held.read()
        time.sleep(0.003)
    if held:
        with held:
            held.seek(0)
            ok(held.read() == kept, "the status was written into the file that a reader had open")
    return states, last


def check_line_and_file(folder):
    """Eleven seconds of a long run that does not write to a terminal, then Ctrl-C; resumed to its end."""
    long, file, store = campaign(folder, "plain", 4000000000), folder / "s.json", folder / "long.h5"
    run = start("fly", long, "-o", store, "--threads", 1, "--status-file", file, "--polite")
    states, flying = watch(run, file, 6)
    priorities = {Path(task, "stat").read_text().rsplit(")", 1)[1].split()[16] for task in Path(f"/proc/{run.pid}/task").iterdir()}
    ok(priorities == {"19"}, f"--polite: priorities {priorities}")
    watch(run, file, 5)
    run.send_signal(signal.SIGINT)
    said = run.communicate()[1].splitlines()
    ok(run.returncode == 5 and states == ["starting", "flying"], f"code {run.returncode}, states {states}")
    ok(flying["exit_code"] is None and flying["process"] == run.pid and flying["flights_asked"] == 4000000000,
       f"while flying: {flying}")
    ok(flying["flights_per_second"] > 0 and flying["seconds_to_go"] > 0, f"no rate: {flying}")
    lines = [line for line in said if LINE.match(line)]
    ok(len(lines) == 1 and len(said) == 2 and "\r" not in "".join(said), f"plain lines: {said}")
    stopped, told = status(file), json.loads(call("odds", store, "--json").stdout)
    ok(stopped["state"] == "stopped" and stopped["exit_code"] == 5 and "resume" in stopped["message"], f"stopped: {stopped}")
    ok(stopped["flights"] == told["flights"] and stopped["threads"] == 1, f"stopped with {stopped['flights']} flights")
    same_odds("stopped", stopped, told)
    more = stopped["flights"] + 5000
    call("fly", long, "-o", store, "--flights", more, "--resume", "--status-file", file, "-q")
    ended, told = status(file), json.loads(call("odds", store, "--json").stdout)
    ok((ended["state"], ended["flights"], ended["flights_before"]) == ("finished", more, more - 5000), f"resumed: {ended}")
    same_odds("resumed", ended, told)


def same_odds(what, told, answer):
    """All flights of the store count, as in `odds`."""
    got, wanted = told["odds_so_far"], answer["all_together"]
    for name in ("passed", "flights", "odds", "interval", "confidence", "verdict"):
        ok(got[name] == wanted[name], f"{what}: {name} {got[name]}, odds says {wanted[name]}")


def check_ends(folder):
    """Kinds of run and of end."""
    file = folder / "kinds.json"
    for plan, flights in (("sobol", 4096), ("latin", 999), ("paired", 999)):
        store = folder / f"{plan}.h5"
        call("fly", campaign(folder, plan, flights), "-o", store, "--status-file", file, "-q")
        same_odds(plan, status(file), json.loads(call("odds", store, "--json").stdout))
        whole, parts = status(file)["odds_so_far"], []
        for number in (1, 2, 3):
            call("fly", folder / f"{plan}.json", "-o", folder / f"{plan}{number}.h5", "--shard", f"{number}/3", "--status-file", file, "-q")
            parts.append(status(file))
            ok(parts[-1]["shard"] == {"number": number, "count": 3}, f"shard {parts[-1]['shard']}")
        for name in ("passed", "flights"):
            total = sum(part["odds_so_far"][name] for part in parts)
            ok(total == whole[name], f"{plan}: shards have {name} {total}, the whole {whole[name]}")
    call("fly", campaign(folder, "plain", 100000), "-o", folder / "rule.h5", "--stop-width", 0.1, "--status-file", file, "-q")
    ok(status(file)["ended_by"] == "width" and status(file)["state"] == "finished", f"stop rule: {status(file)}")
    same_odds("rule", status(file), json.loads(call("odds", folder / "rule.h5", "--json").stdout))
    call("fly", folder / "plain.json", "-o", folder / "rare.h5", "--rare", "subset", "--criterion", "below", "--status-file", file, "-q")
    ok(status(file)["odds_so_far"] is None and status(file)["flights"] > 0, f"rare: {status(file)}")
    call("fly", folder / "plain.json", "-o", folder / "rule.h5", "--status-file", file, code=4)
    ok(status(file)["state"] == "failed" and status(file)["exit_code"] == 4 and "exists" in status(file)["message"], f"{status(file)}")
    run = start("fly", campaign(folder, "plain", 4000000000), "-o", folder / "killed.h5", "--status-file", file, "-q")
    watch(run, file, 2)
    run.kill()
    run.wait()
    ok(status(file)["state"] == "flying" and status(file)["process"] == run.pid, f"killed: {status(file)}")


def check_refusals(folder):
    kept = Path(FIRST).read_bytes()
    notes = folder / "notes.txt"
    notes.write_text("mine")
    for place, said in ((FIRST, "no status file"), (notes, "no status file"), (folder, "no status file"),
                        ("/dev/null", "no status file"), (folder / "nowhere" / "s.json", "No such file")):
        done = call("fly", FIRST, "-o", folder / "none.h5", "--status-file", place, code=4)
        ok(said in done.stderr and done.stderr.count("\n") == 1, f"status file {place}: {done.stderr}")
        ok(not (folder / "none.h5").exists(), f"status file {place}: a store was made")
    ok(Path(FIRST).read_bytes() == kept and notes.read_text() == "mine", "a file was replaced")
    # A place that goes away in mid-run is said once, and the run goes on.
    away = folder / "away"
    away.mkdir()
    run = start("fly", campaign(folder, "plain", 4000000000), "-o", folder / "on.h5", "--status-file", away / "s.json", "--stop-after", 4, "-q")
    watch(run, away / "s.json", 1)
    (away / "s.json").unlink()
    while away.exists():
        try:
            away.rmdir()
        except OSError: # it was just written again
            for left in away.iterdir():
                left.unlink(missing_ok=True)
    said = run.communicate()[1]
    ok(run.returncode == 0 and said.count("\n") == 1 and "status cannot be written" in said, f"{run.returncode}: {said}")


def check_threads(folder):
    cores = len(os.sched_getaffinity(0))
    store = folder / "threads.h5"
    done = call("fly", FIRST, "-o", store, "--flights", 32, "--threads", cores + 3)
    ok(f"{cores + 3} threads on {cores} cores" in done.stderr, f"too many threads: {done.stderr}")
    done = call("fly", FIRST, "-o", folder / "enough.h5", "--flights", 32, "--threads", cores)
    ok("cores" not in done.stderr, f"as many threads as cores: {done.stderr}")
    done = call("fly", FIRST, "-o", folder / "none.h5", "--threads", 0, code=2)
    ok("--threads: got '0'" in done.stderr, f"no threads: {done.stderr}")
    with h5py.File(store) as kept:
        ok(kept.attrs["flights"] == 32, "too many threads: flights are missing")


with tempfile.TemporaryDirectory() as scratch:
    here = Path(scratch)
    check_threads(here)
    check_ends(here)
    check_refusals(here)
    check_line_and_file(here)
finish()
