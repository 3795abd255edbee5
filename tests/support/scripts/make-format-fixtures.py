#!/usr/bin/env python3
"""Makes the small files under tests/support/fixtures that the readers are tested on.

They are written by general-purpose libraries that share no code with this program: h5py, numpy, tifffile, Pillow (over
libtiff) and ImageMagick's convert. Run it by hand from the checkout; the files are kept, so that tests need no Python.

Every frame is FRAME or its first rows: 23 rows of 37 columns, count(x, y) = (7 x + 13 y y) mod 251, so that a test
knows each value.
"""
import base64
import gzip
import hashlib
import pathlib
import struct
import subprocess
import zipfile

import h5py
import numpy as np
import tifffile
from PIL import Image

OUT = pathlib.Path(__file__).resolve().parent.parent / "fixtures"
OUT.mkdir(exist_ok=True)
HEIGHT, WIDTH = 23, 37
y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
FRAME = (7 * x + 13 * y * y) % 251


def attrs(node, **values):
    for name, value in values.items():
        node.attrs[name] = value
    return node


def group(parent, name, nx_class):
    return attrs(parent.create_group(name), NX_class=nx_class)


def field(parent, name, value, units=None):
    dataset = parent.create_dataset(name, data=value)
    if units is not None:
        dataset.attrs["units"] = units
    return dataset


def lz4_stored(data):
    """One LZ4 block of literals alone: a valid stream that packs nothing (LZ4 block format)."""
    n = len(data)
    head = bytes([min(n, 15) << 4])
    rest = n - 15
    while rest >= 0:
        head += bytes([min(rest, 255)])
        if rest < 255:
            break
        rest -= 255
    return head + data


def hdf5_kinds():
    """One file with a dataset for each element type, storage, filter and link."""
    with h5py.File(OUT / "kinds.h5", "w", libver="latest") as f:
        types = f.create_group("types")
        for code in ("u1", "i1", "u2", "i2", "u4", "i4", "u8", "i8", "f2", "f4", "f8"):
            for order in "<>":
                values = np.array([0, 1, 100, -3 if code[0] != "u" else 7], dtype=order + code)
                types.create_dataset(("be_" if order == ">" else "le_") + code, data=values)
        types.create_dataset("bool", data=np.array([True, False, True]))
        types.create_dataset("beyond", data=np.array([1, 2**53 + 1], dtype="i8"))
        types.create_dataset("compound", data=np.zeros(2, dtype=[("a", "i4"), ("b", "f4")]))
        types.create_dataset("null", data=h5py.Empty("f4"))
        types.create_dataset("halves", data=np.array([6e-8, 1.5, -65504, np.inf, np.nan, 0.0009765625], dtype="f2"))
        texts = f.create_group("texts")
        texts.create_dataset("fixed", data=np.array([b"counts"], dtype="S12"))
        texts.create_dataset("vlen", data="Ångström", dtype=h5py.string_dtype("utf-8"))
        texts.create_dataset("list", data=["one", "two words", ""], dtype=h5py.string_dtype("utf-8"))
        space = h5py.h5t.C_S1.copy()
        space.set_size(8)
        space.set_strpad(h5py.h5t.STR_SPACEPAD)
        padded = h5py.h5d.create(texts.id, b"padded", space, h5py.h5s.create(h5py.h5s.SCALAR))
        padded.write(h5py.h5s.ALL, h5py.h5s.ALL, np.array(b"mm      ", dtype="S8"))
        texts.create_dataset("latin1", data=np.array([b"\xb5m"], dtype="S2"))
        attrs(texts, many=["y", "x"], one=np.array([b"NXdata"]), number=np.array([5], "i2"), list=np.array([1.5, 2.5]))
        stores = f.create_group("stores")
        stores.create_dataset("contiguous", data=FRAME.astype("u2"))
        plist = h5py.h5p.create(h5py.h5p.DATASET_CREATE)
        plist.set_layout(h5py.h5d.COMPACT)
        compact = h5py.h5d.create(stores.id, b"compact", h5py.h5t.STD_U16LE, h5py.h5s.create_simple((HEIGHT, WIDTH)), plist)
        compact.write(h5py.h5s.ALL, h5py.h5s.ALL, FRAME.astype("u2"))
        chunks = (8, 16)
        for name, options in {
            "chunked": {},
            "gzip": {"compression": "gzip"},
            "shuffle": {"compression": "gzip", "shuffle": True},
            "fletcher": {"fletcher32": True},
            "lzf": {"compression": "lzf"},
            "scaleoffset": {"scaleoffset": 0},
        }.items():
            stores.create_dataset(name, data=FRAME.astype("u2"), chunks=chunks, **options)
        packed_by_hand(stores, "lz4", 32004, (), lz4_chunk(FRAME.astype("<u2").tobytes()))
        packed_by_hand(stores, "bitshuffle", 32008, (0, 4, 2, 0, 2), bitshuffle_chunk(FRAME.astype("<u2")))
        packed_by_hand(stores, "unknown", 40404, (), FRAME.astype("<u2").tobytes())
        links = f.create_group("links")
        links["hard"] = stores["gzip"]
        links["soft"] = h5py.SoftLink("/stores/gzip")
        links["relative"] = h5py.SoftLink("hard")
        links["dangling"] = h5py.SoftLink("/nowhere/at all")
        links["loop"] = h5py.SoftLink("/links/loop")
        links["outside"] = h5py.ExternalLink("/etc/hostname", "/data")
        links["beside"] = h5py.ExternalLink("other.h5", "/data")
        links["cycle"] = f["/"]
        layout = h5py.VirtualLayout(shape=(HEIGHT, WIDTH), dtype="u2")
        layout[:] = h5py.VirtualSource("elsewhere.h5", "data", shape=(HEIGHT, WIDTH))
        links.create_virtual_dataset("virtual", layout)


