"""PNG files with a profile, the right resolution and words, the same bytes every time.

Takes whole arrays of 8- or 16-bit grey or RGB; gives a file, written by libvips. The same pixels
give the same bytes. Standard: PNG (W3C, third edition). Tests: tests/files/test_png.py.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["write_png8", "write_png16"]

_LEVEL = 4  # of deflate; 1 is a third quicker and a fifth larger
_MM_PER_INCH = 25.4


def write_png16(
    path: Path,
    pixels: NDArray[np.uint16],
    profile: bytes | None,
    *,
    ppi: float | None = None,
    text: Mapping[str, str] | None = None,
) -> None:
    """Write a 16-bit PNG.

    Parameters
    ----------
    pixels
        (H, W) grey or (H, W, 3) RGB, in the space of `profile`.
    profile
        ICC profile to embed, or None.
    ppi
        Resolution, pixels per inch; PNG keeps whole pixels per metre.
    text
        Words by keyword, such as `Title`, `Description`, `Software`.
    """
    _write(path, np.asarray(pixels, dtype=np.uint16), profile, ppi, text)


def write_png8(
    path: Path,
    pixels: NDArray[np.uint8],
    profile: bytes | None,
    *,
    ppi: float | None = None,
    text: Mapping[str, str] | None = None,
) -> None:
    """Write an 8-bit PNG; parameters as in `write_png16`."""
    _write(path, np.asarray(pixels, dtype=np.uint8), profile, ppi, text)


def _write(
    path: Path,
    pixels: NDArray[np.uint8] | NDArray[np.uint16],
    profile: bytes | None,
    ppi: float | None,
    text: Mapping[str, str] | None,
) -> None:
    """Write by libvips, under a new name only: an existing file is never replaced."""
    import pyvips

    if pixels.ndim not in (2, 3) or (pixels.ndim == 3 and pixels.shape[2] != 3) or not pixels.size:
        raise ValueError(f"a PNG here is (H, W) or (H, W, 3), not {pixels.shape}")
    height_px, width_px = pixels.shape[:2]
    bands = 3 if pixels.ndim == 3 else 1
    image = pyvips.Image.new_from_memory(
        np.ascontiguousarray(pixels), width_px, height_px, bands, _FORMATS[pixels.itemsize]
    ).copy(interpretation=_INTERPRETATIONS[pixels.itemsize, bands])
    if ppi is not None:
        image = image.copy(xres=ppi / _MM_PER_INCH, yres=ppi / _MM_PER_INCH)
    if profile:
        image.set_type(pyvips.GValue.blob_type, "icc-profile-data", profile)
    said = b"".join(_words_chunk(keyword, words) for keyword, words in (text or {}).items())
    data = image.pngsave_buffer(compression=_LEVEL, filter="up", keep="icc")
    with path.open("xb") as file:
        for kind, chunk in _chunks(data):
            if kind == b"IDAT":
                file.write(said)
                said = b""
            if kind != b"pHYs" or ppi is not None:  # libvips always claims a resolution
                file.write(chunk)


def _chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """The signature and each chunk of a PNG file, with its kind."""
    yield b"", data[:8]
    at = 8
    while at < len(data):
        end = at + 12 + int.from_bytes(data[at : at + 4], "big")
        yield data[at + 4 : at + 8], data[at:end]
        at = end


def _words_chunk(keyword: str, words: str) -> bytes:
    """A tEXt chunk where Latin-1 suffices, else iTXt in UTF-8; libvips writes no iTXt."""
    key = keyword.encode("latin-1")
    if not 1 <= len(key) <= 79 or "\0" in keyword + words:
        raise ValueError(f"“{keyword}” is no PNG keyword")
    try:
        kind, body = b"tEXt", key + b"\0" + words.encode("latin-1")
    except UnicodeEncodeError:
        kind, body = b"iTXt", key + b"\0\0\0\0\0" + words.encode("utf-8")
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


_FORMATS = {1: "uchar", 2: "ushort"}
_INTERPRETATIONS = {(1, 3): "srgb", (2, 3): "rgb16", (1, 1): "b-w", (2, 1): "grey16"}
