"""A copy of a campaign or an answer with one place changed."""
import copy


def altered(node, path, change):
    """in path: keys and numbers of list members; ends a copy in which `change` stands there, or nothing where it is None."""
    made = copy.deepcopy(node)
    parent = made
    for step in path[:-1]:
        parent = parent[step]
    if change is None:
        del parent[path[-1]]
    else:
        parent[path[-1]] = change
    return made
