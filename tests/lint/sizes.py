"""Length of functions, files and lines; names of files and of test cases; what the top level holds; no paths of one machine, no marks
of a merge.

usage: sizes.py ROOT"""
import collections
import re

import tree

LONGEST_FUNCTION, LONGEST_FILE, LONGEST_LINE = 80, 600, 130
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "CMakeLists.txt", "src", "include", "tests", "campaigns", "docs"}
MAY_REPEAT = {"CMakeLists.txt", "README.md"}
MACHINE_PATH = re.compile(r"(?<![\w.$}])/(?:ho" r"me|ro" r"ot|wo" r"rk|Us" r"ers)/[\w.]")
MERGE_MARK = re.compile(r"(<{7}|>{7}) ")
TEXT = re.compile(r"\.(c|h|cpp|def|py|sh|md|txt|cmake|json|csv|awk|yml|css|js|gp)$|(^|/)(run|\.[\w-]+)$")


def functions(source):
    """(name, first line number, lines) of every function, by house style: its braces stand alone in column 0."""
    lines = source.splitlines()
    begin = None
    for number, line in enumerate(lines, 1):
        if line == "{":
            begin = number
        elif line.startswith("}") and begin is not None:
            head = " ".join(lines[max(0, begin - 5):begin - 1])
            name = re.findall(r"(\w+)\s*\(", head)
            yield (name[-1] if name else "?"), begin, number - begin + 1
            begin = None


def lint_source(path, source):
    """Problems of one C file."""
    if source.count("\n") > LONGEST_FILE:
        yield f"{path}: {source.count(chr(10))} lines, at most {LONGEST_FILE}"
    for name, begin, n_lines in functions(source):
        if n_lines > LONGEST_FUNCTION:
            yield f"{path}:{begin}: {name} has {n_lines} lines, at most {LONGEST_FUNCTION}"
    for number, line in enumerate(source.splitlines(), 1):
        if len(line) > LONGEST_LINE:
            yield f"{path}:{number}: {len(line)} columns, at most {LONGEST_LINE}"
        if "\t" in line or line != line.rstrip():
            yield f"{path}:{number}: a tab or trailing space"
        if re.match(r"(static |const |struct |enum |int |void |double |bool |rc_)[^;=]*\) *\{$", line):
            yield f"{path}:{number}: a function's brace stands alone on its line"
    if not source.lstrip().startswith("/*"):
        yield f"{path}: does not begin with a comment that says what the file does"


def lint_names(paths):
    """File names that stand twice, and entries that do not belong at the top."""
    by_name = collections.defaultdict(list)
    for path in paths:
        by_name[path.split("/")[-1]].append(path)
    for name, where in sorted(by_name.items()):
        # a module's front header may bear the name of the public header it implements
        front = {f"include/rollcast/{name}", f"src/{name[:-2]}/{name}"}
        if len(where) > 1 and name not in MAY_REPEAT and set(where) != front:
            yield f"{name}: the name stands {len(where)} times: {', '.join(where)}"
    for entry in sorted({path.split("/")[0] for path in paths}):
        if entry not in TOP_LEVEL and not entry.startswith("."):
            yield f"{entry}: does not belong at the top level"


def lint_cases(path, source):
    """Cases of a test program are named after it, so that a failure says where it stands."""
    stem = path.split("/")[-1].removesuffix(".c")
    for name in re.findall(r"^static void (test_\w+)\(void \*\*state\)", source, re.M):
        if not name.startswith(f"{stem}__"):
            yield f"{path}: the case {name} does not begin with {stem}__"


def lint(root):
    paths = tree.files(root)
    problems = list(lint_names(paths))
    for path in paths:
        if not TEXT.search(path):
            continue
        source = tree.text(root, path)
        if re.search(r"^(src|include)/.*\.[ch]$", path):
            problems += lint_source(path, source)
        if re.search(r"^tests/.*/test_\w+\.c$", path):
            problems += lint_cases(path, source)
        for number, line in enumerate(source.splitlines(), 1):
            if MERGE_MARK.match(line):
                problems.append(f"{path}:{number}: left by a merge")
            if MACHINE_PATH.search(line):
                problems.append(f"{path}:{number}: a path of one machine")
    return problems


if __name__ == "__main__":
    tree.run(lint)
