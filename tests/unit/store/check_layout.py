"""What the packaged h5py finds in a store, against the numbers that were handed to the writer.

Usage: check_layout.py STORE RAW N   (RAW: N x 7 doubles, then N x 2 x 5 bin numbers)
"""
import sys

import h5py
import numpy

NAMES = ["quantities/fins[0].cant_deg", "quantities/drive.floor_dps", "measures/held_fraction", "measures/apogee_m",
         "criteria/clip | long", "criteria/all together", "end"]
UNITS = ["deg", "deg/s", "1", "m", "1", "1", "1"]
EDGES = [-16.0, -8.0, -4.0, -2.0, -1.0, 1.0, 2.0, 4.0, 8.0, 16.0]
SIGNALS = [("roll", "deg/s"), ("height", "m")]

store_path, raw_path, n = sys.argv[1], sys.argv[2], int(sys.argv[3])
raw = open(raw_path, "rb").read()
rows = numpy.frombuffer(raw, "<f8", n * len(NAMES)).reshape(n, len(NAMES))
bins = numpy.frombuffer(raw, "<u2", offset=rows.nbytes).reshape(n, 2, 5)

with h5py.File(store_path, "r") as store:
    attrs = store.attrs
    assert attrs["format"] == "rollcast-store" and attrs["format_version"] == 1
    assert attrs["campaign"] == "made up \u00e4" and attrs["seed"] == 20261125 and attrs["version"] == "0.0.1"
    assert attrs["flights"] == n and attrs["flights_asked"] == n and attrs["finished"] == 1
    assert attrs["host"] == "compiler: a\nsystem: b\n" and attrs["created"].endswith("Z")
    assert store["campaign/text"].attrs["name"] == "made.json"
    assert store["campaign/text"][()] == '{"name": "made up \u00e4"}\n'.encode()
    assert store["campaign/table_1"].attrs["name"] == "tables/thrust.csv"
    assert store["campaign/table_1"][()] == b"time_s,thrust_N\n0,100\n1,0\n"
    assert store["campaign/table_2"].attrs["n_bytes"] == 0
    assert [name.decode() for name in store["columns"][()]] == NAMES

    flight = store["flight"]
    assert h5py.h5ds.is_scale(flight.id) and flight.dtype == "<i8" and numpy.array_equal(flight[()], numpy.arange(n))
    for index, name in enumerate(NAMES):
        column = store[name]
        assert column.dtype == "<f8" and column.shape == (n,) and column.chunks == (4096,)
        assert column[()].tobytes() == rows[:, index].tobytes(), name
        assert column.attrs["units"] == UNITS[index] and len(column.attrs["long_name"]) > 0
        assert column.dims[0][0] == flight

    bands = store["bands"]
    assert [name.decode() for name in bands["signals"][()]] == [name for name, _ in SIGNALS]
    assert numpy.array_equal(bands["time"][()], numpy.arange(5) * 0.5) and bands["time"].attrs["units"] == "s"
    assert numpy.array_equal(bands["bin_edge"][()], EDGES)
    assert numpy.array_equal(bands["percent"][()], [5, 25, 50, 75, 95])
    for index, (name, unit) in enumerate(SIGNALS):
        counts = numpy.stack([numpy.bincount(bins[:, index, time][bins[:, index, time] < 9], minlength=9) for time in range(5)])
        band = bands[name]
        assert band["counts"].dtype == "<u8" and numpy.array_equal(band["counts"][()], counts)
        assert numpy.array_equal(band["n"][()], counts.sum(axis=1))
        assert band["percentiles"].attrs["units"] == unit
        assert band["percentiles"].dims[0][0] == bands["percent"] and band["percentiles"].dims[1][0] == bands["time"]
        for time in range(5):
            # The value below which a share lies: the inverse of the cumulated counts, straight between the edges.
            below = numpy.concatenate([[0], numpy.cumsum(counts[time])]) / counts[time].sum()
            wanted = numpy.interp([0.05, 0.25, 0.5, 0.75, 0.95], below, EDGES)
            numpy.testing.assert_allclose(band["percentiles"][:, time], wanted, rtol=1e-12, atol=1e-12)
