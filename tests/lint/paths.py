"""A place of a campaign that a source names by its literal path and that no table knows: a row renamed there would leave a check, a warning
or a switch that never fires. Places are entries, and the objects and lists on the way to one.

usage: paths.py ROOT"""
import re

import tree

CALL = re.compile(r'\b(?:is_given|rc_read_node|rc_read_warn|rc_read_report)\(reader,\s*"([^"]*)"')
IN_TABLE = re.compile(r'[{,]\s*"([a-z_]+(?:\[\])?(?:\.[A-Za-z0-9_]+(?:\[\])?)+)"')


def known_places(root):
    known = {""}
    for table in ("quantities.def", "settings.def"):
        for path in re.findall(r'^RC_\w+\("([^"]+)"', tree.text(root, f"src/campaign/{table}"), re.M):
            parts = path.split(".")
            known |= {".".join(parts[:n]) for n in range(1, len(parts) + 1)}
    return known | {path.removesuffix("[]") for path in known} # a list as a whole; one number that stands for every fin


def lint(root):
    sources = [path for path in tree.files(root) if re.fullmatch(r"src/(campaign|report|batch|platform)/.*\.c", path)]
    if not any(path.startswith("src/campaign/") for path in sources):
        return []
    known, problems = known_places(root), []
    for source in sources:
        text = tree.text(root, source)
        for path in sorted(set(CALL.findall(text) + IN_TABLE.findall(text))):
            if re.sub(r"\[(?:\d+|%d)\]", "[]", path) not in known:
                problems.append(f"{source}: no entry of a campaign is called {path}")
    return problems


if __name__ == "__main__":
    tree.run(lint)
