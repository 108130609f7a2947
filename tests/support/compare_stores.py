"""Compare stores with the first one: every group, dataset, type, filter, attribute and number, bit by bit.

Usage: compare_stores.py STORE STORE...
Times and host facts are left out. Ends with 1 and says where, if anything differs.
"""
import sys

import h5py
import numpy

APART = {"created", "host"}
REFERENCES = {"REFERENCE_LIST", "DIMENSION_LIST"}  # object addresses: followed by name below


def bits(array):
    array = numpy.asarray(array)
    return array.dtype.str, array.shape, array.tobytes() if array.dtype.kind != "O" else repr(array.tolist())


def facts(path):
    """Name -> everything that counts about it."""
    found = {}
    with h5py.File(path, "r") as file:
        def note(name, item):
            for key in item.attrs:
                if key in APART or key in REFERENCES:
                    continue
                found[f"{name}@{key}"] = bits(item.attrs[key])
            if isinstance(item, h5py.Dataset):
                found[name] = bits(item[()])
                scales = [[scale.name for scale in item.dims[axis].values()] for axis in range(len(item.shape))]
                found[f"{name} layout"] = (item.chunks, item.compression, item.shuffle, item.fletcher32, item.maxshape, scales)

        note("/", file)
        file.visititems(note)
    return found


def main():
    wanted = facts(sys.argv[1])
    n_differing = 0
    for path in sys.argv[2:]:
        got = facts(path)
        for name in sorted(set(wanted) | set(got)):
            if wanted.get(name) != got.get(name):
                print(f"{path}: {name} differs from {sys.argv[1]}", file=sys.stderr)
                n_differing += 1
    if len(wanted) < 10 or len(sys.argv) < 3:
        print("nothing was compared", file=sys.stderr)
        n_differing += 1
    return 1 if n_differing else 0


sys.exit(main())
