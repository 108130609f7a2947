"""The guides keep step with the tree: every file they name exists, every build option and every option of tests/run.sh is in
DEVELOPERS.md, and README.md lists every exit code.

usage: guides.py ROOT"""
import os
import re

import tree

GUIDES = re.compile(r"^(README\.md|DEVELOPERS\.md|src/README\.md|docs/.*\.md)$")
NAMED = re.compile(r"`((?:src|include|tests|campaigns|docs|\.ci)/[\w./-]*\w)`|\]\((?!https?:|#|mailto:)([^)#\s]+)")


def named_files(root, path):
    """Problems with the files one guide names."""
    for number, line in enumerate(tree.text(root, path).splitlines(), 1):
        for whole, link in NAMED.findall(line):
            target = whole or os.path.normpath(os.path.join(os.path.dirname(path), link))
            if "NAME" not in target and not os.path.exists(os.path.join(root, target)):
                yield f"{path}:{number}: names {target}, which does not exist"


def options(root):
    """Options that DEVELOPERS.md does not explain."""
    guide = tree.text(root, "DEVELOPERS.md")
    build = re.findall(r"^(?:option|set)\((RC_\w+)\s", tree.text(root, "CMakeLists.txt"), flags=re.M)
    runner = re.findall(r"^  (--[\w-]+) ", tree.text(root, "tests/run.sh"), flags=re.M)
    for name in build + runner:
        if not re.search(rf"`[^`\n]*{re.escape(name)}\b(?![-\w])", guide):
            yield f"DEVELOPERS.md: does not explain {name}"


def exit_codes(root):
    """Exit codes of the status table that README.md does not list."""
    readme = tree.text(root, "README.md")
    for code in sorted(set(re.findall(r"^RC_STATUS\(\w+,\s*(\d+)", tree.text(root, "src/base/status.def"), flags=re.M))):
        if not re.search(rf"^\| {code} \|", readme, flags=re.M):
            yield f"README.md: exit code {code} of src/base/status.def is not in its table"


def lint(root):
    problems = list(options(root)) + list(exit_codes(root))
    for path in tree.files(root):
        if GUIDES.match(path):
            problems += named_files(root, path)
    return problems


if __name__ == "__main__":
    tree.run(lint)