def packed_by_hand(parent, name, number, values, chunk):
    plist = h5py.h5p.create(h5py.h5p.DATASET_CREATE)
    plist.set_chunk((HEIGHT, WIDTH))
    plist.set_filter(number, h5py.h5z.FLAG_OPTIONAL, values)
    made = h5py.h5d.create(parent.id, name.encode(), h5py.h5t.STD_U16LE, h5py.h5s.create_simple((HEIGHT, WIDTH)), plist)
    made.write_direct_chunk((0, 0), chunk, 0)


def lz4_chunk(data):
    """Total size, block size, then a length before each block; big-endian (The HDF Group's HDF5_LZ4 document)."""
    block = 512
    out = struct.pack(">qi", len(data), block)
    for start in range(0, len(data), block):
        packed = lz4_stored(data[start : start + block])
        if len(packed) >= len(data[start : start + block]):
            packed = data[start : start + block]
        out += struct.pack(">i", len(packed)) + packed
    return out


def bitshuffle_chunk(values):
    """Blocks of 8 n elements, bit k of all of them together, each block an LZ4 stream; the rest unpacked."""
    flat = values.ravel()
    size = flat.dtype.itemsize
    block = 256
    out = struct.pack(">qi", flat.nbytes, block * size)
    whole = len(flat) // 8 * 8
    for start in range(0, whole, block):
        part = flat[start : min(start + block, whole)]
        bits = np.unpackbits(part.view("u1").reshape(-1, size), axis=1, bitorder="little")
        shuffled = np.packbits(bits.T, axis=1, bitorder="little").tobytes()
        packed = lz4_stored(shuffled)
        out += struct.pack(">i", len(packed)) + packed
    return out + flat[whole:].tobytes()


