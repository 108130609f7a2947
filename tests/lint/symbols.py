"""What the compiled modules define and call, read with nm from their objects.

A function is named after its file; nothing writable is static; the library neither prints nor ends the process nor handles
signals, and the modules that compute do not touch files.

usage: symbols.py ROOT BUILD"""
import os
import re
import subprocess

import tree

FORBIDDEN = set("""printf vprintf puts putchar putc_unlocked __printf_chk __vprintf_chk perror stdout stderr exit _exit quick_exit
abort atexit signal sigaction raise rand srand random srandom drand48 system popen""".split())
FILES = set("fopen fdopen open fprintf fputs fputc fwrite fread fgets __fprintf_chk unlink rename".split())
COMPUTES_ONLY = {"numeric", "measures", "platform", "flight", "sampling", "analysis"}
WRITABLE = re.compile(r"^(\.data(?!\.rel\.ro)|\.bss|\.tdata|\.tbss|\*COM\*)")


def symbols(path):
    """Symbols of an object as (name, is defined, is exported, section)."""
    def listed(*options):
        lines = subprocess.run(["nm", "-f", "sysv", *options, path], capture_output=True, text=True, check=True).stdout.splitlines()
        rows = [[cell.strip() for cell in line.split("|")] for line in lines]
        return [(row[0], row[2], row[6]) for row in rows if len(row) == 7 and row[0] != "Name"]
    exported = {name for name, _, _ in listed("-g")}
    return [(name, kind != "U", name in exported, section) for name, kind, section in listed()]


def lint_object(path, module):
    """Problems of one object of a module."""
    source = re.sub(r"\.o(bj)?$", "", os.path.basename(path))
    first_word = re.match(r"[A-Za-z0-9]+", source).group(0)
    prefix = f"rc_{first_word}"
    for name, is_defined, is_exported, section in symbols(path):
        plain = name.split(".")[0]
        if not is_defined:
            if module != "cli" and plain in FORBIDDEN:
                yield f"{module}/{source}: uses {plain}; only the command line prints, ends the process or handles signals"
            if module in COMPUTES_ONLY and plain in FILES:
                yield f"{module}/{source}: uses {plain}; {module} computes and touches no files"
            continue
        if is_exported and not name.startswith("__") and \
                not (module == "cli" and plain == "main") and plain != prefix and not plain.startswith(prefix + "_"):
            yield f"{module}/{source}: exports {plain}, which does not begin with {prefix}_"
        if module != "cli" and WRITABLE.match(section) and plain and not plain.startswith("__"):
            yield f"{module}/{source}: {plain} is writable static data (section {section})"


def lint(root, build):
    problems, n_objects = [], 0
    for folder, _, names in os.walk(os.path.join(build, "src")):
        module = re.search(r"rc_(\w+)\.dir|src/(cli)/", folder + "/")
        for name in sorted(names):
            if name.endswith((".o", ".obj")) and module:
                n_objects += 1
                problems += lint_object(os.path.join(folder, name), module.group(1) or module.group(2))
    n_sources = sum(1 for path in tree.files(root) if re.match(r"src/\w+/.*\.c$", path))
    if n_objects == 0 or n_sources == 0:
        problems.append(f"{n_objects} objects of {n_sources} sources found under {build}: nothing to check")
    return sorted(set(problems))


if __name__ == "__main__":
    tree.run(lint)
