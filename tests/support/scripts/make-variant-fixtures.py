#!/usr/bin/env python3
"""Makes the fixtures of variants that take several files or a file caught in the middle: links out of a file, virtual
datasets, scaled values, a file open for writing, curves in an archive. h5py, numpy and zipfile only; run by hand.

Frames are those of make-format-fixtures.py: 23 rows of 37 columns, count(x, y) = (7 x + 13 y y) mod 251.
"""
import os
import pathlib
import shutil
import zipfile

import h5py
import numpy as np

OUT = pathlib.Path(__file__).resolve().parent.parent / "fixtures"
HEIGHT, WIDTH = 23, 37
y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
FRAME = ((7 * x + 13 * y * y) % 251).astype("u2")


def entry(file, name="entry"):
    group = file.create_group(name)
    group.attrs["NX_class"] = "NXentry"
    data = group.create_group("data")
    data.attrs["NX_class"] = "NXdata"
    data.attrs["signal"] = "counts"
    return data


def links():
    folder = OUT / "links"
    (folder / "below").mkdir(parents=True, exist_ok=True)
    with h5py.File(folder / "pixels.h5", "w") as f:
        f["frame"] = FRAME
        f["halves/top"] = FRAME[:12]
        f["back"] = h5py.ExternalLink("external.h5", "/entry/data/counts")
    with h5py.File(folder / "below" / "deep.h5", "w") as f:
        f["frame"] = FRAME
        f["up"] = h5py.ExternalLink("../pixels.h5", "/frame")
    for name, target, path in [
        ("external", "pixels.h5", "/frame"),
        ("external-below", "below/deep.h5", "/up"),
        ("external-missing", "gone.h5", "/frame"),
        ("external-outside", "../u2.npy", "/frame"),
        ("external-absolute", "/etc/hostname", "/frame"),
        ("external-itself", "external-itself.h5", "/frame"),
        ("external-loop", "loop.h5", "/entry/data/counts"),
    ]:
        with h5py.File(folder / f"{name}.h5", "w") as f:
            entry(f)["counts"] = h5py.ExternalLink(target, path)
    with h5py.File(folder / "loop.h5", "w") as f:
        entry(f)["counts"] = h5py.ExternalLink("external-loop.h5", "/entry/data/counts")
    with h5py.File(folder / "external-symlink.h5", "w") as f:
        entry(f)["counts"] = h5py.ExternalLink("way-out.h5", "/frame")
    for name, target in [("virtual", "pixels.h5"), ("virtual-missing", "gone.h5"), ("virtual-outside", "../plain.h5")]:
        with h5py.File(folder / f"{name}.h5", "w", libver="latest") as f:
            layout = h5py.VirtualLayout(shape=(HEIGHT, WIDTH), dtype="u2")
            layout[:12] = h5py.VirtualSource(target, "halves/top", shape=(12, WIDTH))
            layout[12:] = h5py.VirtualSource(target, "frame", shape=(HEIGHT, WIDTH))[12:]
            entry(f).create_virtual_dataset("counts", layout)


def scaled():
    for name, extra in [
        ("scaled", {"counts_scaling_factor": 0.5, "counts_offset": -3.0}),
        ("scaled-by-list", {"counts_scaling_factor": [0.5, 2.0]}),
    ]:
        with h5py.File(OUT / f"{name}.h5", "w") as f:
            data = entry(f)
            stored = FRAME.astype("i4")
            stored[0, 0] = -1
            data["counts"] = stored
            for key, value in extra.items():
                data[key] = value


def being_written():
    path = OUT / "writing.tmp"
    with h5py.File(path, "w", libver="latest") as f:
        data = entry(f)
        data.create_dataset("counts", data=FRAME, chunks=(HEIGHT, WIDTH), maxshape=(None, WIDTH))
        f.swmr_mode = True
        f.flush()
        shutil.copy(path, OUT / "being-written.h5")
    os.remove(path)


def curves():
    columns = "# Q I dI\n" + "".join(f"{q / 100:.2f} {100 - q} {q / 10}\n" for q in range(1, 11))
    with zipfile.ZipFile(OUT / "curves.zip", "w", zipfile.ZIP_DEFLATED) as z:
        for name, content in [("a.txt", columns), ("notes.txt", "measured on a rainy day\n"), ("sub/b.dat", columns)]:
            info = zipfile.ZipInfo(name, date_time=(2026, 3, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            z.writestr(info, content)


links()
scaled()
being_written()
curves()
