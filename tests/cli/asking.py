"""What the checks in Python share: ask the program, hold what must be, end with what did not. The first argument of every script is the
program."""
import signal
import subprocess
import sys
import time
from pathlib import Path

PROGRAM = sys.argv[1]
failures = []
n_checks = 0


def ok(is_good, text):
    global n_checks
    n_checks += 1
    if not is_good:
        failures.append(text)


def near(what, got, wanted, within):
    ok(got is not None and abs(got - wanted) <= within, f"{what}: {got}, wanted {wanted:.8g} within {within:.2g}")


def call(*words, code=0, **others):
    """Run the program; a wrong exit code is a failure, and the script goes on. `others` are those of subprocess.run."""
    ran = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True, **others)
    ok(ran.returncode == code, f"rollcast {' '.join(map(str, words))}: exit code {ran.returncode}, wanted {code}: {ran.stderr}")
    return ran


def must(*words):
    """Standard output of a run without which the rest means nothing."""
    ran = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True)
    if ran.returncode != 0:
        sys.exit(f"rollcast {' '.join(map(str, words))}: exit code {ran.returncode}: {ran.stderr}")
    return ran.stdout


def interrupted(store, n_bytes, *words):
    """Run the program on one thread, and let SIGINT stop it once the store's journal is longer than so many bytes."""
    run = subprocess.Popen([PROGRAM, *map(str, words), "-o", str(store), "--threads", "1", "--quiet"], stderr=subprocess.PIPE, text=True)
    journal = Path(f"{store}.journal")
    while run.poll() is None and not (journal.exists() and journal.stat().st_size > n_bytes):
        time.sleep(0.005)
    run.send_signal(signal.SIGINT)
    said = run.communicate()[1]
    ok(run.returncode == 5, f"interrupted: exit code {run.returncode}: {said}")


def same(root, *stores):
    ran = subprocess.run([sys.executable, "-B", f"{root}/tests/support/compare_stores.py", *map(str, stores)], capture_output=True,
                         text=True)
    ok(ran.returncode == 0, f"stores differ: {ran.stderr}")


def normal(mean=0, sd=1):
    return {"distribution": "normal", "mean": mean, "sd": sd}


def uniform(low, high):
    return {"distribution": "uniform", "low": low, "high": high}


def finish(least=1):
    """End the script: with 0 where nothing failed, and at least so many things were checked."""
    for failure in failures:
        print("FAILED:", failure)
    print(f"{n_checks} checks, {len(failures)} failed")
    sys.exit(1 if failures or n_checks < least else 0)
