"""Strips that are compressed in any thread and stored in their order.

Takes rows in any order; gives the place and length of each strip. A strip that comes before its
turn waits in memory, and beyond a bound in a spill file, so neither memory nor the file's bytes
depend on how threads were scheduled. Tests: tests/files/test_tiffsink_packed.py.
"""

from __future__ import annotations

import contextlib
import os
import threading
from pathlib import Path
from typing import Any, BinaryIO, Literal

import numpy as np

from firstsheet.engine.streams import Rows

__all__ = ["Compression", "StripStore", "pack_strip"]

Compression = Literal["none", "lzw", "deflate"]
_WAITING_BYTES = 64 * 2**20
_DEFLATE_LEVEL = 1  # fastest, and on grainy 16-bit scans as small as the higher ones


class StripStore:
    """Collects rows into strips, packs each in the thread that completed it, appends in order."""

    def __init__(
        self,
        handle: int,
        *,
        start: int,
        compression: Compression,
        rows_per_strip: int,
        height_px: int,
        spill: Path,
        waiting_bytes: int = _WAITING_BYTES,
    ) -> None:
        self._handle, self._end, self._compression = handle, start, compression
        self._rows, self._height = rows_per_strip, height_px
        self._partial: dict[int, tuple[Rows, list[int]]] = {}  # strip -> rows so far, count
        self._waiting: dict[int, bytes | tuple[int, int]] = {}  # packed, or place in the spill
        self._waiting_bytes, self._bound = 0, waiting_bytes
        self._spill_path, self._spill, self._spill_end = spill, None, 0
        self._places: list[int] = []
        self._counts: list[int] = []
        self._lock = threading.Lock()
        os.lseek(handle, start, os.SEEK_SET)

    _spill: BinaryIO | None

    def write(self, top: int, rows: Rows) -> None:
        """Take rows that begin at `top`; pack whatever strip they complete."""
        bottom = top + len(rows)
        for strip in range(top // self._rows, (bottom - 1) // self._rows + 1):
            first = strip * self._rows
            last = min(first + self._rows, self._height)
            low, high = max(top, first), min(bottom, last)
            part = rows[low - top : high - top]
            whole = (
                part if high - low == last - first else self._gather(strip, first, last, low, part)
            )
            if whole is not None:
                self._append(strip, pack_strip(whole, self._compression))

    def finish(self) -> tuple[list[int], list[int], int]:
        """Places and lengths of all strips, and where the file ends now."""
        if self._waiting or self._partial:
            raise ValueError("a strip is incomplete")
        return self._places, self._counts, self._end

    def close(self) -> None:
        """Remove the spill file."""
        if self._spill is not None:
            self._spill.close()
            with contextlib.suppress(OSError):
                self._spill_path.unlink()
            self._spill = None

    def _gather(self, strip: int, first: int, last: int, low: int, part: Rows) -> Rows | None:
        """Copy part of a strip in; give the strip once all its rows are there."""
        with self._lock:
            if strip not in self._partial:
                self._partial[strip] = (np.empty((last - first, *part.shape[1:]), part.dtype), [0])
            gathered, count = self._partial[strip]
        gathered[low - first : low - first + len(part)] = part
        with self._lock:
            count[0] += len(part)
            if count[0] < last - first:
                return None
            del self._partial[strip]
        return gathered

    def _append(self, strip: int, packed: bytes) -> None:
        """Store the strip if it is its turn, with all that waited for it; else let it wait."""
        with self._lock:
            if strip == len(self._places):
                self._store(packed)
                while (following := self._waiting.pop(len(self._places), None)) is not None:
                    self._store(self._fetch(following))
            elif self._waiting_bytes + len(packed) <= self._bound:
                self._waiting[strip] = packed
                self._waiting_bytes += len(packed)
            else:
                self._waiting[strip] = self._put_aside(packed)

    def _store(self, packed: bytes) -> None:
        view = memoryview(packed)
        while view:
            view = view[os.write(self._handle, view) :]
        self._places.append(self._end)
        self._counts.append(len(packed))
        self._end += len(packed)
        if self._end % 2:  # strips begin on whole words
            os.write(self._handle, b"\0")
            self._end += 1

    def _put_aside(self, packed: bytes) -> tuple[int, int]:
        if self._spill is None:
            self._spill = self._spill_path.open("x+b")
        self._spill.seek(self._spill_end)
        self._spill.write(packed)
        place = (self._spill_end, len(packed))
        self._spill_end += len(packed)
        return place

    def _fetch(self, waiting: bytes | tuple[int, int]) -> bytes:
        if isinstance(waiting, bytes):
            self._waiting_bytes -= len(waiting)
            return waiting
        if self._spill is None:
            raise ValueError("the spill file is gone")
        self._spill.seek(waiting[0])
        return self._spill.read(waiting[1])


def pack_strip(rows: Rows, compression: Compression) -> bytes:
    """Horizontal differences (TIFF 6.0 section 14), then LZW or deflate."""
    import imagecodecs

    differences: Any = rows.copy()  # the codecs take any buffer, whatever their hints say
    np.subtract(rows[:, 1:], rows[:, :-1], out=differences[:, 1:])  # wraps, as the standard wants
    if compression == "lzw":
        return bytes(imagecodecs.lzw_encode(differences))
    return bytes(imagecodecs.deflate_encode(differences, level=_DEFLATE_LEVEL))
