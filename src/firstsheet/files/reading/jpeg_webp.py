"""JPEG and WebP: the container read here, the pixels by a strict forward reader.

Takes an open file; gives a Stored picture. Pixels are decoded once, from the top, into a
temporary file, so that any rows can be read back from any thread. Standards: ITU-T T.81 and
T.871 (JPEG), RFC 9649 (WebP). Theory: docs/theory/opening.md.
Tests: tests/files/test_open_formats.py, test_open_damage.py.
"""

from __future__ import annotations

import struct

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.files.reading import findings as say
from firstsheet.files.reading.byte_reader import ByteReader
from firstsheet.files.reading.forward import (
    check_header,
    damaged_header,
    forward_rows,
    last_line,
    model_of,
)
from firstsheet.files.reading.jpeg_markers import JpegMarkers, read_markers
from firstsheet.files.reading.metadata import iptc_in_resources, metadata_from_blocks
from firstsheet.files.reading.resolve import Resolver
from firstsheet.files.reading.stored import Stored
from firstsheet.files.reading.vips import vips

__all__ = ["open_jpeg", "open_webp"]

_JPEG_HEADER_BYTES = 32 << 20


def open_jpeg(reader: ByteReader, *, allow_bomb: bool) -> Stored:
    """Open a JPEG."""
    data = reader.read_at(0, _JPEG_HEADER_BYTES)
    marks = read_markers(data)
    if not marks.components or not marks.scan_at:
        raise damaged_header(reader, "no complete frame and scan header")
    if marks.bits != 8 or marks.lossless:
        raise RefusedPictureError(
            f"{reader.path.name} is a JPEG of a rare kind: {marks.bits} bits"
            + (", lossless." if marks.lossless else "."),
            "Its decoder does not report damage, so its pixels could not be vouched for.",
            "Save it as a 16-bit TIFF with its profile, and use that.",
            "jpeg-kind-not-read",
        )
    check_header(reader, marks.width, marks.height, marks.components, 1, allow_bomb=allow_bomb)
    metadata = metadata_from_blocks(
        icc=marks.icc,
        exif=marks.exif,
        xmp=marks.xmp,
        iptc=iptc_in_resources(marks.resources),
        ppi=marks.ppi,
    )
    raw, _ = forward_rows(reader, "jpegload", marks.width, marks.height, second_reader=False)
    model = model_of(raw.samples, cmyk=marks.components == 4)
    return Stored(
        format="JPEG",
        compression=_jpeg_packing(marks),
        page=1,
        pages=1,
        width_px=marks.width,
        height_px=marks.height,
        bits=marks.bits,
        sample_format="uint",
        raw=raw,
        resolver=Resolver(model=model, stored_bits=raw.dtype.itemsize * 8, dtype=raw.dtype),
        metadata=metadata,
        jpeg_tables=marks.tables,
        chroma_sampling=marks.chroma_sampling,
        companions=_companions(marks),
    )


def open_webp(reader: ByteReader, *, allow_bomb: bool) -> Stored:
    """Open a WebP."""
    pyvips = vips()
    chunks = _webp_chunks(reader)
    try:
        size = pyvips.Image.webpload(str(reader.path), fail_on="warning")
    except pyvips.Error as error:
        raise damaged_header(reader, last_line(error)) from error
    width, height = size.width, size.height
    check_header(reader, width, height, size.bands, 1, allow_bomb=allow_bomb)
    metadata = metadata_from_blocks(
        icc=chunks.get(b"ICCP"), exif=chunks.get(b"EXIF"), xmp=chunks.get(b"XMP ")
    )
    raw, second = forward_rows(reader, "webpload", width, height, second_reader=True)
    clear = raw.samples in (2, 4)
    return Stored(
        format="WebP",
        compression="webp lossless" if b"VP8L" in chunks else "webp",
        page=1,
        pages=1,
        width_px=width,
        height_px=height,
        bits=8,
        sample_format="uint",
        raw=raw,
        resolver=Resolver(
            model=model_of(raw.samples - clear),
            stored_bits=8,
            dtype=raw.dtype,
            alpha_sample=raw.samples - 1 if clear else None,
        ),
        metadata=metadata,
        companions=("further frames",) if b"ANIM" in chunks else (),
        notes=[say.second_reader(second)] if second else [],
    )


def _jpeg_packing(marks: JpegMarkers) -> str:
    if marks.lossless:
        return "jpeg lossless"
    return "jpeg progressive" if marks.progressive else "jpeg"


def _companions(marks: JpegMarkers) -> tuple[str, ...]:
    """Other pictures that phones pack into one file."""
    xmp = marks.xmp or b""
    found = []
    if any(word in xmp for word in (b"hdrgm:", b"HDRGainMap")):
        found.append("gain map")
    if any(word in xmp for word in (b"MotionPhoto", b"MicroVideo")):
        found.append("film clip")
    if marks.several_pictures and not found:
        found.append("second picture")
    return tuple(found)


def _webp_chunks(reader: ByteReader) -> dict[bytes, bytes]:
    found: dict[bytes, bytes] = {}
    at = 12
    while at + 8 <= reader.size_bytes:
        name, size = struct.unpack("<4sI", reader.read_at(at, 8))
        keep = name in (b"ICCP", b"EXIF", b"XMP ")
        found.setdefault(name, reader.read_at(at + 8, size) if keep else b"")
        at += 8 + size + size % 2
    return found
