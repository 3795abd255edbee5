#!/usr/bin/env python3
"""Makes the fixtures with lists of events. h5py and numpy only; run by hand.

The events of a bank add up to the first 8 rows of the frame of make-format-fixtures.py, modulo 10: 8 rows of 37 columns,
count(x, y) = ((7 x + 13 y y) mod 251) mod 10. They come in a random order, in pulses of uneven length.
"""
import pathlib

import h5py
import numpy as np

OUT = pathlib.Path(__file__).resolve().parent.parent / "fixtures"
HEIGHT, WIDTH = 8, 37
y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
FRAME = (7 * x + 13 * y * y) % 251 % 10
EVENTS = int(FRAME.sum())
draw = np.random.default_rng(5)


def group(parent, name, nx_class):
    made = parent.create_group(name)
    made.attrs["NX_class"] = nx_class
    return made


def bank(file, name, numbers=None):
    entry = group(file, name, "NXentry")
    detector = group(group(entry, "instrument", "NXinstrument"), "rear", "NXdetector")
    for key, value in (("x_pixel_size", 5.5), ("y_pixel_size", 4.25)):
        detector[key] = value
        detector[key].attrs["units"] = "mm"
    if numbers is not None:
        detector["detector_number"] = numbers
    return entry, detector


def pulses(events, n=6):
    """First event of each pulse: the third is empty, and so is the last."""
    cuts = np.sort(draw.integers(0, events, n - 2))
    return np.concatenate([[0], cuts[:2], cuts[1:2], cuts[2:], [events]]).astype("u8")


def events(parent, ids, times=None, index=None, **store):
    data = group(parent, "rear_events", "NXevent_data")
    data.create_dataset("event_id", data=ids, **(store or {"compression": "gzip"}))
    if times is not None:
        data.create_dataset("event_time_offset", data=times, compression="gzip")
        data["event_time_offset"].attrs["units"] = "us"
    index = pulses(len(ids)) if index is None else index
    data["event_index"] = index
    data["event_time_zero"] = np.arange(len(index)) * 0.04
    data["event_time_zero"].attrs.update({"units": "s", "offset": "2026-03-01T10:00:00Z"})
    return data


def shuffled(numbers):
    """One id for each count of the frame, in a random order."""
    ids = np.repeat(numbers.reshape(-1), FRAME.reshape(-1))
    draw.shuffle(ids)
    return ids


plain = np.arange(HEIGHT * WIDTH).reshape(HEIGHT, WIDTH)
# Rows far apart, each from right to left.
gaps = y * 100_000 + (WIDTH - x) * 3 + 7
with h5py.File(OUT / "events.h5", "w", libver="latest") as f:
    for code in ("i4", "u4", "i8", "u8"):
        entry, _ = bank(f, code, plain.astype(code))
        events(entry, shuffled(plain).astype(code))
    entry, detector = bank(f, "gaps", gaps.astype("i4"))
    events(entry, shuffled(gaps).astype("u4"))
    # The list lies in the detector, which has another one's name beside it.
    entry, detector = bank(f, "inside", plain.astype("i4"))
    group(entry["instrument"], "front", "NXdetector")["detector_number"] = (plain + 5000).astype("i4")
    events(detector, shuffled(plain).astype("u4"))
    entry, _ = bank(f, "unknown", plain.astype("i4"))
    ids = np.concatenate([shuffled(plain), [-1, 5000, 5000, 2**31 - 1]]).astype("i4")
    draw.shuffle(ids)
    events(entry, ids)
    entry, _ = bank(f, "all_unknown", plain.astype("i4"))
    events(entry, shuffled(plain + 1000).astype("u4"))
    entry, _ = bank(f, "wrong_index", plain.astype("i4"))
    events(entry, shuffled(plain).astype("u4"), index=np.array([5, 3, EVENTS + 9], "u8"))
    entry, _ = bank(f, "no_numbers")
    events(entry, shuffled(plain).astype("u4"))
    entry, _ = bank(f, "none", plain.astype("i4"))
    events(entry, np.zeros(0, "u4"), index=np.zeros(3, "u8"), chunks=(16,), maxshape=(None,))
    entry, detector = bank(f, "list", plain.reshape(-1).astype("i4"))
    detector["x_pixel_offset"] = (np.arange(WIDTH) - WIDTH / 2) * 5.5
    detector["y_pixel_offset"] = (np.arange(HEIGHT) - HEIGHT / 2) * 4.25
    events(entry, shuffled(plain).astype("u4"))
    entry, _ = bank(f, "list_without_shape", plain.reshape(-1).astype("i4"))
    events(entry, shuffled(plain).astype("u4"))
    entry, _ = bank(f, "tubes", plain.reshape(4, 2, WIDTH).astype("i4"))
    events(entry, shuffled(plain).astype("u4"))
    # Three times of flight: the frame in each; one event before the first edge, two after the last, one at the last.
    entry, detector = bank(f, "flight", plain.astype("i4"))
    detector["time_of_flight"] = np.array([1.0, 2.0, 4.0, 8.0])
    detector["time_of_flight"].attrs["units"] = "ms"
    ids = np.concatenate([np.tile(plain.repeat(FRAME.reshape(-1)), 3), [0, 0, 0, 0]]).astype("u4")
    times = np.concatenate([draw.uniform(low, high, EVENTS) for low, high in ((1000, 1999), (2000, 3999), (4000, 7999))]
                           + [[999.0, 8001.0, np.nan, 8000.0]]).astype("f4")
    order = draw.permutation(len(ids))
    events(entry, ids[order], times[order])
    entry, detector = bank(f, "beside_a_frame", plain.astype("i4"))
    detector["data"] = FRAME.astype("u2")
    events(entry, shuffled(plain).astype("u4"))
    bank(f, "empty")
    entry, detector = bank(f, "monitor", plain.astype("i4"))
    detector["data"] = FRAME.astype("u2")
    events(group(entry, "control", "NXmonitor"), np.zeros(7, "u4"))

# One small list, for what opens thousands of them.
with h5py.File(OUT / "few-events.h5", "w", libver="latest") as f:
    entry, detector = bank(f, "entry", gaps.astype("i4"))
    detector["time_of_flight"] = np.array([1.0, 2.0, 4.0, 8.0])
    detector["time_of_flight"].attrs["units"] = "ms"
    ids = shuffled(gaps).astype("u4")
    events(entry, ids, draw.uniform(900, 8100, len(ids)).astype("f4"))

# More than 10^7 events, sorted so that they pack well: 40 000 times the frame.
with h5py.File(OUT / "many-events.h5", "w", libver="latest") as f:
    entry, _ = bank(f, "entry", plain.astype("i4"))
    ids = np.repeat(plain.reshape(-1), FRAME.reshape(-1) * 9000).astype("u2")
    events(entry, ids, compression="gzip", compression_opts=9, shuffle=True, chunks=(2**20,))
    print(len(ids), "events")

# A list that claims more events than the file could hold: no chunk was ever written.
with h5py.File(OUT / "claimed-events.h5", "w", libver="latest") as f:
    entry, _ = bank(f, "entry", plain.astype("i4"))
    data = group(entry, "rear_events", "NXevent_data")
    data.create_dataset("event_id", shape=(2**40,), dtype="u4", chunks=(2**16,))
