"""Rows of one TIFF page: straight from their place, part by part, or unpacked once.

Takes a page and its Layout; gives RawRows, the Resolver that fits them, and the reason
where a second reader was taken. Theory: docs/theory/opening.md.
Tests: tests/files/test_open_formats.py, test_open_rows.py.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.files.reading.byte_reader import ByteReader
from firstsheet.files.reading.limits import check_spool
from firstsheet.files.reading.raw_rows import (
    DamagedRowsError,
    FlatRows,
    RawRows,
    SegmentRows,
    SpoolRows,
)
from firstsheet.files.reading.resolve import Resolver
from firstsheet.files.reading.tiff_layout import (
    BLACK_IS_ZERO,
    CMYK,
    COMPRESSIONS,
    RGB,
    YCBCR,
    Layout,
)
from firstsheet.files.reading.vips import vips, vips_chunks, vips_open

__all__ = ["tiff_rows"]

_LARGEST_SEGMENT_BYTES = 32 << 20
_MOST_IN_MEMORY_BYTES = 512 << 20
_STREAM_BYTES = 1 << 20
_JPEG = 7
_DEFLATE = frozenset({8, 32946})
_BY_PARTS = frozenset({1, 5, _JPEG, 32773, 34925, 50000}) | _DEFLATE
_VIPS_PACKINGS = frozenset({5, _JPEG, 32773}) | _DEFLATE


def tiff_rows(
    reader: ByteReader, page: Any, layout: Layout, resolver: Resolver, place: int
) -> tuple[RawRows, Resolver, str]:
    """Rows of samples; where libvips must read, the resolver that fits what it gives."""
    per_plane = 1 if layout.planes > 1 else layout.samples
    segment_bytes = layout.segment_width * layout.segment_height * per_plane * layout.dtype.itemsize
    unpacked_ycbcr = layout.photometric == YCBCR and layout.compression != _JPEG
    if layout.compression not in _BY_PARTS or unpacked_ycbcr:
        raw, resolver = _by_vips(reader, layout, resolver, place)
        return raw, resolver, "the first reader does not know this packing"
    if layout.compression == 1 and _is_flat(page, layout):
        return _flat(reader, layout), resolver, ""
    if segment_bytes <= _LARGEST_SEGMENT_BYTES:
        return _by_parts(reader, page, layout), resolver, ""
    told = f"one packed part holds {segment_bytes / 1e6:,.0f} MB"
    if layout.compression in _DEFLATE and _streams(page, layout):
        return _by_stream(reader, page, layout), resolver, told
    packed_bytes = max(layout.counts, default=0)
    if packed_bytes > _MOST_IN_MEMORY_BYTES:
        raise _too_large_a_part(reader, packed_bytes, segment_bytes)
    if layout.compression in _VIPS_PACKINGS and _vips_keeps_samples(layout):
        raw, resolver = _by_vips(reader, layout, resolver, place)
        return raw, resolver, told
    if packed_bytes + segment_bytes > _MOST_IN_MEMORY_BYTES:
        raise _too_large_a_part(reader, packed_bytes, segment_bytes)
    return _by_parts(reader, page, layout), resolver, ""


def _too_large_a_part(
    reader: ByteReader, packed_bytes: int, segment_bytes: int
) -> RefusedPictureError:
    return RefusedPictureError(
        f"{reader.path.name} is packed in parts that cannot be unpacked piece by piece: one takes "
        f"{packed_bytes / 1e6:,.0f} MB packed and {segment_bytes / 1e6:,.0f} MB unpacked; the "
        f"limit is {_MOST_IN_MEMORY_BYTES / 1e6:,.0f} MB in memory.",
        "It cannot be read row by row.",
        "Save it as a TIFF in strips, without compression or with deflate.",
        "part-too-large",
    )


def _streams(page: Any, layout: Layout) -> bool:
    """One strip per plane order that zlib can unpack from the top, row by row."""
    return (
        layout.planes == 1
        and not layout.tiled
        and int(page.predictor) in (1, 2)
        and int(page.fillorder) == 1
        and layout.bits in (8, 16, 32)
        and _whole_type(layout)
        and not (int(page.predictor) == 2 and layout.is_float)
    )


def _by_stream(reader: ByteReader, page: Any, layout: Layout) -> RawRows:
    """Deflate strips unpacked from the top into a temporary file, in bounded memory."""
    row_bytes = layout.width * layout.samples * layout.dtype.itemsize
    check_spool(reader.path.name, row_bytes * layout.height)
    stored = layout.dtype.newbyteorder(layout.order)  # type: ignore[arg-type]  # `<` or `>`
    differences = int(page.predictor) == 2

    def chunks() -> Iterator[NDArray[Any]]:
        for strip, offset in enumerate(layout.offsets):
            top = strip * layout.segment_height
            rows = min(layout.segment_height, layout.height - top)
            done = 0
            try:
                for data in _inflated(reader, offset, layout.counts[strip], row_bytes):
                    take = min(len(data) // row_bytes, rows - done)
                    flat = np.frombuffer(data, stored, take * row_bytes // stored.itemsize)
                    part = flat.astype(layout.dtype).reshape(take, layout.width, layout.samples)
                    if differences:
                        part = np.cumsum(part, axis=1, dtype=layout.dtype)
                    done += take
                    yield part
            except zlib.error as error:  # its check sum covers all of the strip's rows
                raise DamagedRowsError(top, f"the packed data are damaged: {error}") from error
            if done < rows:
                raise DamagedRowsError(top + done, "the packed data end there")

    return SpoolRows(
        chunks(),
        width_px=layout.width,
        height_px=layout.height,
        samples=layout.samples,
        dtype=layout.dtype,
    )


def _inflated(
    reader: ByteReader, offset: int, count: int, row_bytes: int
) -> Iterator[bytes | bytearray]:
    """Whole rows of one deflate strip; ends quietly where the data do, raises zlib.error."""
    unpack = zlib.decompressobj()
    most = max(row_bytes, _STREAM_BYTES // row_bytes * row_bytes)
    waiting = bytearray()
    done, packed = 0, b""
    while not unpack.eof:
        if not packed:
            packed = reader.read_at(offset + done, min(_STREAM_BYTES, count - done))
            done += len(packed)
            if not packed:
                break
        waiting += unpack.decompress(packed, most - len(waiting))
        packed = unpack.unconsumed_tail
        if len(waiting) >= most:
            yield waiting
            waiting = bytearray()
    if len(waiting) >= row_bytes:
        yield waiting


def _is_flat(page: Any, layout: Layout) -> bool:
    plain = int(page.predictor) == 1 and int(page.fillorder) == 1
    return plain and not layout.tiled and layout.bits in (8, 16, 32) and _whole_type(layout)


def _whole_type(layout: Layout) -> bool:
    return layout.is_float == (layout.bits == 32)


def _flat(reader: ByteReader, layout: Layout) -> RawRows:
    per_plane = -(-layout.height // layout.segment_height)
    planes = [
        layout.offsets[plane * per_plane : (plane + 1) * per_plane]
        for plane in range(layout.planes)
    ]
    return FlatRows(
        reader,
        width_px=layout.width,
        height_px=layout.height,
        samples=layout.samples,
        stored=layout.dtype.newbyteorder(layout.order),  # type: ignore[arg-type]  # `<` or `>`
        rows_per_strip=layout.segment_height,
        planes=planes,
    )


def _by_parts(reader: ByteReader, page: Any, layout: Layout) -> RawRows:
    decode, tables = page.decode, page.jpegtables
    is_jpeg = layout.compression == _JPEG

    def part(index: int) -> Any:
        data = reader.read_at(layout.offsets[index], layout.counts[index])
        if len(data) < layout.counts[index] or not data:
            raise ValueError("the file ends there")
        decoded = decode(data, index, jpegtables=tables)[0]
        if decoded is None:
            raise ValueError("an empty part")
        return np.asarray(decoded).reshape(decoded.shape[-3:])

    def verify(index: int) -> None:
        data = reader.read_at(layout.offsets[index], layout.counts[index])
        if tables:
            data = tables[:-2] + data[2:]
        image = vips().Image.jpegload_buffer(data, fail_on="warning", access="sequential")
        image.avg()

    return SegmentRows(
        part,
        width_px=layout.width,
        height_px=layout.height,
        samples=layout.samples,
        dtype=layout.dtype,
        segment_width=layout.segment_width,
        segment_height=layout.segment_height,
        planes=layout.planes,
        verify=verify if is_jpeg else None,
    )


def _vips_keeps_samples(layout: Layout) -> bool:
    """Whether libvips hands out this page's samples exactly as stored."""
    return (
        layout.photometric in (BLACK_IS_ZERO, RGB, CMYK)
        and layout.planes == 1
        and layout.bits in (8, 16, 32)
        and _whole_type(layout)
    )


