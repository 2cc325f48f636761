"""PNG files with a profile, the right resolution and words, the same bytes every time.

Takes whole arrays of 8- or 16-bit grey or RGB; gives a file. Blocks of rows are compressed in
threads and joined, so the bytes do not depend on the number of threads.
Source: PNG (Third Edition), W3C 2025, sections 9 (filtering), 10 (compression), 11 (chunks).
Theory: docs/theory/files.md. Tests: tests/files/test_png.py.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["write_png8", "write_png16"]

_MARK = b"\x89PNG\r\n\x1a\n"
_BLOCK_BYTES = 2**20
_LEVEL = 4
_METRES_PER_INCH = 0.0254


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
    if pixels.ndim not in (2, 3) or (pixels.ndim == 3 and pixels.shape[2] != 3) or not pixels.size:
        raise ValueError(f"a PNG here is (H, W) or (H, W, 3), not {pixels.shape}")
    height_px, width_px = pixels.shape[:2]
    colour_type = 2 if pixels.ndim == 3 else 0
    bits = pixels.itemsize * 8
    with path.open("xb") as file:
        file.write(_MARK)
        file.write(
            _chunk(
                b"IHDR", struct.pack(">IIBBBBB", width_px, height_px, bits, colour_type, 0, 0, 0)
            )
        )
        if profile:
            file.write(_chunk(b"iCCP", b"ICC profile\0\0" + zlib.compress(profile, 9)))
        if ppi is not None:
            per_metre = round(ppi / _METRES_PER_INCH)
            file.write(_chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1)))
        for keyword, words in (text or {}).items():
            file.write(_words_chunk(keyword, words))
        for block in _packed(pixels):
            file.write(_chunk(b"IDAT", block))
        file.write(_chunk(b"IEND", b""))


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _words_chunk(keyword: str, words: str) -> bytes:
    """A tEXt chunk where Latin-1 suffices, else iTXt (UTF-8)."""
    key = keyword.encode("latin-1")
    if not 1 <= len(key) <= 79 or "\0" in keyword + words:
        raise ValueError(f"“{keyword}” is no PNG keyword")
    try:
        return _chunk(b"tEXt", key + b"\0" + words.encode("latin-1"))
    except UnicodeEncodeError:
        return _chunk(b"iTXt", key + b"\0\0\0\0\0" + words.encode("utf-8"))


def _packed(pixels: NDArray[np.uint8] | NDArray[np.uint16]) -> list[bytes]:
    """The zlib stream of the filtered rows, in pieces."""
    rows = np.ascontiguousarray(pixels, dtype=pixels.dtype.newbyteorder(">"))
    step = pixels.itemsize * (3 if pixels.ndim == 3 else 1)
    raw = rows.view(np.uint8).reshape(len(rows), -1)
    height = max(1, _BLOCK_BYTES // raw.shape[1])
    tops = range(0, len(raw), height)

    def pack(top: int) -> tuple[bytes, bytes]:
        bottom = min(top + height, len(raw))
        above = raw[top - 1] if top else np.zeros(raw.shape[1], np.uint8)
        filtered = _filtered(raw[top:bottom], above, step).tobytes()
        squeeze = zlib.compressobj(_LEVEL, zlib.DEFLATED, -15)
        end = zlib.Z_FINISH if bottom == len(raw) else zlib.Z_FULL_FLUSH
        return squeeze.compress(filtered) + squeeze.flush(end), filtered

    check = 1
    pieces = [b"\x78\x5e"]  # zlib header: deflate, 32 KiB window
    with ThreadPoolExecutor(2) as threads:
        for packed, filtered in threads.map(pack, tops):
            pieces.append(packed)
            check = zlib.adler32(filtered, check)
    pieces[0] += pieces.pop(1)
    pieces[-1] += struct.pack(">I", check)
    return pieces


def _filtered(raw: NDArray[np.uint8], above: NDArray[np.uint8], step: int) -> NDArray[np.uint8]:
    """Each row as it stands, or less its left or upper neighbour: whichever is smallest."""
    upper = np.vstack([above, raw[:-1]])
    left = np.zeros_like(raw)
    left[:, step:] = raw[:, :-step]
    choices = np.stack([raw, raw - left, raw - upper])
    magnitude = np.abs(choices.view(np.int8).astype(np.int16)).sum(axis=2, dtype=np.int64)
    best = magnitude.argmin(axis=0)
    out = np.empty((len(raw), raw.shape[1] + 1), np.uint8)
    out[:, 0] = best  # filter types 0, 1, 2 of the standard: none, sub, up
    out[:, 1:] = np.take_along_axis(choices, best[None, :, None], axis=0)[0]
    return out