def nexus_standard():
    """NXsas as the definition means it, with a default chain, units to convert and a mask."""
    with h5py.File(OUT / "nexus-standard.h5", "w", libver="latest") as f:
        attrs(f, NX_class="NXroot", default="entry")
        entry = attrs(group(f, "entry", "NXentry"), default="data")
        field(entry, "definition", "NXsas")
        field(entry, "title", "Spheres in water")
        field(entry, "run_number", 4711)
        field(entry, "start_time", "2026-03-01T10:00:00+01:00")
        field(entry, "end_time", "2026-03-01T10:10:00+01:00")
        instrument = group(entry, "instrument", "NXinstrument")
        field(instrument, "name", "Lantern")
        field(group(instrument, "source", "NXsource"), "probe", "neutron")
        mono = group(instrument, "monochromator", "NXmonochromator")
        field(mono, "wavelength", 0.6, "nm")
        field(mono, "wavelength_spread", 0.1)
        field(group(instrument, "collimator", "NXcollimator"), "length", np.array([400.0]), "cm")
        field(group(instrument, "source_aperture", "NXaperture"), "diameter", 20.0, "mm")
        aperture = group(instrument, "sample_aperture", "NXpinhole")
        field(aperture, "diameter", 0.8, "cm")
        field(group(instrument, "attenuator", "NXattenuator"), "attenuator_transmission", np.float32(0.01))
        detector = group(instrument, "detector", "NXdetector")
        counts = FRAME.astype("i4")
        counts[0, 0] = -1
        counts[0, 1] = -2
        counts[1, 0] = 60000
        data = field(detector, "data", counts, "counts")
        data.attrs["target"] = "/entry/instrument/detector/data"
        field(detector, "distance", 4500.0, "mm")
        field(detector, "x_pixel_size", 5.5, "mm")
        field(detector, "y_pixel_size", np.array([[4.25]]), "mm")
        field(detector, "beam_center_x", 18.25, "pixel")
        field(detector, "beam_center_y", 11.5, "pixel")
        field(detector, "dead_time", 2.0, "us")
        field(detector, "saturation_value", 50000)
        mask = np.zeros((HEIGHT, WIDTH), "u4")
        mask[2, 0:6] = [1, 2, 8, 256, 2**31, 2**15]
        field(detector, "pixel_mask", mask)
        second = np.zeros((HEIGHT, WIDTH), "i1")
        second[2, 0] = 16
        field(detector, "pixel_mask_2", second)
        control = group(entry, "control", "NXmonitor")
        field(control, "mode", "monitor")
        field(control, "preset", 1000000.0)
        field(control, "integral", 1000123, "counts")
        field(control, "count_time", 10.0, "min")
        other = group(entry, "monitor_2", "NXmonitor")
        field(other, "integral", 1000000)
        sample = group(entry, "sample", "NXsample")
        field(sample, "name", "silica 5 %")
        field(sample, "thickness", 1.0, "mm")
        plot = attrs(group(entry, "data", "NXdata"), signal="data", axes=["y", "x"])
        plot["data"] = data
        field(plot, "x", np.arange(WIDTH))
        field(plot, "y", np.arange(HEIGHT))


