#!/usr/bin/env python3
"""Makes the fixtures of variants that take several files or a file caught in the middle: links out of a file, virtual
datasets, scaled values, a file open for writing, curves in an archive. h5py, numpy and zipfile only; run by hand.

Frames are those of make-format-fixtures.py: 23 rows of 37 columns, count(x, y) = (7 x + 13 y y) mod 251.
"""
import os
import pathlib
import shutil
import struct
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


def conditions():
    """What a series may follow: a temperature in degrees Celsius, and a magnetic field as a log of values."""
    with h5py.File(OUT / "conditions.h5", "w", track_order=False) as f:
        entry(f)["counts"] = FRAME
        sample = f["entry"].create_group("sample")
        sample.attrs["NX_class"] = "NXsample"
        sample["temperature"] = 25.0
        sample["temperature"].attrs["units"] = "degC"
        log = sample.create_group("magnetic_field")
        log.attrs["NX_class"] = "NXlog"
        log["value"] = [-900.0, -1100.0]
        log["value"].attrs["units"] = "mT"


def being_written():
    path = OUT / "writing.tmp"
    with h5py.File(path, "w", libver="latest") as f:
        data = entry(f)
        data.create_dataset("counts", data=FRAME, chunks=(HEIGHT, WIDTH), maxshape=(None, WIDTH))
        f.swmr_mode = True
        f.flush()
        shutil.copy(path, OUT / "being-written.h5")
    os.remove(path)


def unwritten():
    """Datasets of which nothing, and of which something was written, in the layouts of old and of new files."""
    for name, version in (("old", "earliest"), ("new", "latest")):
        with h5py.File(OUT / f"unwritten-{name}.h5", "w", libver=version, userblock_size=512) as f:
            for kind, store in [
                ("contiguous", {}),
                ("chunked", {"chunks": (12, WIDTH)}),
                ("filtered", {"chunks": (12, WIDTH), "compression": "gzip"}),
                ("single_chunk", {"chunks": (HEIGHT, WIDTH)}),
                ("single_filtered", {"chunks": (HEIGHT, WIDTH), "compression": "gzip"}),
                ("growing", {"chunks": (12, WIDTH), "maxshape": (None, WIDTH)}),
                ("growing_twice", {"chunks": (12, WIDTH), "maxshape": (None, None)}),
                ("described", {}),
            ]:
                f.create_dataset(f"{kind}_empty", shape=(HEIGHT, WIDTH), dtype="u2", **store)
                f.create_dataset(f"{kind}_written", data=FRAME, **store)
            # Attributes push the layout into a later part of the header.
            for i in range(6):
                for state in ("empty", "written"):
                    f[f"described_{state}"].attrs[f"remark_{i}"] = "counts of the rear detector, " * 4
            elsewhere = [("pixels.raw", 0, h5py.h5f.UNLIMITED)]
            f.create_dataset("external", shape=(HEIGHT, WIDTH), dtype="u2", external=elsewhere)


def axis_attributes():
    """Old files number the axes in an attribute of each axis field, from the fastest dimension (NeXus manual, data rules)
    or from the slowest (NXdetector): the same picture, its rows along y, in both ways, and a square one."""
    with h5py.File(OUT / "axis-attribute.h5", "w") as f:
        for name, frame, (first, second) in [("from_the_fastest", FRAME, (1, 2)), ("from_the_slowest", FRAME, (2, 1)),
                                             ("x_slowest", np.ascontiguousarray(FRAME.T), (1, 2)),
                                             ("square", FRAME[:, :HEIGHT], (1, 2))]:
            made = f.create_group(name)
            made.attrs["NX_class"] = "NXentry"
            detector = made.create_group("instrument/detector")
            made["instrument"].attrs["NX_class"] = "NXinstrument"
            detector.attrs["NX_class"] = "NXdetector"
            detector["counts"] = frame
            detector["counts"].attrs["signal"] = 1
            for letter, length, pitch, number in [("x", max(frame.shape), 5.5, first),
                                                  ("y", HEIGHT, 4.25, second)]:
                field = f"{letter}_pixel_offset"
                detector[field] = (np.arange(length) - (length - 1) / 2) * pitch
                detector[field].attrs.update({"axis": number, "primary": 1, "units": "mm"})


def packed_by_lzf():
    """One frame, packed by the filter whose damage stops the HDF5 library."""
    with h5py.File(OUT / "lzf.h5", "w") as f:
        entry(f).create_dataset("counts", data=FRAME, chunks=(HEIGHT, WIDTH), compression="lzf")


