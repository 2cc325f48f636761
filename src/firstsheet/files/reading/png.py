"""PNG: its chunks read and checked here, the pixels by a strict forward reader.

Takes an open file; gives a Stored picture. Standard: PNG (W3C, third edition).
Theory: docs/theory/opening.md. Tests: tests/files/test_open_formats.py, test_open_damage.py.
"""

from __future__ import annotations

import struct
import zlib
from typing import Literal

from firstsheet.engine.records import Finding
from firstsheet.files.reading import findings as say
from firstsheet.files.reading.byte_reader import ByteReader
from firstsheet.files.reading.forward import check_header, damaged_header, forward_rows, model_of
from firstsheet.files.reading.metadata import metadata_from_blocks
from firstsheet.files.reading.resolve import Resolver
from firstsheet.files.reading.stored import Stored

__all__ = ["open_png"]

_BLOCK_BYTES = 1 << 20
_SAMPLES = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}  # per pixel, by colour type


def open_png(reader: ByteReader, *, allow_bomb: bool) -> Stored:
    """Open a PNG."""
    chunks, problem = _png_chunks(reader)
    header = chunks.get(b"IHDR", b"")
    if len(header) < 13 or b"IDAT" not in chunks:
        raise damaged_header(reader, problem or "no header or no picture data")
    width, height, bits, kind = struct.unpack_from(">IIBB", header)
    deep = 2 if bits == 16 else 1
    bands = (3 if kind == 3 else _SAMPLES.get(kind, 3)) + (b"tRNS" in chunks)
    check_header(reader, width, height, bands, deep, allow_bomb=allow_bomb)
    icc, icc_problem = _png_profile(chunks.get(b"iCCP", b""))
    metadata = metadata_from_blocks(
        icc=icc,
        exif=chunks.get(b"eXIf"),
        xmp=_png_xmp(chunks.get(b"xmp", b"")),
        ppi=_png_ppi(chunks.get(b"pHYs", b"")),
    )
    notes: list[Finding] = []
    if icc_problem:
        notes.append(say.profile_unreadable(len(chunks[b"iCCP"]), icc_problem))
    interlaced = bool(header[12])
    row_bytes = 1 + -(-width * _SAMPLES.get(kind, 3) * bits // 8)
    raw, second = forward_rows(
        reader,
        "pngload",
        width,
        height,
        second_reader=bits <= 8,
        proven_rows=lambda: 0 if interlaced else _proven_rows(reader, row_bytes),
        unlimited=True,
    )
    if second:
        notes.append(say.second_reader(second))
    clear = raw.samples in (2, 4)
    colours = raw.samples - clear
    return Stored(
        format="PNG",
        compression="deflate",
        page=1,
        pages=1,
        width_px=width,
        height_px=height,
        bits=bits,
        sample_format="uint",
        raw=raw,
        resolver=Resolver(
            model=model_of(colours),
            stored_bits=raw.dtype.itemsize * 8,
            dtype=raw.dtype,
            alpha_sample=colours if clear else None,
        ),
        metadata=metadata,
        damage=problem,
        palette_colours=len(chunks.get(b"PLTE", b"")) // 3 if kind == 3 else None,
        companions=("further frames",) if b"acTL" in chunks else (),
        declared_space=_png_space(chunks),
        notes=notes,
    )


def _png_chunks(reader: ByteReader) -> tuple[dict[bytes, bytes], str]:
    """First chunk of each kind (IDAT only noted), and the first fault of the chain."""
    found: dict[bytes, bytes] = {}
    at = 8
    while True:
        head = reader.read_at(at, 8)
        if len(head) < 8:
            return found, "the chain of chunks ends before its end mark"
        size, name = struct.unpack(">I4s", head)
        if at + 12 + size > reader.size_bytes:
            found.setdefault(name, b"")
            return found, f"a chunk of {size:,} bytes runs past the end of the file"
        if name == b"IDAT":
            found.setdefault(name, b"")
        elif size <= 64 << 20 and name.isalpha():
            body = reader.read_at(at + 8, size)
            stated = struct.unpack(">I", reader.read_at(at + 8 + size, 4))[0]
            if zlib.crc32(body, zlib.crc32(name)) == stated:
                key = b"xmp" if body[:18] == b"XML:com.adobe.xmp\0" else name
                found.setdefault(key, body)
        if name == b"IEND":
            return found, ""
        at += 12 + size


def _png_profile(chunk: bytes) -> tuple[bytes | None, str]:
    """Unpack an iCCP chunk, at most 64 MB; a problem in words where it cannot be."""
    if not chunk:
        return None, ""
    _, _, packed = chunk.partition(b"\0")
    try:
        return zlib.decompressobj().decompress(packed[1:], 64 << 20), ""
    except zlib.error as error:
        return None, str(error)


def _png_xmp(chunk: bytes) -> bytes | None:
    """Text of an iTXt chunk with the XMP keyword."""
    if not chunk:
        return None
    _, _, rest = chunk.partition(b"\0")
    packed, rest = rest[:1] == b"\1", rest[2:]
    text = rest.split(b"\0", 2)[-1]
    try:
        return zlib.decompressobj().decompress(text, 64 << 20) if packed else text
    except zlib.error:
        return None


def _png_ppi(chunk: bytes) -> tuple[float, float] | None:
    if len(chunk) < 9:
        return None
    x, y, unit = struct.unpack_from(">IIB", chunk)
    return (x * 0.0254, y * 0.0254) if unit == 1 else None


def _png_space(chunks: dict[bytes, bytes]) -> Literal["", "srgb", "display-p3"]:
    """A space the PNG declares by its own chunks (cICP goes before sRGB)."""
    coded = chunks.get(b"cICP", b"")[:2]
    if coded == bytes((12, 13)):
        return "display-p3"
    if coded == bytes((1, 13)) or (not coded and b"sRGB" in chunks):
        return "srgb"
    return ""


def _proven_rows(reader: ByteReader, row_bytes: int) -> int:
    """Rows held by the picture chunks whose check sums are right, and by a last cut one."""
    unpack = zlib.decompressobj()
    unpacked, at = 0, 8
    while True:
        head = reader.read_at(at, 8)
        if len(head) < 8:
            break
        size, name = struct.unpack(">I4s", head)
        if name == b"IDAT":
            stated = reader.read_at(at + 8 + size, 4)
            if len(stated) == 4 and _check_sum(reader, at, size) != struct.unpack(">I", stated)[0]:
                break
            unpacked += _unpacked_bytes(reader, unpack, at + 8, size)
        at += 12 + size
    return unpacked // row_bytes


def _check_sum(reader: ByteReader, at: int, size: int) -> int:
    total, done = 0, 4
    while done < size + 8:
        part = reader.read_at(at + done, min(_BLOCK_BYTES, size + 8 - done))
        if not part:
            break
        total = zlib.crc32(part, total)
        done += len(part)
    return total


def _unpacked_bytes(reader: ByteReader, unpack: zlib._Decompress, at: int, size: int) -> int:
    total = done = 0
    while done < size:
        packed = reader.read_at(at + done, min(_BLOCK_BYTES, size - done))
        if not packed:
            break
        done += len(packed)
        while packed:
            try:
                data = unpack.decompress(packed, _BLOCK_BYTES)
            except zlib.error:
                return total
            total += len(data)
            packed = unpack.unconsumed_tail
    return total
