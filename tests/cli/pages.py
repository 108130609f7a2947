"""Help and docs/commands.md name the same commands, options, values and defaults; its exit codes are those of status.def.

usage: pages.py PROGRAM ROOT"""
import re
import subprocess
import sys

program, root = sys.argv[1:3]
problems = []


def help_of(*words):
    return subprocess.run([program, *words, "--help"], capture_output=True, text=True, check=True).stdout


def options_of(text):
    """(letter, name, value) of each option line of a help page."""
    return {(m.group(1) or "", m.group(2), m.group(3) or "")
            for m in re.finditer(r"^  (?:(-\w), |    )--([a-z-]+)(?: ([A-Z/]+))? ", text, re.M)}


page = open(root + "/docs/commands.md", encoding="utf-8").read()
sections = {m.group(1): m.group(2) for m in re.finditer(r"^## rollcast (\w+)[^\n]*\n(.*?)(?=^## |\Z)", page, re.M | re.S)}
verbs = re.findall(r"^  ([a-z]+) +[a-z]", help_of().split("Commands:")[1].split("Options:")[0], re.M)
if sorted(verbs) != sorted(sections) or not verbs:
    problems.append(f"help has the commands {sorted(verbs)}, docs/commands.md has {sorted(sections)}")
n_options = 0
for verb in verbs:
    helped = options_of(help_of(verb)) - {("-h", "help", "")}
    written = {(m.group(1) or "", m.group(2), m.group(3) or "")
               for m in re.finditer(r"^\| `(?:(-\w), )?--([a-z-]+)(?: ([A-Z/]+))?` \|", sections.get(verb, ""), re.M)}
    n_options += len(helped)
    if helped != written:
        problems.append(f"{verb}: only in the help {sorted(helped - written)}, "
                        f"only in docs/commands.md {sorted(written - helped)}")
    usage = help_of(verb).splitlines()[0].replace("Usage: ", "")
    if usage not in page:
        problems.append(f"{verb}: docs/commands.md lacks '{usage}'")

codes = dict(re.findall(r"^RC_STATUS\((\w+), +(\d+)", open(root + "/src/base/status.def", encoding="utf-8").read(), re.M))
written = dict(re.findall(r"^\| (\d+) \| ([^|]+) \|", page, re.M))
wanted = set(codes.values()) | {"1"}
if set(written) != wanted:
    problems.append(f"exit codes in docs/commands.md {sorted(written)}, in status.def and odds --strict {sorted(wanted)}")
helped = re.search(r"Exit codes: (.*)\Z", help_of(), re.S).group(1)
for code in wanted:
    if not re.search(rf"\b{code} \w", helped):
        problems.append(f"the help lacks exit code {code}")

print(*problems, sep="\n")
print(f"{len(verbs)} commands, {n_options} options, {len(written)} exit codes, {len(problems)} problems")
sys.exit(1 if problems or n_options == 0 else 0)
