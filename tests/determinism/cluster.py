"""The scripts of docs/cluster.md do what it says: its loops, and the Slurm script, whose tasks are started here as Slurm does, one of
them stopped on the way and started again. What they merge has the bits of a run in one piece.

usage: cluster.py PROGRAM ROOT"""
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PROGRAM, ROOT = os.path.abspath(sys.argv[1]), sys.argv[2]
sys.path.insert(0, ROOT + "/tests/cli")
from asking import call, finish, ok, same  # noqa: E402

SCRIPT = ROOT + "/docs/examples/shards.sbatch"


def environment(folder, **more):
    return {**os.environ, "PATH": f"{folder}/bin:{os.path.dirname(PROGRAM)}:{os.environ['PATH']}", **more}


def check_page(folder):
    """Each shell block of the page, as it stands, in a folder that has the campaigns."""
    (folder / "campaigns").symlink_to(ROOT + "/campaigns")
    blocks = re.findall(r"^```sh\n(.*?)^```$", Path(ROOT, "docs/cluster.md").read_text(), re.S | re.M)
    ok(len(blocks) >= 2, f"{len(blocks)} shell blocks in docs/cluster.md")
    for block in blocks:
        ran = subprocess.run(["sh", "-eu"], input=block, capture_output=True, text=True, cwd=folder, env=environment(folder))
        ok(ran.returncode == 0, f"{block}: {ran.stderr}")
        again = subprocess.run(["sh", "-eu"], input=block.split("&&")[0], capture_output=True, text=True, cwd=folder,
                               env=environment(folder)) if "xargs" in block else ran
        ok(again.returncode == 0, f"{block}: a second time: {again.stderr}")
    for name, flights in (("night", 600), ("eight", 800)):
        call("fly", ROOT + "/campaigns/first.json", "-o", folder / f"{name}-whole.h5", "--flights", flights, "-q")
        same(ROOT, folder / f"{name}-whole.h5", folder / f"{name}.h5")


def task(folder, number, flights):
    return subprocess.Popen(["sh", SCRIPT, ROOT + "/campaigns/first.json", "parts", "--flights", str(flights)], cwd=folder,
                            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
                            env=environment(folder, SLURM_ARRAY_TASK_ID=str(number), SLURM_ARRAY_TASK_COUNT="3",
                                            SLURM_ARRAY_JOB_ID="77", SLURM_CPUS_PER_TASK="2"))


def check_script(folder):
    flights = 9000
    queue = folder / "queue"
    (folder / "bin").mkdir()
    stand_in = folder / "bin" / "scontrol"
    stand_in.write_text(f'#!/bin/sh\necho "$@" >>{queue}\n')
    stand_in.chmod(0o755)
    stopped = task(folder, 2, flights)
    journal = folder / "parts" / "part-2.h5.journal"
    while stopped.poll() is None and not (journal.exists() and journal.stat().st_size > 100000):
        time.sleep(0.002)
    os.kill(stopped.pid, signal.SIGTERM) # to the script alone, as --signal=B: does
    said = stopped.communicate()[1]
    ok(stopped.returncode == 5 and "stopped after" in said, f"a stopped task ends with {stopped.returncode}: {said}")
    ok(queue.exists() and queue.read_text() == "requeue 77_2\n", "a stopped task does not ask to be put back")
    for number in (1, 2, 3):
        run = task(folder, number, flights)
        said = run.communicate()[1]
        ok(run.returncode == 0, f"task {number} ends with {run.returncode}: {said}")
    ok(queue.read_text() == "requeue 77_2\n", "a finished task asks to be put back")
    call("merge", *sorted((folder / "parts").glob("part-*.h5")), "-o", folder / "script.h5", "-q")
    call("fly", ROOT + "/campaigns/first.json", "-o", folder / "script-whole.h5", "--flights", flights, "-q")
    same(ROOT, folder / "script-whole.h5", folder / "script.h5")


with tempfile.TemporaryDirectory() as scratch:
    check_page(Path(scratch))
    check_script(Path(scratch))
finish()