def nexus_variants():
    """Several entries, each one case of finding the frame, its axes or its centre."""
    with h5py.File(OUT / "nexus-variants.h5", "w", libver="latest") as f:
        def entry(name, frame=FRAME.astype("u2"), data_name="data", **detector_fields):
            made = group(f, name, "NXentry")
            instrument = group(made, "instrument", "NXinstrument")
            detector = group(instrument, "detector", "NXdetector")
            if frame is not None:
                detector.create_dataset(data_name, data=frame, compression="gzip", chunks=frame.shape)
            for key, (value, units) in detector_fields.items():
                field(detector, key, value, units)
            return made, detector

        made, detector = entry("signal_number")
        plot = group(made, "plot", "NXdata")
        plot["picture"] = detector["data"]
        detector["data"].attrs["signal"] = 1
        entry("only_detector", data_name="counts")
        made, detector = entry("dangling")
        attrs(group(made, "plot", "NXdata"), signal="nothing")
        made.attrs["default"] = "plot"
        made, detector = entry("curve_default")
        plot = attrs(group(made, "plot", "NXdata"), signal="I")
        field(plot, "I", np.arange(50.0))
        made.attrs["default"] = "plot"
        made, detector = entry("x_first", frame=np.ascontiguousarray(FRAME.T).astype("u2"),
                               beam_center_x=(18.25, "pixel"), beam_center_y=(11.5, "pixel"),
                               x_pixel_size=(5.5, "mm"), y_pixel_size=(4.25, "mm"))
        plot = attrs(group(made, "plot", "NXdata"), signal="data", axes="x:y")
        plot["data"] = detector["data"]
        made.attrs["default"] = "plot"
        entry("x_by_length", frame=np.ascontiguousarray(FRAME.T).astype("u2"),
              x_pixel_offset=(np.arange(WIDTH) * 5.5, "mm"), y_pixel_offset=(np.arange(HEIGHT) * 4.25, "mm"))
        stack = np.stack([FRAME + 1000 * i for i in range(4)]).astype("u4")
        entry("stack", frame=stack, count_time=(np.array([1.0, 1.0, 2.0, 2.0]), "s"))
        made, detector = entry("tof", frame=np.ascontiguousarray(np.moveaxis(stack, 0, 2)),
                               time_of_flight=(np.array([0.0, 10, 20, 30, 40]), "microseconds"))
        entry("one_deep", frame=FRAME[np.newaxis, :, :, np.newaxis].astype("i8"))
        sizes = dict(x_pixel_size=(5.5, "mm"), y_pixel_size=(4.25, "mm"))
        entry("centre_mm", beam_center_x=(99.0, "mm"), beam_center_y=(51.0, "mm"), **sizes)
        entry("centre_bare_pixels", beam_center_x=(18.0, None), beam_center_y=(12.0, None), **sizes)
        entry("centre_bare_metres", beam_center_x=(0.099, None), beam_center_y=(0.051, None), **sizes)
        entry("centre_bare_mm", beam_center_x=(99.0, None), beam_center_y=(51.0, None), **sizes)
        entry("centre_twin", beam_center_x=(99.0, "mm"), beam_center_y=(51.0, "mm"),
              beam_center_x_pixel=(17.0, None), beam_center_y_pixel=(13.0, None), **sizes)
        entry("centre_swapped", beam_center_x=(5.0, "pixel"), beam_center_y=(30.0, "pixel"), **sizes)
        entry("bad_units", distance=(4.0, "furlong"), x_pixel_size=(5.5, None), y_pixel_size=(5.5, None),
              count_time=("12.5", None))
        made, detector = entry("unfit_mask")
        field(detector, "pixel_mask", np.zeros((WIDTH, HEIGHT), "u1"))
        made, detector = entry("two_banks", data_name="data")
        rear = group(made["instrument"], "rear", "NXdetector")
        rear.create_dataset("data", data=(FRAME[:20, :30] + 1).astype("u2"))
        field(rear, "distance", 9.0, "m")
        field(detector, "distance", 2.0, "m")
        made, detector = entry("floats", frame=np.where(FRAME == 0, np.nan, FRAME / 4).astype("f4"))
        field(detector, "data_errors", np.full((HEIGHT, WIDTH), 0.5, "f8"))
        made, detector = entry("corrected", flatfield_applied=(1, None), countrate_correction_applied=(False, None))
        made, detector = entry("moved", frame=FRAME.astype("u2"))
        detector.attrs["note"] = "the chain ends in the lab"
        field(detector, "depends_on", "transformations/tilt")
        chain = group(detector, "transformations", "NXtransformations")
        attrs(field(chain, "tilt", 30.0, "deg"), transformation_type="rotation", vector=[0.0, 1.0, 0.0], depends_on="along")
        attrs(field(chain, "along", 4000.0, "mm"), transformation_type="translation", vector=[0.0, 0.0, 1.0],
              depends_on="/moved/instrument/detector/transformations/stage")
        attrs(field(chain, "stage", 0.5, "m"), transformation_type="translation", vector=[0.0, 0.0, 1.0],
              offset=[0.1, 0.0, 0.0], offset_units="m", depends_on=".")
        made, detector = entry("looped")
        field(detector, "depends_on", "a")
        attrs(field(detector, "a", 1.0, "m"), transformation_type="translation", vector=[0.0, 0.0, 1.0], depends_on="b")
        attrs(field(detector, "b", 1.0, "m"), transformation_type="translation", vector=[0.0, 0.0, 1.0], depends_on="a")
        made, detector = entry("energy")
        field(group(made["instrument"], "monochromator", "NXmonochromator"), "energy", 2.2723, "meV")


