"""Every lane loop became vector code, and no multiply was fused with an add.

Compiles each source of the step that holds lane loops as the x86-64-v3 clone is built, without inlining what need not be, and
compares, function by function, the loops that the compiler reports as vectorised with 32-byte vectors with the lane loops that
stand in the function and in the always-inlined functions it calls. Function by function, because the compiler gives a loop the
place of its first statement, which may lie in a header. Then looks for fused instructions in the same sources as the library has
them, and with one lane: gcc 12's switch against them does not cover the add-and-subtract patterns that it finds in scalar code.

usage: vector_report.py ROOT COMPILER [FLAG...]"""
import collections
import glob
import os
import re
import subprocess
import sys
import tempfile

LOOP = re.compile(r"\bRC_FOR_LANES\(|#pragma omp simd")
REDUCTION = re.compile(r"#pragma omp simd reduction")
CALL = re.compile(r"\b(\w+)\s*\(")
FUSED = re.compile(r"\bvfn?m(add|sub)\w*")
FOLDERS = ("numeric", "measures", "platform", "platform/drives", "flight")


def functions(source):
    """(name, whether always inlined, body without comments) of every function, by house style: braces alone in column 0."""
    source = re.sub(r"/\*.*?\*/", "", source, flags=re.S)
    lines = source.splitlines()
    begin = None
    for number, line in enumerate(lines):
        if line == "{":
            begin = number
        elif line.startswith("}") and begin is not None:
            first = begin - 1
            while first > 0 and lines[first - 1].strip() and not re.search(r"[;}]\s*$|^#", lines[first - 1]):
                first -= 1
            head = " ".join(lines[first:begin])
            name = CALL.search(head.replace("__attribute__", ""))
            if name:
                yield name.group(1), "RC_INLINE" in head, "\n".join(lines[begin:number])
            begin = None


def expected(path, inlined):
    """Lane loops by function of one source file, those of always-inlined functions counted where they are called."""
    own = dict(inlined)
    bodies = {}
    for name, is_inlined, body in functions(open(path, encoding="utf-8").read()):
        (own if is_inlined else bodies)[name] = body

    def count(body, depth=0):
        # A reduction over lanes is three loops to the compiler: it clears its array, fills it and adds it up.
        n_loops = len(LOOP.findall(body)) + 2 * len(REDUCTION.findall(body))
        for callee in CALL.findall(body):
            if callee in own and depth < 8:
                n_loops += count(own[callee], depth + 1)
        return n_loops

    return {name: count(body) for name, body in bodies.items() if count(body) > 0}


def compile_one(root, command, path, target):
    """Compile one file; a failure ends the program."""
    subprocess.run([*command, f"-I{root}/include", f"-I{root}/src", "-c", path, "-o", target], check=True)


def reported(root, command, path, folder):
    """Loops by function that the compiler reports as vectorised with 32-byte vectors."""
    dump = os.path.join(folder, "dump")
    # Only functions declared inline may move, and a loop stays one loop.
    still = ["-fno-inline-functions", "-fno-inline-small-functions", "-fno-inline-functions-called-once",
             "-fno-partial-inlining", "-fno-ipa-cp", "-fno-ipa-sra", "-fno-ipa-icf", "-fno-tree-loop-distribution",
             "-fno-tree-loop-distribute-patterns"]
    compile_one(root, [*command, "-DRC_LANES=16", "-march=x86-64-v3", *still, f"-fdump-tree-vect-optimized={dump}"], path,
                os.path.join(folder, "object.o"))
    found, name = collections.Counter(), None
    for line in open(dump, encoding="utf-8"):
        head = re.match(r";; Function (\w+)", line)
        name = head.group(1) if head else name
        found[name] += "loop vectorized using 32 byte vectors" in line
    return found


def fused(root, command, path, lanes, folder):
    """Fused instructions in the file's object code, all clones."""
    target = os.path.join(folder, "object.o")
    compile_one(root, [*command, f"-DRC_LANES={lanes}", "-DRC_DISPATCH=1"], path, target)
    listing = subprocess.run(["objdump", "-d", "--no-show-raw-insn", target], check=True, capture_output=True, text=True)
    return sorted({match.group(0) for match in FUSED.finditer(listing.stdout)})


def main(root, compiler, *flags):
    command = [compiler, "-std=c11", "-D_POSIX_C_SOURCE=200809L", "-fPIC", *flags]
    problems, n_loops = [], 0
    headers = [h for folder in FOLDERS for h in sorted(glob.glob(f"{root}/src/{folder}/*.h"))]
    inlined = {name: body for h in headers for name, is_inlined, body in functions(open(h, encoding="utf-8").read()) if is_inlined}
    with tempfile.TemporaryDirectory() as folder:
        for path in [c for f in FOLDERS for c in sorted(glob.glob(f"{root}/src/{f}/*.c"))]:
            short = os.path.relpath(path, root)
            wanted = expected(path, inlined)
            if not wanted:
                continue
            found = reported(root, command, path, folder)
            for name, n in sorted(wanted.items()):
                n_loops += n
                print(f"{short}: {name}: {found[name]} of {n} loops")
                if found[name] < n:
                    problems.append(f"{short}: {name}: {n - found[name]} of {n} loops are not 32-byte vector code")
            for lanes in (1, 16):
                for instruction in fused(root, command, path, lanes, folder):
                    problems.append(f"{short}: {lanes} lanes: fused instruction {instruction}: its bits differ from code without it")
    if n_loops == 0:
        problems.append("no lane loop found: the script no longer understands the source")
    for problem in problems:
        print(problem)
    print(f"{n_loops} lane loops, {len(problems)} problems")
    sys.exit(1 if problems else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
