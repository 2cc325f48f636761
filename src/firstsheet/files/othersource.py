"""PNG, JPEG and WebP: the container read here, the pixels by a strict forward reader.

Takes an open file; gives a Stored picture. Pixels are decoded once, from the top, into a
temporary file, so that any rows can be read back from any thread. Standards: PNG (W3C,
third edition), ITU-T T.81 and T.871, RFC 9649 (WebP). Theory: docs/theory/opening.md.
Tests: tests/files/test_open_other.py.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.engine.records import Finding
from firstsheet.files import open_findings as say
from firstsheet.files.jpegmarkers import JpegMarkers, read_markers
from firstsheet.files.metadata import iptc_in_resources, metadata_from_blocks
from firstsheet.files.open_bytes import ByteReader
from firstsheet.files.open_limits import check_claim, check_spool
from firstsheet.files.source_raw import DamagedRowsError, RawRows, SpoolRows
from firstsheet.files.source_record import Stored
from firstsheet.files.source_resolve import Model, Resolver
from firstsheet.files.source_vips import harmless_warning, vips, vips_chunks, vips_open

__all__ = ["open_jpeg", "open_png", "open_webp"]

_JPEG_HEADER_BYTES = 32 << 20
_SECOND_READER_BYTES = 512 << 20


def open_jpeg(reader: ByteReader, *, allow_bomb: bool) -> Stored:
    """Open a JPEG."""
    data = reader.read_at(0, _JPEG_HEADER_BYTES)
    marks = read_markers(data)
    if not marks.components or not marks.scan_at:
        raise damaged_header(reader, "no complete frame and scan header")
    _check(reader, marks.width, marks.height, marks.components, 1, allow_bomb=allow_bomb)
    metadata = metadata_from_blocks(
        icc=marks.icc,
        exif=marks.exif,
        xmp=marks.xmp,
        iptc=iptc_in_resources(marks.resources),
        ppi=marks.ppi,
    )
    notes: list[Finding] = []
    raw, second = _pixels(reader, "jpegload", marks.width, marks.height, {})
    if second:
        notes.append(say.second_reader(second))
    model = _model_of(raw.samples, cmyk=marks.components == 4)
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
        notes=notes,
    )


def open_png(reader: ByteReader, *, allow_bomb: bool) -> Stored:
    """Open a PNG."""
    chunks, problem = _png_chunks(reader)
    header = chunks.get(b"IHDR", b"")
    if len(header) < 13 or b"IDAT" not in chunks:
        raise damaged_header(reader, problem or "no header or no picture data")
    width, height, bits, kind = struct.unpack_from(">IIBB", header)
    deep = 2 if bits == 16 else 1
    bands = {0: 1, 2: 3, 3: 3, 4: 2, 6: 4}.get(kind, 3) + (b"tRNS" in chunks)
    _check(reader, width, height, bands, deep, allow_bomb=allow_bomb)
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
    raw, second = _pixels(reader, "pngload", width, height, {"unlimited": True})
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
            model=_model_of(colours),
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


def open_webp(reader: ByteReader, *, allow_bomb: bool) -> Stored:
    """Open a WebP."""
    pyvips = vips()
    chunks = _webp_chunks(reader)
    try:
        size = pyvips.Image.webpload(str(reader.path), fail_on="warning")
    except pyvips.Error as error:
        raise damaged_header(reader, _last_line(error)) from error
    width, height = size.width, size.height
    _check(reader, width, height, size.bands, 1, allow_bomb=allow_bomb)
    metadata = metadata_from_blocks(
        icc=chunks.get(b"ICCP"), exif=chunks.get(b"EXIF"), xmp=chunks.get(b"XMP ")
    )
    notes: list[Finding] = []
    raw, second = _pixels(reader, "webpload", width, height, {})
    if second:
        notes.append(say.second_reader(second))
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
            model=_model_of(raw.samples - clear),
            stored_bits=8,
            dtype=raw.dtype,
            alpha_sample=raw.samples - 1 if clear else None,
        ),
        metadata=metadata,
        companions=("further frames",) if b"ANIM" in chunks else (),
        notes=notes,
    )


def damaged_header(reader: ByteReader, reason: str) -> RefusedPictureError:
    """Refusal of a file whose header does not lead to any pixel."""
    return RefusedPictureError(
        f"The header of {reader.path.name} ({reader.size_bytes:,} bytes) is damaged: {reason}.",
        "0 rows can be read.",
        "Copy it again from where it came from.",
        "damaged-header",
    )


def _pixels(
    reader: ByteReader, loader: str, width: int, height: int, options: dict[str, Any]
) -> tuple[RawRows, str]:
    """Rows through the forward reader, or the second reader where the first cannot begin."""
    pyvips = vips()
    second = ""
    try:
        image = vips_open(reader.path, loader, **options)
        chunks: Iterator[NDArray[Any]] = _tolerant(reader, loader, options, image)
        samples, dtype = image.bands, np.dtype(np.uint16 if image.format == "ushort" else np.uint8)
        if (image.width, image.height) != (width, height):
            raise damaged_header(reader, "two readers see two sizes")
    except pyvips.Error as error:
        array = _second_reader(reader, _last_line(error))
        second = _last_line(error)
        if array.shape[:2] != (height, width):
            raise damaged_header(reader, "two readers see two sizes") from error
        chunks, samples, dtype = iter([array]), array.shape[2], array.dtype
    check_spool(reader.path.name, width * height * samples * dtype.itemsize)
    spool = SpoolRows(chunks, width_px=width, height_px=height, samples=samples, dtype=dtype)
    return spool, second


def _tolerant(
    reader: ByteReader, loader: str, options: dict[str, Any], image: Any
) -> Iterator[NDArray[Any]]:
    """Strict chunks; after a remark that costs no pixel, the rest less strictly."""
    done = 0
    try:
        for chunk in vips_chunks(image):
            done += len(chunk)
            yield chunk
    except DamagedRowsError as error:
        if not harmless_warning(error):
            raise
        again = vips_open(reader.path, loader, **options, fail_on="error")
        seen = 0
        for chunk in vips_chunks(again):
            seen += len(chunk)
            if seen > done:
                yield chunk


def _second_reader(reader: ByteReader, reason: str) -> NDArray[Any]:
    """The whole picture through Pillow, for what the first reader cannot begin."""
    from PIL import Image

    try:
        with Image.open(reader.path) as picture:
            width, height = picture.size
            if width * height * 4 > _SECOND_READER_BYTES:
                raise damaged_header(reader, reason)
            picture.load()
            modes = ("L", "LA", "RGB", "RGBA", "CMYK")
            flat = picture if picture.mode in modes else picture.convert("RGB")
            array = np.array(flat)
    except RefusedPictureError:
        raise
    except Exception as error:  # a hostile file can make the reader raise anything
        raise damaged_header(reader, reason) from error
    return array.reshape(height, width, -1)


def _check(
    reader: ByteReader, width: int, height: int, bands: int, deep: int, *, allow_bomb: bool
) -> None:
    check_claim(
        reader.path.name,
        width,
        height,
        width * height * bands * deep,
        reader.size_bytes,
        allow_bomb=allow_bomb,
    )


def _model_of(colours: int, *, cmyk: bool = False) -> Model:
    if cmyk and colours == 4:
        return "cmyk"
    return "grey" if colours == 1 else "rgb"


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


def _webp_chunks(reader: ByteReader) -> dict[bytes, bytes]:
    found: dict[bytes, bytes] = {}
    at = 12
    while at + 8 <= reader.size_bytes:
        name, size = struct.unpack("<4sI", reader.read_at(at, 8))
        keep = name in (b"ICCP", b"EXIF", b"XMP ")
        found.setdefault(name, reader.read_at(at + 8, size) if keep else b"")
        at += 8 + size + size % 2
    return found


def _last_line(error: Exception) -> str:
    lines = [line for line in str(error).splitlines() if line.strip()]
    return (lines[-1] if lines else "unknown damage").strip()[:160]
