"""What all lints share: the files of the tree, and how a lint is run.

A lint is a function that takes the root of a tree (and what else it needs) and returns a list of problems, one line each."""
import os
import shutil
import subprocess
import sys


def files(root):
    """Every file that is or would be under version control, as paths relative to root."""
    if os.path.exists(os.path.join(root, ".git")) and shutil.which("git"):
        listed = subprocess.run(["git", "-c", "safe.directory=*", "-C", root, "ls-files", "-co", "--exclude-standard"],
                                capture_output=True, text=True, check=False)
        if listed.returncode == 0:
            return sorted(f for f in set(listed.stdout.splitlines()) if os.path.isfile(os.path.join(root, f)))
    found = []
    for folder, folders, names in os.walk(root):
        folders[:] = [f for f in folders if f not in (".git", "__pycache__") and not f.startswith("build")]
        found += [os.path.relpath(os.path.join(folder, name), root) for name in names]
    return sorted(found)


def text(root, path):
    """A file's text; bytes that are no UTF-8 are replaced."""
    with open(os.path.join(root, path), encoding="utf-8", errors="replace") as file:
        return file.read()


def module_of(path):
    """The module a file belongs to ("include" for the public headers), or None outside src and include."""
    parts = path.split("/")
    if parts[0] == "src" and len(parts) > 2:
        return parts[1]
    return "include" if parts[0] == "include" else None


def run(lint):
    """Run a lint on the tree and arguments of the command line; print its problems; end with 1 if there are any."""
    problems = lint(*sys.argv[1:])
    for problem in problems:
        print(problem)
    print(f"{len(problems)} problems")
    sys.exit(1 if problems else 0)
