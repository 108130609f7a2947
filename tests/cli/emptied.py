"""Take all flights out of a store, as if its run had been stopped before the first.

usage: emptied.py STORE"""
import sys

import h5py

from reseal import seal

with h5py.File(sys.argv[1], "r+") as store:
    store.attrs.modify("flights", 0)
    store.attrs.modify("finished", 0)
    for group in ("criteria", "measures", "quantities"):
        for column in store[group].values():
            column.resize((0,))
    store["end"].resize((0,))
    store["flight"].resize((0,))
seal(sys.argv[1])
