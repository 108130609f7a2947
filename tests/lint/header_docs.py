"""Every prototype in every header has a comment, its own or that of the group it stands in without a blank line between.

usage: header_docs.py ROOT"""
import re

import tree


def lint_header(path, source):
    """Problems of one header."""
    is_documented = is_comment = False
    statement, depth = "", 0
    for number, line in enumerate(source.splitlines(), 1):
        if is_comment or line.startswith("/*"):
            is_comment = "*/" not in line
            is_documented = True
            continue
        if depth == 0 and line.startswith("#"):
            continue
        if not line.strip():
            is_documented = is_documented and bool(statement)
            continue
        code = re.sub(r"/\*.*?\*/", "", line)
        if depth == 0:
            if not statement:
                begin = number
            statement += " " + code.strip()
        depth += code.count("{") - code.count("}")
        if depth == 0 and re.search(r"[;}]\s*$", code):
            prototype = re.match(r" (?!typedef|struct \w+ \{|enum \w* ?\{|union)[\w\s*]+?(\w+)\(", statement)
            if prototype and not is_documented:
                yield f"{path}:{begin}: {prototype.group(1)} has no comment"
            statement = ""


def lint(root):
    problems = []
    for path in tree.files(root):
        if re.search(r"^(src|include)/.*\.h$", path):
            problems += lint_header(path, tree.text(root, path))
    return problems


if __name__ == "__main__":
    tree.run(lint)