def curves():
    columns = "# Q I dI\n" + "".join(f"{q / 100:.2f} {100 - q} {q / 10}\n" for q in range(1, 11))
    with zipfile.ZipFile(OUT / "curves.zip", "w", zipfile.ZIP_DEFLATED) as z:
        for name, content in [("a.txt", columns), ("notes.txt", "measured on a rainy day\n"), ("sub/b.dat", columns)]:
            info = zipfile.ZipInfo(name, date_time=(2026, 3, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            z.writestr(info, content)


def curves_in_hdf5():
    """Curves by hand from the definition NXcanSAS, and in the older ways of writing it: I(Q) = 100 / (1 + (20 Q)^2)."""
    q = np.arange(1, 31) / 100
    i = 100 / (1 + (20 * q) ** 2)
    with h5py.File(OUT / "curves.h5", "w", libver="latest") as f, h5py.File(OUT / "curves-by-definition.h5", "w") as g:
        def case(name, key="canSAS_class", q_units="1/angstrom", **attributes):
            made = (g if key is None else f).create_group(name)
            made.attrs.update({"NX_class": "NXentry", "version": "1.1"})
            made["definition"] = "NXcanSAS"
            data = made.create_group("data")
            data.attrs.update({"NX_class": "NXdata", "signal": "I", "I_axes": "Q", "Q_indices": 0, "name": name})
            if key is not None:
                made.attrs[key] = "SASentry"
                data.attrs[key] = "SASdata"
            data["Q"], data["I"], data["Idev"], data["Qdev"] = q, i, i / 50, q / 20
            for field, units in (("Q", q_units), ("I", "1/cm"), ("Idev", "1/cm"), ("Qdev", q_units)):
                data[field].attrs["units"] = units
            data["I"].attrs["uncertainties"] = "Idev"
            data["Q"].attrs["resolutions"] = "Qdev"
            for where, value in attributes.items():
                field, attribute = where.split("_", 1)
                data[field].attrs[attribute] = value
            return data

        case("by_the_standard")
        case("older_class", key="SAS_class")
        case("by_definition", key=None)
        data = case("nanometres", q_units="1/nm")
        for field in ("Q", "Qdev"):
            data[field][...] *= 10
        case("names_what_is_not_there", I_uncertainties="absent")
        data = case("slit", Q_resolutions=np.array(["dQw", "dQl"], dtype=h5py.string_dtype()))
        data["dQw"], data["dQl"] = q / 10, q / 100
        data = case("scaled", I_scaling_factor="factor")
        data["factor"] = 0.5
        data = case("bare")
        del data["Idev"], data["Qdev"], data["I"].attrs["uncertainties"], data["Q"].attrs["resolutions"]
        data = case("one_text", I_units="1/cm")
        data.attrs["I_axes"] = "Q Q"
        data.attrs["Q_indices"] = [0]


def cells():
    """One entry for each way of writing axes, ranks, single values, centres and masks that no other fixture has."""
    with h5py.File(OUT / "cells.h5", "w", libver="latest") as f:
        def case(name, frame=FRAME, axes=None, **fields):
            made = f.create_group(name)
            made.attrs["NX_class"] = "NXentry"
            detector = made.create_group("instrument/detector")
            made["instrument"].attrs["NX_class"] = "NXinstrument"
            detector.attrs["NX_class"] = "NXdetector"
            detector.create_dataset("data", data=frame, compression="gzip", chunks=frame.shape)
            for key, (value, units) in fields.items():
                detector[key] = value
                if units:
                    detector[key].attrs["units"] = units
            plot = made.create_group("plot")
            plot.attrs.update({"NX_class": "NXdata", "signal": "data"})
            plot["data"] = detector["data"]
            if axes is not None:
                plot.attrs["axes"] = axes
            made.attrs["default"] = "plot"
            return made, detector, plot

        transposed = np.ascontiguousarray(FRAME.T)
        case("axes_array", transposed, np.array(["x", "y"], dtype=h5py.string_dtype()))
        case("axes_comma", transposed, "x,y")
        case("axes_blank", transposed, "x y")
        case("axes_brackets", transposed, "[x:y]")
        case("axes_rows_first", FRAME, ["y", "x"])
        made, detector, plot = case("axes_edges", FRAME, ["y", "x"])
        plot["x"] = np.arange(WIDTH + 1) * 5.5
        plot["y"] = np.arange(HEIGHT + 1) * 4.25
        stack = np.stack([FRAME + 1000 * i for i in range(6)]).astype("u4")
        case("rank_4", stack.reshape(2, 3, HEIGHT, WIDTH))
        case("rank_4_tof", np.ascontiguousarray(np.moveaxis(stack.reshape(2, 3, HEIGHT, WIDTH), 1, 3)),
             time_of_flight=(np.array([0.0, 10, 20, 30]), "us"))
        case("tof_centres", np.ascontiguousarray(np.moveaxis(stack[:3], 0, 2)),
             time_of_flight=(np.array([5.0, 15, 25]), "us"))
        case("value_rank_0", distance=(np.float64(2.5), "m"))
        case("value_1", distance=(np.array([2.5]), "m"))
        case("value_1_1", distance=(np.array([[250.0]]), "cm"))
        case("value_text", distance=("2500", "mm"))
        made, detector, plot = case("value_log")
        log = detector.create_group("distance")
        log.attrs["NX_class"] = "NXlog"
        log["value"] = np.array([2.4, 2.6])
        log["value"].attrs["units"] = "m"
        sizes = dict(x_pixel_size=(5.5, "mm"), y_pixel_size=(4.25, "mm"))
        case("centre_m", beam_center_x=(0.099, "m"), beam_center_y=(0.051, "m"), **sizes)
        case("centre_negative", beam_center_x=(-3.5, "pixel"), beam_center_y=(12.0, "pixel"), **sizes)
        case("centre_off", beam_center_x=(400.0, "pixel"), beam_center_y=(12.0, "pixel"), **sizes)
        case("centre_missing", **sizes)
        bits = np.zeros((HEIGHT, WIDTH), "u4")
        bits[0, 1] = 1
        bits[0, 2] = 2**31
        bits[0, 3] = 2**8
        case("mask_8", pixel_mask=((bits & 255).astype("u1"), None))
        case("mask_16", pixel_mask=((bits & 65535).astype("u2"), None))
        case("mask_32", pixel_mask=(bits, None))
        case("mask_32_signed", pixel_mask=(bits.view("i4"), None))
        case("mask_two", pixel_mask=(np.where(bits == 1, 1, 0).astype("u1"), None),
             pixel_mask_2=(np.where(bits == 256, 256, 0).astype("u2"), None))
        case("mask_frames", stack[:3], pixel_mask=(np.stack([bits * 0, bits, bits * 0]), None))
        numbers = (np.arange(HEIGHT * WIDTH).reshape(HEIGHT, WIDTH) + 100).astype("i4")
        case("list", FRAME.reshape(-1), detector_number=(numbers, None), pixel_mask=(bits.reshape(-1), None))
        case("list_frames", stack.reshape(6, -1), x_pixel_offset=(np.broadcast_to(np.arange(WIDTH) * 5.5, FRAME.shape), "mm"))
        case("list_without_shape", FRAME.reshape(-1))
        flags = FRAME.astype("i4")
        flags[0, 1], flags[0, 2] = -1, -2
        case("flags", flags)
        case("limits", FRAME, saturation_value=(200, None), underload_value=(5, None))


def orientations():
    """One page for each value of tag 274, by hand from TIFF 6.0: a header, the strip, one directory. And one JPEG page."""
    for value, compression in [(n, 1) for n in range(1, 9)] + [(1, 7)]:
        pixels = FRAME.astype("<u2").tobytes()
        tags = [(256, 3, 1, WIDTH), (257, 3, 1, HEIGHT), (258, 3, 1, 16), (259, 3, 1, compression), (262, 3, 1, 1),
                (273, 4, 1, 8), (274, 3, 1, value), (277, 3, 1, 1), (278, 3, 1, HEIGHT), (279, 4, 1, len(pixels))]
        directory = struct.pack("<H", len(tags)) + b"".join(struct.pack("<HHII", *tag) for tag in tags) + bytes(4)
        name = "jpeg.tif" if compression == 7 else f"turned-{value}.tif"
        (OUT / name).write_bytes(b"II*\0" + struct.pack("<I", 8 + len(pixels)) + pixels + directory)


cells()
axis_attributes()
packed_by_lzf()
orientations()
links()
scaled()
conditions()
being_written()
unwritten()
curves_in_hdf5()
curves()
