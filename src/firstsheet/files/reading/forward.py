"""Rows of PNG, JPEG and WebP through a strict forward reader and a temporary file.

Takes an open file and what its header claims; gives RawRows. libvips reads first; where it
cannot begin with a PNG or WebP, Pillow reads the whole. Tests: tests/files/test_open_formats.py,
test_open_damage.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import RefusedPictureError
from firstsheet.files.reading.byte_reader import ByteReader
from firstsheet.files.reading.limits import check_claim, check_spool
from firstsheet.files.reading.raw_rows import DamagedRowsError, RawRows, SpoolRows
from firstsheet.files.reading.resolve import Model
from firstsheet.files.reading.vips import harmless_warning, vips, vips_chunks, vips_open

__all__ = ["check_header", "damaged_header", "forward_rows", "last_line", "model_of"]

_SECOND_READER_BYTES = 512 << 20


def damaged_header(reader: ByteReader, reason: str) -> RefusedPictureError:
    """Refusal of a file whose header does not lead to any pixel."""
    return RefusedPictureError(
        f"The header of {reader.path.name} ({reader.size_bytes:,} bytes) is damaged: {reason}.",
        "0 rows can be read.",
        "Copy it again from where it came from.",
        "damaged-header",
    )


def forward_rows(
    reader: ByteReader,
    loader: str,
    width: int,
    height: int,
    *,
    second_reader: bool,
    proven_rows: Callable[[], int] | None = None,
    **options: Any,
) -> tuple[RawRows, str]:
    """Rows through the forward reader, or the second reader where the first cannot begin.

    Parameters
    ----------
    second_reader
        Whether the second reader refuses damaged files of this kind, and keeps all their bits:
        Pillow turns 16-bit colour into 8 bits in silence.
    proven_rows
        After damage: how many rows the file's own check sums vouch for.
    options
        For the forward reader's loader.

    Returns
    -------
    tuple
        The rows, and why the second reader was taken (empty when it was not).
    """
    second = ""
    try:
        image = vips_open(reader.path, loader, **options)
    except vips().Error as error:
        second = last_line(error)
        if not second_reader:
            raise damaged_header(reader, second) from error
        array = _second_reader(reader, second)
        seen, samples, dtype = (array.shape[1], array.shape[0]), array.shape[2], array.dtype
        chunks: Iterator[NDArray[Any]] = iter([array])
    else:
        seen, samples = (image.width, image.height), image.bands
        dtype = np.dtype(np.uint16 if image.format == "ushort" else np.uint8)
        chunks = _proven(_tolerant(reader, loader, options, image), proven_rows)
    if seen != (width, height):
        raise damaged_header(reader, "two readers see two sizes")
    check_spool(reader.path.name, width * height * samples * dtype.itemsize)
    rows = SpoolRows(chunks, width_px=width, height_px=height, samples=samples, dtype=dtype)
    return rows, second


def _proven(
    chunks: Iterator[NDArray[Any]], proven_rows: Callable[[], int] | None
) -> Iterator[NDArray[Any]]:
    """The same chunks; after damage, rows that no check sum vouches for are taken back."""
    try:
        yield from chunks
    except DamagedRowsError as error:
        if proven_rows is None:
            raise
        raise DamagedRowsError(min(error.first_row, proven_rows()), error.reason) from error


def _tolerant(
    reader: ByteReader, loader: str, options: dict[str, Any], image: Any
) -> Iterator[NDArray[Any]]:
    """Strict chunks; after a remark that costs no pixel, the rest less strictly."""
    done = 0
    try:
        for chunk in vips_chunks(image):
            done += len(chunk)
            yield chunk
        return
    except DamagedRowsError as error:
        if not harmless_warning(error):
            raise
    seen = 0
    for chunk in vips_chunks(vips_open(reader.path, loader, **options, fail_on="error")):
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
            clear = picture.has_transparency_data
            modes = ("L", "LA", "RGB", "RGBA")
            kept = picture.mode in modes and (clear == picture.mode.endswith("A"))
            flat = picture if kept else picture.convert("RGBA" if clear else "RGB")
            array = np.array(flat)
    except RefusedPictureError:
        raise
    except Exception as error:  # a hostile file can make the reader raise anything
        raise damaged_header(reader, reason) from error
    return array.reshape(height, width, -1)


def check_header(
    reader: ByteReader, width: int, height: int, bands: int, deep: int, *, allow_bomb: bool
) -> None:
    """Hold a header's claim of size against the bytes of the file."""
    check_claim(
        reader.path.name,
        width,
        height,
        width * height * bands * deep,
        reader.size_bytes,
        allow_bomb=allow_bomb,
    )


def model_of(colours: int, *, cmyk: bool = False) -> Model:
    """Colour model by the number of colour channels."""
    if cmyk and colours == 4:
        return "cmyk"
    return "grey" if colours == 1 else "rgb"


def last_line(error: Exception) -> str:
    """The last line a library said: its first cause."""
    lines = [line for line in str(error).splitlines() if line.strip()]
    return (lines[-1] if lines else "unknown damage").strip()[:160]
