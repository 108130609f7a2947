"""What the checks in Python share: ask the program, hold what must be, end with what did not. The first argument of every script is the
program."""
import subprocess
import sys

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


def call(*words, code=0):
    """Run the program; a wrong exit code is a failure, and the script goes on."""
    ran = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True)
    ok(ran.returncode == code, f"rollcast {' '.join(map(str, words))}: exit code {ran.returncode}, wanted {code}: {ran.stderr}")
    return ran


def must(*words):
    """Standard output of a run without which the rest means nothing."""
    ran = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True)
    if ran.returncode != 0:
        sys.exit(f"rollcast {' '.join(map(str, words))}: exit code {ran.returncode}: {ran.stderr}")
    return ran.stdout


def same(root, *stores):
    ran = subprocess.run([sys.executable, "-B", f"{root}/tests/support/compare_stores.py", *map(str, stores)], capture_output=True,
                         text=True)
    ok(ran.returncode == 0, f"stores differ: {ran.stderr}")


def normal(mean=0, sd=1):
    return {"distribution": "normal", "mean": mean, "sd": sd}


def uniform(low, high):
    return {"distribution": "uniform", "low": low, "high": high}


def finish():
    for failure in failures:
        print("FAILED:", failure)
    print(f"{n_checks} checks, {len(failures)} failed")
    sys.exit(1 if failures or n_checks == 0 else 0)