def plain_hdf5():
    with h5py.File(OUT / "plain.h5", "w", userblock_size=512) as f:
        f.create_dataset("measurement/image", data=FRAME.astype(">u2"))
        f.create_dataset("measurement/table", data=np.zeros((100, 3)))
    with h5py.File(OUT / "plain-two.h5", "w") as f:
        f.create_dataset("a", data=FRAME.astype("u2"))
        f.create_dataset("b", data=FRAME.astype("u2"))


def hostile_hdf5():
    """Small files that claim much: a frame of 2^62 pixels without one chunk written, a dimension of 0, deep nesting."""
    with h5py.File(OUT / "huge.h5", "w", libver="latest") as f:
        f.create_dataset("frame", shape=(2**31, 2**31), dtype="u4", chunks=(64, 64), compression="gzip")
    with h5py.File(OUT / "zero.h5", "w", libver="latest") as f:
        detector = group(group(f, "entry", "NXentry"), "detector", "NXdetector")
        detector.create_dataset("data", shape=(0, 128), maxshape=(None, 128), dtype="u4", chunks=(16, 16))
    with h5py.File(OUT / "deep.h5", "w", libver="latest") as f:
        at = f
        for level in range(40):
            at = at.create_group("g")
        at.create_dataset("frame", data=FRAME.astype("u1"))


def npy():
    for code in ("b1", "u1", "i1", "u2", "i2", "u4", "i4", "u8", "i8", "f2", "f4", "f8"):
        values = FRAME > 100 if code == "b1" else FRAME % 100
        np.save(OUT / f"{code}.npy", values[:8].astype("<" + code if code[1] != "1" else code))
    np.save(OUT / "big-endian.npy", FRAME.astype(">i4"))
    np.save(OUT / "fortran.npy", np.asfortranarray(FRAME.astype("u2")))
    stack = np.stack([FRAME, FRAME + 1000, FRAME + 2000]).astype("u2")
    np.save(OUT / "stack.npy", stack)
    np.save(OUT / "stack-fortran.npy", np.asfortranarray(stack))
    for version in ((2, 0), (3, 0)):
        with open(OUT / f"version-{version[0]}.npy", "wb") as f:
            np.lib.format.write_array(f, FRAME.astype("u2"), version)
    np.save(OUT / "complex.npy", FRAME.astype("c8")[:2, :2])
    np.save(OUT / "structured.npy", np.zeros(3, dtype=[("a", "i4"), ("b", "f8")]))
    np.save(OUT / "object.npy", np.array([[{}, 1], [2, 3]], dtype=object))
    np.save(OUT / "scalar.npy", np.float64(1))
    np.save(OUT / "list.npy", np.arange(5))
    np.save(OUT / "beyond.npy", np.array([[1, 2**60 + 1]], dtype="u8"))
    np.savez(OUT / "stored.npz", counts=FRAME.astype("u2"), mask=(FRAME > 240))
    np.savez_compressed(OUT / "deflated.npz", FRAME.astype("u4"))