def _by_vips(
    reader: ByteReader, layout: Layout, resolver: Resolver, place: int
) -> tuple[RawRows, Resolver]:
    pyvips = vips()
    try:
        image = vips_open(reader.path, "tiffload", page=place, unlimited=True)
        chunks = vips_chunks(image)
        format_name, bands = image.format, image.bands
    except (pyvips.Error, KeyError) as error:
        name = COMPRESSIONS.get(layout.compression, f"packing kind {layout.compression}")
        raise RefusedPictureError(
            f"The page is packed as {name}, and neither reader could open it.",
            "Its pixels cannot be reached.",
            "Save it as TIFF without compression, or with LZW or deflate.",
            "packing-not-read",
        ) from error
    types = {"uchar": np.uint8, "ushort": np.uint16, "float": np.float32}
    if format_name not in types or image.interpretation in ("lab", "labs"):
        raise RefusedPictureError(
            f"The page's samples come out as {format_name} {image.interpretation}.",
            "They cannot be printed through this reader.",
            "Save it as 16-bit RGB with its profile.",
            "samples-not-printable",
        )
    dtype = np.dtype(types[format_name])
    check_spool(reader.path.name, layout.width * layout.height * bands * dtype.itemsize)
    if not _vips_keeps_samples(layout):
        bits = 32 if dtype.kind == "f" else dtype.itemsize * 8
        resolver = replace(
            resolver,
            stored_bits=bits,
            dtype=dtype,
            min_is_white=False,
            palette=None,
            model="grey" if bands <= 2 else resolver.model,
        )
    raw = SpoolRows(
        chunks, width_px=layout.width, height_px=layout.height, samples=bands, dtype=dtype
    )
    return raw, resolver
