"""Arrows go only down: every #include against the table "Order of modules" in DEVELOPERS.md.

usage: layers.py ROOT"""
import os
import re

import tree

# Headers of the language and of POSIX; anything else in angle brackets is third-party and needs a cell in the table.
STANDARD = set("""assert complex ctype errno fenv float inttypes iso646 limits locale math setjmp signal stdalign stdarg stdatomic
stdbool stddef stdint stdio stdlib stdnoreturn string tgmath time uchar wchar wctype
dirent fcntl libgen pthread spawn strings sys/file sys/mman sys/stat sys/statvfs sys/time sys/types sys/utsname sys/wait termios
sys/ioctl sys/resource unistd""".split())


def table(root):
    """Rows of the table as {module: (public headers it implements, what it may include, headers open to others, third-party)}."""
    rows = {}
    cells_of = re.compile(r"^\| `(\w+)` \|(.*)\|\s*$")
    section = re.split(r"^#+ Order of modules\s*$", tree.text(root, "DEVELOPERS.md"), flags=re.M)
    if len(section) != 2:
        return rows
    for line in re.split(r"^#+ ", section[1], flags=re.M)[0].splitlines():
        match = cells_of.match(line)
        if match:
            cells = [re.findall(r"`([^`]+)`", cell) for cell in match.group(2).split("|")]
            rows[match.group(1)] = tuple((cells + [[]] * 4)[:4])
    return rows


def resolve(root, path, name):
    """Where a quoted include leads, relative to root, or None."""
    for folder in (os.path.dirname(path), "src", "include"):
        candidate = os.path.normpath(os.path.join(folder, name))
        if os.path.isfile(os.path.join(root, candidate)):
            return candidate
    return None


def quoted(root, rows, path, name):
    """What is wrong with one quoted include, or None."""
    here, target = tree.module_of(path), resolve(root, path, name)
    if target is None:
        return f"includes \"{name}\", which does not exist"
    there = tree.module_of(target)
    if there == here:
        return None
    if there == "include":
        public = os.path.relpath(target, "include")
        owner = next((module for module, row in rows.items() if public in row[0]), None)
        if here == "cli" or public in rows[here][1] or owner == here or owner in rows[here][1]:
            return None
        return f"includes \"{public}\", which {here} may not see"
    if here == "include":
        return f"a public header includes \"{name}\" from src"
    if there not in rows[here][1]:
        return f"includes \"{name}\": {here} may not include {there}"
    if os.path.basename(target) not in rows[there][2]:
        return f"includes \"{name}\", which is private to {there}"
    return None


def lint(root):
    rows = table(root)
    if not rows:
        return ["DEVELOPERS.md: no table under the heading \"Order of modules\""]
    problems = []
    for path in tree.files(root):
        here = tree.module_of(path)
        if here is None or not re.search(r"\.(c|h|def)$", path):
            continue
        if here != "include" and here not in rows:
            problems.append(f"{path}: folder {here} is not in the table of DEVELOPERS.md")
            continue
        for number, line in enumerate(tree.text(root, path).splitlines(), 1):
            wrong = None
            include = re.match(r'\s*#\s*include\s*(["<])([^">]+)[">]', line)
            if include and include.group(1) == '"':
                wrong = quoted(root, rows, path, include.group(2))
            elif include:
                name = include.group(2)
                if re.sub(r"\.h$", "", name) not in STANDARD and (here == "include" or name not in rows[here][3]):
                    wrong = f"includes <{name}>: not a standard header, and not {here}'s third-party library"
            elif re.match(r"\s*#\s*pragma\s+omp\s+(?!simd|declare\s+simd|ordered\s+simd)", line) and \
                    (here == "include" or "omp.h" not in rows[here][3]):
                wrong = f"an OpenMP directive that makes or needs threads; {here} has none"
            if wrong:
                problems.append(f"{path}:{number}: {wrong}")
    return problems


if __name__ == "__main__":
    tree.run(lint)