def tiff():
    f32 = (FRAME / 8 - 3).astype("f4")
    kinds = {"u8": FRAME.astype("u1"), "u16": (FRAME * 200).astype("u2"), "u32": (FRAME * 10**7).astype("u4"),
             "i8": (FRAME % 100 - 50).astype("i1"), "i16": (FRAME * 100 - 9000).astype("i2"),
             "i32": (FRAME * 10**6 - 10**8).astype("i4"), "f32": f32, "f64": f32.astype("f8") / 3}
    for name, values in kinds.items():
        for order, label in (("<", "le"), (">", "be")):
            tifffile.imwrite(OUT / f"{name}-{label}.tif", values[:8], byteorder=order, photometric="minisblack")
    tifffile.imwrite(OUT / "big.tif", kinds["u16"], bigtiff=True, photometric="minisblack")
    tifffile.imwrite(OUT / "tiles.tif", kinds["u16"], tile=(16, 16), photometric="minisblack")
    tifffile.imwrite(OUT / "strips.tif", kinds["u16"], rowsperstrip=5, photometric="minisblack")
    tifffile.imwrite(OUT / "pages.tif", np.stack([FRAME, FRAME + 1000, FRAME + 2000]).astype("u2"), photometric="minisblack")
    tifffile.imwrite(OUT / "zlib.tif", kinds["u32"], compression="zlib", rowsperstrip=6, photometric="minisblack")
    tifffile.imwrite(OUT / "orientation4.tif", kinds["u16"], photometric="minisblack", extratags=[(274, 3, 1, 4, True)])
    tifffile.imwrite(OUT / "orientation6.tif", kinds["u16"], photometric="minisblack", extratags=[(274, 3, 1, 6, True)])
    tifffile.imwrite(OUT / "rgb.tif", np.zeros((8, 8, 3), "u1"), photometric="rgb")
    picture = Image.fromarray(kinds["u16"])
    for name, compression in (("lzw", "tiff_lzw"), ("packbits", "packbits"), ("deflate", "tiff_adobe_deflate")):
        picture.save(OUT / f"pillow-{name}.tif", compression=compression)
        if name != "packbits":
            picture.save(OUT / f"pillow-{name}-predictor.tif", compression=compression, tiffinfo={317: 2})
    Image.fromarray(f32).save(OUT / "pillow-f32-predictor3.tif", compression="tiff_lzw", tiffinfo={317: 3})
    source = OUT / "strips.tif"
    for label, endian in (("le", "LSB"), ("be", "MSB")):
        for compression in ("LZW", "Zip"):
            subprocess.run(["convert", source, "-endian", endian, "-compress", compression, "-define",
                            "tiff:predictor=2", "-define", "tiff:rows-per-strip=7",
                            OUT / f"magick-{compression.lower()}-{label}.tif"], check=True)


def byte_offsets(values):
    """x-CBF_BYTE_OFFSET: differences of 1, 2, 4 or 8 bytes (the same scheme, written down on its own)."""
    out = b""
    previous = 0
    for value in values.ravel().tolist():
        delta = value - previous
        previous = value
        if -127 <= delta <= 127:
            out += struct.pack("<b", delta)
        elif -32767 <= delta <= 32767:
            out += b"\x80" + struct.pack("<h", delta)
        elif -(2**31) < delta < 2**31:
            out += b"\x80\x00\x80" + struct.pack("<i", delta)
        else:
            out += b"\x80\x00\x80\x00\x00\x00\x80" + struct.pack("<q", delta)
    return out


def cbf_file(name, values, conversion="x-CBF_BYTE_OFFSET", eol="\r\n", md5=True, encoding="BINARY", copies=1):
    kinds = {"int8": "signed 8-bit integer", "int16": "signed 16-bit integer", "int32": "signed 32-bit integer",
             "uint16": "unsigned 16-bit integer", "float32": "signed 32-bit real IEEE"}
    packed = byte_offsets(values) if conversion == "x-CBF_BYTE_OFFSET" else values.tobytes()
    digest = base64.b64encode(hashlib.md5(packed).digest()).decode()
    head = ["###CBF: VERSION 1.5", "", "data_frame", "", "_array_data.header_convention \"MINI\"",
            "_array_data.header_contents", ";", "# Pixel_size 172e-6 m x 172e-6 m", "# Exposure_time 1.5000 s",
            "# Wavelength 0.9795 A", "# Detector_distance 2.103 m", "# Beam_xy (18.5, 11.25) pixels",
            "# Count_cutoff 1000000 counts", ";", ""]
    out = eol.join(head).encode()
    for number in range(1, copies + 1):
        mime = ["_array_data.data", ";", "--CIF-BINARY-FORMAT-SECTION--", "Content-Type: application/octet-stream;",
                f'     conversions="{conversion}"', f"Content-Transfer-Encoding: {encoding}",
                f"X-Binary-Size: {len(packed)}", f"X-Binary-ID: {number}",
                f'X-Binary-Element-Type: "{kinds[values.dtype.name]}"', "X-Binary-Element-Byte-Order: LITTLE_ENDIAN",
                *([f"Content-MD5: {digest}"] if md5 else []), f"X-Binary-Number-of-Elements: {values.size}",
                f"X-Binary-Size-Fastest-Dimension: {values.shape[1]}",
                f"X-Binary-Size-Second-Dimension: {values.shape[0]}", "", ""]
        body = b"\x0c\x1a\x04\xd5" + packed if encoding == "BINARY" else base64.encodebytes(packed)
        out += eol.join(mime).encode() + body + eol.join(["", "--CIF-BINARY-FORMAT-SECTION----", ";", ""]).encode()
    (OUT / name).write_bytes(out)


