"""A night's run meets what a night brings: kill -9, SIGTERM, SIGINT and SIGHUP at random instants, a small disk
that fills up, a target that turns read-only, files that are cut or damaged. The store always opens, says what it holds, goes on, and ends
with the bits of a run left alone.

usage: nights.py PROGRAM ROOT [KILLS STOPS]   how many kills, and how many stops by each signal: 200 and 20"""
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PROGRAM, ROOT = os.path.abspath(sys.argv[1]), sys.argv[2]
sys.path.insert(0, ROOT + "/tests/cli")
from asking import call, finish, ok, same  # noqa: E402

FIRST, FLIGHTS = ROOT + "/campaigns/first.json", 1500
KILLS, STOPS = map(int, sys.argv[3:5] or (200, 20))


def start(store, *words):
    more = ["--resume"] if store.exists() else []
    return subprocess.Popen([PROGRAM, "fly", FIRST, "-o", str(store), "--flights", str(FLIGHTS), "-q", *words, *more],
                            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def remove(store):
    for suffix in ("", ".journal", ".tmp", ".lock"):
        Path(f"{store}{suffix}").unlink(missing_ok=True)


def rows_in(store):
    """Flights that a reader finds; the store must open once it is there."""
    if not store.exists():
        return 0
    ran = subprocess.run([PROGRAM, "odds", str(store), "--json"], capture_output=True, text=True)
    if ran.returncode == 4 and "no flight" in ran.stderr:
        return 0
    ok(ran.returncode == 0, f"{store} does not open: {ran.stderr}")
    return json.loads(ran.stdout)["flights"] if ran.returncode == 0 else 0


def usual_time(store):
    begun = time.monotonic()
    run = start(store)
    said = run.communicate()[1]
    ok(run.returncode == 0, f"a run left alone: {said}")
    return time.monotonic() - begun


def check_kills(folder, whole, usual):
    """Several kills in the life of one store, at instants of the clock; each life goes on to the same end."""
    store, n_killed, n_lives, before = folder / "killed.h5", 0, 0, 0
    for _ in range(40 * KILLS):
        if n_killed >= KILLS:
            break
        run = start(store, "--threads", str(random.randint(1, 3)))
        time.sleep(random.random() * usual)
        run.kill()
        said = run.communicate()[1]
        ok(run.returncode in (0, -signal.SIGKILL), f"a run ended with {run.returncode}: {said}")
        n_killed += run.returncode == -signal.SIGKILL
        after = rows_in(store)
        ok(after >= before, f"{before} flights became {after}")
        before = after
        if after == FLIGHTS:
            usual_time(store)
            same(ROOT, whole, store)
            remove(store)
            n_lives += 1
            before = 0
    usual_time(store)
    same(ROOT, whole, store)
    print(f"{n_killed} kills, {n_lives + 1} stores brought to their end")
    ok(n_killed == KILLS, f"only {n_killed} kills came before the end of a run")


def check_stops(folder, whole, usual):
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        store, n_stopped = folder / f"stopped{int(number)}.h5", 0
        for _ in range(40 * STOPS):
            if n_stopped >= STOPS:
                break
            run = start(store, "--threads", "2")
            time.sleep(random.random() * usual)
            run.send_signal(number)
            said = run.communicate()[1]
            # before it listens, a signal ends any program
            ok(run.returncode in (0, 5, -number), f"signal {number}: ended with {run.returncode}: {said}")
            if run.returncode == 5:
                told = int(said.split("stopped after ")[1].split()[0])
                ok(said.count("\n") == 1 and rows_in(store) == told, f"signal {number}: {rows_in(store)} flights: {said}")
                n_stopped += 1
            if run.returncode == 0:
                same(ROOT, whole, store)
                remove(store)
        usual_time(store)
        same(ROOT, whole, store)
        ok(n_stopped == STOPS, f"signal {number}: only {n_stopped} runs were stopped")


SMALL_DISK = """set -u
mount -t tmpfs -o size=1500k none "$2" || exit 99
cd "$2"
"$1" fly "$3" -o full.h5 --flights "$4" -q 2>"$5/full.err"; echo $? >"$5/full.code"
"$1" odds full.h5 --json >"$5/full.json"; echo $? >"$5/full.opens"
ls -l >"$5/full.ls"
mount -o remount,size=50m "$2"
"$1" fly "$3" -o full.h5 --flights "$4" --resume -q 2>"$5/again.err"; echo $? >"$5/again.code"
cp full.h5 "$5/full.h5"
rm full.h5
"$1" fly "$3" -o part.h5 --flights 300 -q; cp part.h5 "$5/part-before.h5"
mount -o remount,ro "$2"
"$1" fly "$3" -o new.h5 --flights 8 -q 2>"$5/new.err"; echo $? >"$5/new.code"
"$1" fly "$3" -o part.h5 --flights "$4" --resume -q 2>"$5/ro.err"; echo $? >"$5/ro.code"
"$1" odds part.h5 --json >"$5/ro.json"; echo $? >"$5/ro.opens"
cp part.h5 "$5/part-after.h5"
mount -o remount,rw "$2"
"$1" fly "$3" -o part.h5 --flights "$4" --resume -q 2>"$5/rw.err"; echo $? >"$5/rw.code"
cp part.h5 "$5/part.h5"
"""


def check_small_disk(folder, whole):
    """A tmpfs of 1.5 MB in a mount space of our own (root, or a kernel that lets users have one), later read-only."""
    (folder / "disk").mkdir()
    (folder / "out").mkdir()
    ran = subprocess.run(["unshare", "-rm", "sh", "-c", SMALL_DISK, "-", PROGRAM, folder / "disk", FIRST, str(FLIGHTS), folder / "out"],
                         capture_output=True, text=True)
    ok(ran.returncode == 0, f"no small disk could be mounted: {ran.stderr}")

    def out(name):
        return Path(folder, "out", name).read_text().strip()

    ok(out("full.code") == "4" and out("full.err").count("\n") == 0 and "No space left" in out("full.err"),
       f"a full disk: {out('full.code')}: {out('full.err')}")
    kept = json.loads(out("full.json"))["flights"] if out("full.opens") == "0" else 0
    ok(0 < kept < FLIGHTS and f"{kept} flights are safe" in out("full.err"), f"a full disk keeps {kept}: {out('full.err')}")
    ok("full.h5.tmp" not in out("full.ls"), f"a full disk keeps half a file: {out('full.ls')}")
    ok(out("again.code") == "0", f"resumed with room: {out('again.err')}")
    same(ROOT, whole, folder / "out" / "full.h5")
    for name in ("new", "ro"):
        ok(out(f"{name}.code") == "4" and out(f"{name}.err").startswith("rollcast: ") and "Read-only" in out(f"{name}.err")
           and out(f"{name}.err").count("\n") == 0, f"read-only, {name}: {out(f'{name}.code')}: {out(f'{name}.err')}")
    ok(out("ro.opens") == "0" and json.loads(out("ro.json"))["flights"] == 300, "a read-only store does not open")
    ok(Path(folder, "out", "part-before.h5").read_bytes() == Path(folder, "out", "part-after.h5").read_bytes(), "a store changed")
    ok(out("rw.code") == "0", f"resumed once it can be written: {out('rw.err')}")
    same(ROOT, whole, folder / "out" / "part.h5")


def check_damage(folder, whole):
    """A file that was cut or changed is refused with what to do; a journal is kept up to its last whole record."""
    good, store = whole.read_bytes(), folder / "damaged.h5"
    for n in (0, 1, 100, 512, 4000, len(good) // 2, len(good) - 1):
        store.write_bytes(good[:n])
        for words in (("odds", store), ("fly", FIRST, "-o", store, "--flights", FLIGHTS, "--resume")):
            said = call(*words, code=4).stderr
            ok(said.count("\n") == 1 and "damaged.h5" in said, f"cut to {n}: {said}")
            ok(n <= 512 or "copy" in said, f"cut to {n}: it is not said what to do: {said}")
    for at in random.sample(range(len(good)), 40):
        store.write_bytes(good[:at] + bytes([good[at] ^ 1 << random.randrange(8)]) + good[at + 1:])
        said = call("fly", FIRST, "-o", store, "--flights", FLIGHTS, "--resume", code=4).stderr
        ok(said.count("\n") == 1 and "damaged.h5" in said, f"byte {at} changed: {said}")
    remove(store)
    run = start(store, "--threads", "1")
    journal = Path(f"{store}.journal")
    while run.poll() is None and not (journal.exists() and journal.stat().st_size > 300000):
        time.sleep(0.001)
    run.kill()
    run.communicate()
    rows, kept_store, kept = rows_in(store), store.read_bytes(), journal.read_bytes()
    ok(0 < rows < FLIGHTS, f"{rows} flights in a journal")
    for n in (0, 40, 80, 100, len(kept) // 3, len(kept) - 1):
        store.write_bytes(kept_store)
        journal.write_bytes(kept[:n])
        ok(rows_in(store) <= rows, f"a journal cut to {n} has more flights")
        usual_time(store)
        same(ROOT, whole, store)
    for at in random.sample(range(len(kept)), 10):
        store.write_bytes(kept_store)
        journal.write_bytes(kept[:at] + bytes([kept[at] ^ 16]) + kept[at + 1:])
        ok(rows_in(store) < rows or at >= len(kept) - 500000 or at < 80, f"byte {at} of a journal changed, and nothing is missing")
        usual_time(store)
        same(ROOT, whole, store)


random.seed(20261125)
with tempfile.TemporaryDirectory() as scratch:
    here = Path(scratch)
    alone = here / "whole.h5"
    usual_time(alone)
    remove(here / "timed.h5")
    seconds = usual_time(here / "timed.h5")
    check_small_disk(here, alone)
    check_damage(here, alone)
    check_stops(here, alone, seconds)
    check_kills(here, alone, seconds)
finish()
