"""Rows of stored samples, any range, from any thread, in bounded memory.

Takes an open file and where its samples lie; gives arrays (rows, width, samples) in native
byte order, nothing interpreted yet. Three ways: FlatRows reads uncompressed rows straight
from their place; SegmentRows decodes the strips or tiles needed and keeps a few;
SpoolRows lets a reader that only goes forwards write a temporary file and reads from that.
Theory: docs/theory/opening.md. Tests: tests/files/test_open_rows.py.
"""

from __future__ import annotations

import os
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from firstsheet.files.reading.byte_reader import ByteReader

__all__ = ["DamagedRowsError", "FlatRows", "RawRows", "SegmentRows", "SpoolRows"]

CACHE_BYTES = 48 << 20


class DamagedRowsError(Exception):
    """Rows from `first_row` on cannot be decoded; `reason` says why. Never reaches a person."""

    def __init__(self, first_row: int, reason: str) -> None:
        super().__init__(first_row, reason)
        self.first_row, self.reason = first_row, reason


class RawRows(Protocol):
    """Stored samples by rows."""

    width_px: int
    height_px: int
    samples: int
    dtype: np.dtype[Any]

    def read(self, top: int, bottom: int) -> NDArray[Any]:
        """Rows top to bottom; raises DamagedRowsError where they are not there."""
        ...

    def verify(self, top: int, bottom: int) -> None:
        """Raise DamagedRowsError where the decoder would only warn."""
        ...

    def close(self) -> None: ...