def cbf():
    jumps = FRAME[:8].astype("i4")
    jumps[0, 1], jumps[0, 2], jumps[0, 3] = 2_000_000_000, -2_000_000_000, -1
    cbf_file("jumps.cbf", jumps)
    cbf_file("unix.cbf", FRAME[:8].astype("i2"), eol="\n", md5=False)
    cbf_file("plain.cbf", FRAME[:8].astype("f4"), conversion="x-CBF_NONE")
    cbf_file("base64.cbf", FRAME[:8].astype("u2"), encoding="BASE64")
    cbf_file("two.cbf", FRAME[:8].astype("i4"), copies=2)
    cbf_file("packed.cbf", FRAME[:8].astype("i4"), conversion="x-CBF_PACKED")


def containers():
    plain = (OUT / "u2.npy").read_bytes()
    half = len(plain) // 2
    (OUT / "u2.npy.gz").write_bytes(gzip.compress(plain, mtime=0))
    (OUT / "members.npy.gz").write_bytes(gzip.compress(plain[:half], mtime=0) + gzip.compress(plain[half:], mtime=0))
    fixed = dict(date_time=(2026, 3, 1, 0, 0, 0))

    def archive(name, files, method=zipfile.ZIP_DEFLATED):
        with zipfile.ZipFile(OUT / name, "w", method) as z:
            for entry, data in files:
                info = zipfile.ZipInfo(entry, **fixed)
                info.compress_type = method
                z.writestr(info, data)

    tiff_bytes = (OUT / "u8-le.tif").read_bytes()
    archive("frame.zip", [("folder/", b""), ("folder/u8-le.tif", tiff_bytes), ("__MACOSX/._u8", b"x"), (".hidden", b"x")])
    archive("several.zip", [("a.tif", tiff_bytes), ("b.npy", plain)], zipfile.ZIP_STORED)
    archive("traversal.zip", [("../../evil.tif", tiff_bytes), ("good.tif", tiff_bytes)])
    archive("twice.zip", [("a.tif", tiff_bytes), ("a.tif", tiff_bytes)])
    nested = (OUT / "frame.zip").read_bytes()
    (OUT / "nested-2.zip.gz").write_bytes(gzip.compress(nested, mtime=0))
    (OUT / "nested-3.zip.gz.gz").write_bytes(gzip.compress(gzip.compress(nested, mtime=0), mtime=0))
    with zipfile.ZipFile(OUT / "zip64.zip", "w", zipfile.ZIP_DEFLATED) as z:
        with z.open(zipfile.ZipInfo("u2.npy", **fixed), "w", force_zip64=True) as entry:
            entry.write(plain)
    (OUT / "nothing.gz").write_bytes(gzip.compress(b"", mtime=0))
    (OUT / "bomb.gz").write_bytes(gzip.compress(gzip.compress(bytes(100 * 2**20), mtime=0), mtime=0))
    (OUT / "frame.h5.gz").write_bytes(gzip.compress((OUT / "plain.h5").read_bytes(), mtime=0))


def text():
    np.savetxt(OUT / "matrix.txt", FRAME[:8], fmt="%d", header="counts of a frame\nsecond line")
    np.savetxt(OUT / "exponents.csv", FRAME[:8] / 4, fmt="%.10e", delimiter=",")


hdf5_kinds()
nexus_standard()
nexus_variants()
plain_hdf5()
hostile_hdf5()
npy()
tiff()
cbf()
containers()
text()
