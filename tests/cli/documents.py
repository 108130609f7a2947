"""Every command and snippet of README.md and docs/ is run: the tutorial from an empty folder to its decision, Python and Octave on a store,
campaigns in JSON, command lines. What holds placeholders (STORE, CAMPAIGN) is held against the program's commands and options.

usage: documents.py PROGRAM ROOT [long]   with long: what takes long or needs more, the Octave snippets and README's answer, alone"""
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

program, root = os.path.abspath(sys.argv[1]), sys.argv[2]
only_long = sys.argv[3:] == ["long"]
scratch = tempfile.mkdtemp()
os.chdir(scratch)
environment = {**os.environ, "PATH": os.path.dirname(program) + ":" + os.environ["PATH"]}
n_run, problems = 0, []
pages = [root + "/README.md", *sorted(glob.glob(root + "/docs/*.md"))]
help_texts = {}


def run(*words, text=None):
    return subprocess.run(words, input=text, capture_output=True, text=True, env=environment)


def must(ended, what):
    global n_run
    n_run += 1
    if ended.returncode != 0:
        problems.append(f"{what}: {ended.returncode}: {ended.stderr.strip()[-300:]}")
    return ended.stdout


def blocks(text):
    """(language, block) of each fenced block, and ("", block) of each indented one that no list claims."""
    fenced = re.findall(r"^```(\w*)\n(.*?)^```$", text, re.S | re.M)
    rest = re.sub(r"^```.*?^```$", "", text, flags=re.S | re.M)
    indented = [("", re.sub(r"^    ", "", block, flags=re.M)) for block in re.findall(r"(?:(?<=\n\n)|\A)((?:    [^\n]*\n(?:\n(?=    ))?)+)", rest)]
    return fenced + indented


def command_help(command):
    if command not in help_texts:
        ended = run(program, command, "--help")
        help_texts[command] = ended.stdout if ended.returncode == 0 else None
    return help_texts[command]


def check_line(line, where):
    """A command line: run where it is complete, otherwise its words are the program's."""
    global n_run
    line = re.sub(r" +#.*", "", line)
    line = re.sub(r"  +[a-z].*", "", line) # what it does, set off by blanks
    words = line.split()
    if re.search(r"\b[A-Z]{3,}\b|\[|\.\.\.|first\.html|FILE|\bN\b", line):
        n_run += 1
        known = command_help(words[1])
        if words[1] != "COMMAND" and known is None:
            problems.append(f"{where}: '{line}': no such command")
        for option in re.findall(r"--[a-z-]+", line):
            if known and option not in known:
                problems.append(f"{where}: '{line}': {words[1]} has no {option}")
        return
    must(run("sh", "-c", line), f"{where}: {line}")


for name, flights in (("first", 200), ("stepper", 100), ("servo", 100)):
    shutil.copy(f"{root}/campaigns/{name}.json", ".")
    if only_long and name != "first":
        continue
    for table in glob.glob(root + "/campaigns/*.csv"):
        shutil.copy(table, ".")
    must(run("rollcast", "fly", name + ".json", "-o", name + ".h5", "--flights", str(flights), "-q"), name)

for path in pages:
    where = os.path.relpath(path, root)
    for language, block in blocks(open(path, encoding="utf-8").read()):
        if only_long:
            if language == "octave":
                said = must(run("octave", "--no-gui", "--quiet", "--eval", block), where + ": octave")
                if not re.search(r"held 0\.\d+ of the ascent", said):
                    problems.append(f"{where}: octave said {said!r}")
        elif language == "python":
            must(run(sys.executable, "-c", block), where + ": python")
        elif language == "sh":
            pass # as a whole below
        elif language == "" and block.lstrip().startswith("{"):
            json.loads(block)
            open("snippet.json", "w").write(block)
            must(run("rollcast", "check", "snippet.json"), where + ": JSON")
        elif language == "":
            for line in block.splitlines():
                if line.startswith("rollcast "):
                    check_line(line, where)
                elif re.match(r"sh \S+\.sh", line) and not os.path.exists(os.path.join(root, line.split()[1])):
                    problems.append(f"{where}: {line}: no such script")
        elif language != "octave":
            problems.append(f"{where}: a block of {language}, which nobody runs")

if not only_long:
    os.mkdir("empty")
    os.chdir("empty")
    script = "".join(block for language, block in blocks(open(root + "/docs/tutorial.md", encoding="utf-8").read()) if language == "sh")
    said = must(run("sh", "-eu", text=script), "the tutorial")
    n_run += len(re.findall("^rollcast ", script, re.M))
    for words in (r"Best: 0\.3 deg, \d\d\.\d % of 600 flights", r"0\.2 .*\n0\.3 .* \*", "NO-GO: short of the odds asked: steady, all together.", "C would be flown: it alone is GO.", r"drive\.floor_dps +\d",
                  r"fins\[0\]\.misalignment_deg \(3\) +6\d\.\d"): # what the tutorial's text says
        if not re.search(words, said):
            problems.append(f"the tutorial does not come to /{words}/")
    page = open("decision.html", encoding="utf-8").read() if os.path.exists("decision.html") else ""
    if not all(words in page for words in ('download="trade.csv"', "A: Wren</text>", "Not marked: C: Wren, finer drive differs from")):
        problems.append("the tutorial's page does not show its trade")
    if not os.path.exists("decision.html") or not os.path.exists("flight.csv"):
        problems.append("the tutorial leaves no page or no flight")

if only_long: # each line of the answer that README shows is one of the program's
    shown = re.search(r"^    NO-GO:.*?(?=^\S)", open(root + "/README.md", encoding="utf-8").read(), re.S | re.M)[0]
    must(run("rollcast", "fly", "first.json", "-o", "readme.h5", "-q"), "README's campaign")
    answered = must(run("rollcast", "odds", "readme.h5"), "README's answer").splitlines()
    lines = [line[4:] for line in shown.splitlines() if line.strip()]
    problems += [f"README.md: not in the answer: '{line}'" for line in lines if line not in answered]
    n_run += len(lines)

os.chdir("/")
shutil.rmtree(scratch)
print(*problems, sep="\n")
print(f"{n_run} commands and snippets, {len(problems)} problems")
sys.exit(1 if problems or n_run < (25 if only_long else 20) else 0)