class FlatRows:
    """Uncompressed strips; each plane is a list of (first row, offset of its bytes)."""

    def __init__(
        self,
        reader: ByteReader,
        *,
        width_px: int,
        height_px: int,
        samples: int,
        stored: np.dtype[Any],
        rows_per_strip: int,
        planes: Sequence[Sequence[int]],
    ) -> None:
        self.width_px, self.height_px, self.samples = width_px, height_px, samples
        self.dtype = stored.newbyteorder("=")
        self._swap = stored != self.dtype
        self._reader, self._planes, self._strip = reader, planes, rows_per_strip
        self._row_bytes = width_px * (samples if len(planes) == 1 else 1) * stored.itemsize

    def read(self, top: int, bottom: int) -> NDArray[Any]:
        """Read the rows straight into their array."""
        if len(self._planes) == 1:
            out = np.empty((bottom - top, self.width_px, self.samples), self.dtype)
            self._fill(out, self._planes[0], top, bottom)
            return out
        out = np.empty((bottom - top, self.width_px, self.samples), self.dtype)
        plane = np.empty((bottom - top, self.width_px), self.dtype)
        for number, offsets in enumerate(self._planes):
            self._fill(plane, offsets, top, bottom)
            out[:, :, number] = plane
        return out

    def read_columns(self, top: int, bottom: int, left: int, right: int) -> NDArray[Any]:
        """The columns left to right of some rows, without reading the rest of each row."""
        if len(self._planes) != 1 or self._swap:
            return self.read(top, bottom)[:, left:right]
        out = np.empty((bottom - top, right - left, self.samples), self.dtype)
        column = left * (self._row_bytes // self.width_px)
        row = top
        while row < bottom and left < right:
            strip = row // self._strip
            end = min(bottom, (strip + 1) * self._strip)
            start = self._planes[0][strip] + (row - strip * self._strip) * self._row_bytes
            part = _bytes_of(out[row - top : end - top])
            got = self._reader.read_pieces(start + column, self._row_bytes, part, end - row)
            if got < end - row:
                raise DamagedRowsError(row + got, "the file ends there")
            row = end
        return out

    def verify(self, top: int, bottom: int) -> None:
        """Nothing to verify: uncompressed rows carry no check sum."""

    def close(self) -> None:
        """Nothing of its own to close."""

    def _fill(self, out: NDArray[Any], offsets: Sequence[int], top: int, bottom: int) -> None:
        target = _bytes_of(out)
        row = top
        while row < bottom:
            strip = row // self._strip
            end = min(bottom, (strip + 1) * self._strip)
            start = offsets[strip] + (row - strip * self._strip) * self._row_bytes
            follows = start + (end - row) * self._row_bytes
            while end < bottom and offsets[end // self._strip] == follows:
                more = min(bottom, end + self._strip) - end
                follows += more * self._row_bytes
                end += more
            part = target[(row - top) * self._row_bytes : (end - top) * self._row_bytes]
            got = self._reader.read_into(start, part)
            if got < len(part):
                raise DamagedRowsError(row + got // self._row_bytes, "the file ends there")
            row = end
        if self._swap:
            out.byteswap(inplace=True)


Decode = Callable[[int], NDArray[Any]]  # segment number -> (rows, width, samples)


class SegmentRows:
    """Compressed or tiled samples; decodes what is needed, keeps a few segments."""

    def __init__(
        self,
        decode: Decode,
        *,
        width_px: int,
        height_px: int,
        samples: int,
        dtype: np.dtype[Any],
        segment_width: int,
        segment_height: int,
        planes: int,
        verify: Callable[[int], None] | None = None,
    ) -> None:
        self.width_px, self.height_px, self.samples, self.dtype = (
            width_px,
            height_px,
            samples,
            dtype,
        )
        self._decode, self._verify = decode, verify
        self._segment_width, self._segment_height = segment_width, segment_height
        self._planes = planes
        self._across = -(-width_px // segment_width)
        self._down = -(-height_px // segment_height)
        self._kept: OrderedDict[int, NDArray[Any]] = OrderedDict()
        self._kept_bytes = 0
        self._lock = threading.Lock()
        self._busy: dict[int, threading.Lock] = {}

    def read(self, top: int, bottom: int) -> NDArray[Any]:
        """Put the parts of all segments that touch these rows together."""
        out = np.empty((bottom - top, self.width_px, self.samples), self.dtype)
        for number, row, column, plane in self._touching(top, bottom):
            part = self._segment(number, row)
            first, last = max(top, row), min(bottom, row + self._segment_height)
            right = min(self.width_px, column + self._segment_width)
            piece = part[first - row : last - row, : right - column]
            target = out[first - top : last - top, column:right]
            if self._planes > 1:
                target[:, :, plane] = piece[:, :, 0]
            else:
                target[...] = piece
        return out

    def verify(self, top: int, bottom: int) -> None:
        """Check the segments that begin in these rows where their decoder only warns."""
        if self._verify is None:
            return
        for number, row, _column, _plane in self._touching(top, bottom):
            if top <= row < bottom or top == 0:
                try:
                    self._verify(number)
                except Exception as error:
                    raise DamagedRowsError(row, _words(error)) from error

    def close(self) -> None:
        """Forget the kept segments."""
        with self._lock:
            self._kept.clear()
            self._kept_bytes = 0

    def _touching(self, top: int, bottom: int) -> Iterator[tuple[int, int, int, int]]:
        for down in range(top // self._segment_height, -(-bottom // self._segment_height)):
            for plane in range(self._planes):
                for across in range(self._across):
                    number = (plane * self._down + down) * self._across + across
                    yield (
                        number,
                        down * self._segment_height,
                        across * self._segment_width,
                        plane,
                    )

    def _segment(self, number: int, row: int) -> NDArray[Any]:
        with self._lock:
            found = self._kept.get(number)
            if found is not None:
                self._kept.move_to_end(number)
                return found
            busy = self._busy.setdefault(number, threading.Lock())
        with busy:
            with self._lock:
                found = self._kept.get(number)
            if found is not None:
                return found
            try:
                part = self._checked(self._decode(number), row)
            except DamagedRowsError:
                raise
            except Exception as error:  # whatever a codec raises means: not decodable here
                raise DamagedRowsError(row, _words(error)) from error
            self._keep(number, part)
        return part

    def _checked(self, part: NDArray[Any], row: int) -> NDArray[Any]:
        """Refuse a segment that is smaller than the rows it stands for."""
        needed_rows = min(self._segment_height, self.height_px - row)
        per_plane = 1 if self._planes > 1 else self.samples
        if part.ndim != 3 or part.shape[0] < needed_rows or part.shape[2] != per_plane:
            raise DamagedRowsError(row, f"a part decodes to shape {part.shape}")
        return part.astype(self.dtype, copy=False)

    def _keep(self, number: int, part: NDArray[Any]) -> None:
        with self._lock:
            self._busy.pop(number, None)
            self._kept[number] = part
            self._kept_bytes += part.nbytes
            while self._kept_bytes > CACHE_BYTES and len(self._kept) > 1:
                _, old = self._kept.popitem(last=False)
                self._kept_bytes -= old.nbytes


class SpoolRows:
    """Rows from a reader that only goes forwards, kept in a temporary file.

    The reader may take rows back: a DamagedRowsError whose first row was handed out already
    says that a check sum proved them wrong.
    """

    def __init__(
        self,
        chunks: Iterator[NDArray[Any]],
        *,
        width_px: int,
        height_px: int,
        samples: int,
        dtype: np.dtype[Any],
    ) -> None:
        import tempfile  # few pictures need one

        self.width_px, self.height_px, self.samples, self.dtype = (
            width_px,
            height_px,
            samples,
            dtype,
        )
        self._chunks = chunks
        self._row_bytes = width_px * samples * dtype.itemsize
        self._file = tempfile.TemporaryFile(prefix="firstsheet-")  # noqa: SIM115  closed below
        self._spool = ByteReaderOfSpool(self._file.fileno())
        self._done_rows = 0
        self._failed = ""
        self._lock = threading.Lock()

    def read(self, top: int, bottom: int) -> NDArray[Any]:
        """Decode forwards as far as needed, then read the rows back."""
        self._advance(bottom)
        if bottom > self._done_rows:
            raise DamagedRowsError(max(top, self._done_rows), self._failed)
        out = np.empty((bottom - top, self.width_px, self.samples), self.dtype)
        self._spool.read_into(top * self._row_bytes, _bytes_of(out))
        return out

    def read_columns(self, top: int, bottom: int, left: int, right: int) -> NDArray[Any]:
        """The columns left to right of some rows, without reading the rest of each row."""
        self._advance(bottom)
        if bottom > self._done_rows:
            raise DamagedRowsError(max(top, self._done_rows), self._failed)
        out = np.empty((bottom - top, right - left, self.samples), self.dtype)
        pixel = self._row_bytes // self.width_px
        for row in range(top, bottom):
            self._spool.read_into(row * self._row_bytes + left * pixel, _bytes_of(out[row - top]))
        return out

    def verify(self, top: int, bottom: int) -> None:
        """Nothing more to verify: the forward reader already stops at any damage."""

    def close(self) -> None:
        """Remove the temporary file."""
        with self._lock:
            self._chunks = iter(())
            self._file.close()

    def _advance(self, bottom: int) -> None:
        with self._lock:
            while self._done_rows < bottom and not self._failed:
                try:
                    chunk = next(self._chunks)
                except StopIteration:
                    self._failed = "the data end there"
                except DamagedRowsError as error:
                    self._failed = error.reason
                    self._done_rows = min(self._done_rows, error.first_row)
                else:
                    flat = np.ascontiguousarray(chunk)
                    self._spool.write(
                        self._done_rows * self._row_bytes,
                        _bytes_of(flat),
                    )
                    self._done_rows += len(chunk)


class ByteReaderOfSpool:
    """Positioned writes and reads on a temporary file's descriptor."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._lock = threading.Lock()

    def write(self, offset: int, data: memoryview) -> None:
        """Write all of `data` at `offset`."""
        with self._lock:
            os.lseek(self._descriptor, offset, os.SEEK_SET)
            done = 0
            while done < len(data):
                done += os.write(self._descriptor, data[done:])

    def read_into(self, offset: int, target: memoryview) -> None:
        """Fill `target` from `offset` on."""
        done = 0
        while done < len(target):
            if hasattr(os, "preadv"):
                got = os.preadv(self._descriptor, [target[done:]], offset + done)
            else:
                with self._lock:
                    os.lseek(self._descriptor, offset + done, os.SEEK_SET)
                    part = os.read(self._descriptor, len(target) - done)
                got = len(part)
                target[done : done + got] = part
            if got == 0:
                raise DamagedRowsError(0, "the temporary file was cut short")
            done += got


def _bytes_of(array: NDArray[Any]) -> memoryview:
    """The bytes of a contiguous array, writable in place."""
    flat: Any = array.reshape(-1).view(np.uint8)
    return memoryview(flat)


def _words(error: Exception) -> str:
    """An exception's text in one line."""
    text = " ".join(str(error).split())
    return text[:160] or type(error).__name__
