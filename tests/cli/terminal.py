"""What only a terminal shows: the rewritten progress line and the coloured verdict, and that NO_COLOR takes the colour away.

usage: terminal.py PROGRAM ROOT"""
import fcntl
import os
import pty
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import termios

program, root = sys.argv[1:3]
problems = []


def on_terminal(*words, columns=132, **variables):
    """Everything the program writes to a terminal of that width, and its exit code."""
    environment = {**os.environ, "TERM": "xterm", **variables}
    environment = {name: value for name, value in environment.items() if value is not None}
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("4H", 24, columns, 0, 0))
    process = subprocess.Popen([program, *words], stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs, env=environment)
    os.close(theirs)
    shown = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:
            break
        if not piece:
            break
        shown += piece
    os.close(ours)
    return shown.decode(), process.wait()


def hold(name, is_true):
    if not is_true:
        problems.append(name)


with tempfile.TemporaryDirectory() as scratch:
    for name in os.listdir(root + "/campaigns"):
        if name.endswith((".json", ".csv")):
            shutil.copy(f"{root}/campaigns/{name}", scratch)
    os.chdir(scratch)
    shown, code = on_terminal("fly", "first.json", "-o", "s.h5", "--flights", "6000", "--threads", "1", NO_COLOR=None)
    hold(f"fly ended with {code}", code == 0)
    hold("no progress on a terminal", "\r" in shown and " of 6000 flights (" in shown and " to go" in shown and "odds so far" in shown)
    hold("progress took more than its one line", shown.count("\n") == 1)
    hold("no closing line", shown.rstrip().endswith("next: rollcast odds s.h5"))
    lines = [line for line in re.split("[\r\n]", shown) if line.strip() and "next:" not in line]
    hold(f"no interval in {lines}", all(re.search(r"odds so far [\d.]+ % \([\d.]+ to [\d.]+ %\)", line) for line in lines))
    for columns in (80, 40):
        shown, _ = on_terminal("fly", "first.json", "-o", f"n{columns}.h5", "--flights", "6000", "--threads", "1", columns=columns)
        lines = [line for line in re.split("[\r\n]", shown) if "next:" not in line]
        hold(f"a line of {max(map(len, lines))} on {columns} columns", max(map(len, lines)) < columns)
        hold(f"no odds on {columns} columns", columns == 40 or "odds so far" in shown)
    shown, _ = on_terminal("fly", "first.json", "-o", "q.h5", "--flights", "32", "--quiet")
    hold("--quiet is not quiet", shown == "")
    shown, _ = on_terminal("odds", "s.h5", NO_COLOR=None)
    hold("no colour on a terminal", shown.startswith("\033[1;3") and "\033[0m: " in shown)
    for variables in ({"NO_COLOR": "1"}, {"NO_COLOR": None, "TERM": "dumb"}, {"NO_COLOR": None, "TERM": None}):
        shown, _ = on_terminal("odds", "s.h5", **variables)
        hold(f"colour in spite of {variables}", "\033" not in shown and "Caution" in shown)
    shown, _ = on_terminal("odds", "s.h5", "--json", NO_COLOR=None)
    hold("colour in JSON", "\033" not in shown and shown.startswith("{"))

print(*problems, sep="\n")
print(f"{len(problems)} problems")
sys.exit(1 if problems else 0)
