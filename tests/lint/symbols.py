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


def listed(paths, *options):
    """What nm lists of each object: {path: [(name, class, section)]}."""
    rows, path = {path: [] for path in paths}, None
    lines = subprocess.run(["nm", "-f", "sysv", *options, *paths], capture_output=True, text=True, check=True).stdout
    for line in lines.splitlines():
        heading = re.match(r"(?:Symbols|Undefined symbols) from (.*):$", line)
        cells = [cell.strip() for cell in line.split("|")]
        if heading:
            path = heading.group(1)
        elif len(cells) == 7 and cells[0] != "Name":
            rows[path].append((cells[0], cells[2], cells[6]))
    return rows


def lint_object(path, module, symbols, exported):
    """Problems of one object of a module. What the compiler makes for itself begins with a dot or two underscores."""
    source = re.sub(r"\.o(bj)?$", "", os.path.basename(path))
    first_word = re.match(r"[A-Za-z0-9]+", source).group(0)
    prefix = f"rc_{first_word}"
    for name, kind, section in symbols:
        plain = name.split(".")[0]
        if kind == "U":
            if module != "cli" and plain in FORBIDDEN:
                yield f"{module}/{source}: uses {plain}; only the command line prints, ends the process or handles signals"
            if module in COMPUTES_ONLY and plain in FILES:
                yield f"{module}/{source}: uses {plain}; {module} computes and touches no files"
            continue
        if not plain or plain.startswith("__"):
            continue
        if name in exported and not (module == "cli" and plain == "main") and plain != prefix and \
                not plain.startswith(prefix + "_"):
            yield f"{module}/{source}: exports {plain}, which does not begin with {prefix}_"
        if module != "cli" and WRITABLE.match(section):
            yield f"{module}/{source}: {plain} is writable static data (section {section})"


def lint(root, build):
    modules = {}
    for folder, _, names in os.walk(os.path.join(build, "src")):
        module = re.search(r"rc_(\w+)\.dir|src/(cli)/", folder + "/")
        for name in names:
            # an object whose source was renamed may still lie about
            source = os.path.join(root, "src", module.group(1) or module.group(2), re.sub(r".*\.dir/?", "", folder),
                                  re.sub(r"\.o(bj)?$", "", name)) if module else ""
            if name.endswith((".o", ".obj")) and os.path.isfile(source):
                modules[os.path.join(folder, name)] = module.group(1) or module.group(2)
    problems = []
    if modules:
        symbols, exported = listed(list(modules)), listed(list(modules), "-g")
        for path, module in modules.items():
            problems += lint_object(path, module, symbols[path], {name for name, _, _ in exported[path]})
    n_sources = sum(1 for path in tree.files(root) if re.match(r"src/\w+/.*\.c$", path))
    if not modules or n_sources == 0:
        problems.append(f"{len(modules)} objects of {n_sources} sources found under {build}: nothing to check")
    return sorted(set(problems))


if __name__ == "__main__":
    tree.run(lint)
