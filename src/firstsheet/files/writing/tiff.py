"""A print file being written: rows in any order, from any thread, the same bytes every time.

Takes rows as (rows, width, channels) uint8 or uint16; gives a little-endian TIFF or BigTIFF with
profile, exact resolution and the source's metadata. Uncompressed rows go straight to their place
in the file; compressed strips are encoded in the calling thread and appended in order.
Theory: docs/theory/files.md. Tests: tests/files/test_tiffsink.py, test_tiffsink_packed.py.
"""

from __future__ import annotations

import errno
import os
import threading
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, cast

import numpy as np

import firstsheet
from firstsheet.engine.errors import OutputError
from firstsheet.engine.streams import Rows
from firstsheet.files.writing.metadata import Carried, carried_tags
from firstsheet.files.writing.strips import Compression, StripStore
from firstsheet.files.writing.tiff_tags import (
    LONG,
    LONG8,
    RATIONAL,
    SHORT,
    UNDEFINED,
    Tag,
    exact_rational,
    header,
    lay_out,
    text_tag,
)
from firstsheet.files.writing.writeback import begin_to_keep

__all__ = ["Photometric", "TiffSink", "open_tiff_sink"]

Photometric = Literal["rgb", "minisblack", "separated", "cielab"]
_PHOTOMETRIC = {"minisblack": (1, 1), "rgb": (2, 3), "separated": (5, 4), "cielab": (8, 3)}
_COMPRESSION = {"none": 1, "lzw": 5, "deflate": 8}  # TIFF 6.0; 8 in Technical Note 2 (2002)
_STRIP_BYTES = 2 * 2**20
_PAGE = 4096  # pixel data begins on a whole memory page
_CLASSIC_END = 2**32  # 32-bit offsets


class TiffSink:
    """One TIFF being written; see `open_tiff_sink`.

    A context manager: leaving it by an exception abandons the file unfinished.
    """

    def __init__(self, path: Path, tags: list[Tag], shape: _Shape, *, keep_early: bool) -> None:
        self._keep_early = keep_early
        self._path, self._tags, self._shape = path, tags, shape
        self._lock = threading.Lock()
        self._taken = np.zeros(shape.height_px, dtype=np.bool_)
        flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        self._file = os.open(path, flags, 0o666)  # less the user's own mask, as for any file
        self._open = True
        try:
            self._begin()
        except BaseException:
            self.abandon()
            raise

    @property
    def rows_per_strip(self) -> int:
        """Bands whose top and length are multiples of this are encoded without a copy."""
        return self._shape.rows_per_strip

    def write(self, top: int, rows: Rows) -> None:
        """Take finished rows beginning at `top`; safe from several threads."""
        shape = self._shape
        bottom = top + len(rows)
        if rows.shape[1:] != (shape.width_px, shape.channels) or rows.dtype != shape.dtype:
            raise ValueError(f"rows of {rows.shape} {rows.dtype} do not fit {shape}")
        with self._lock:
            if not 0 <= top < bottom <= shape.height_px or self._taken[top:bottom].any():
                raise ValueError(f"rows {top} to {bottom} lie outside, or came twice")
            self._taken[top:bottom] = True
        stored = np.ascontiguousarray(rows, dtype=shape.stored)
        if shape.photometric == "cielab":
            stored = _signed_lab(stored)
        if self._strips is None:
            place = self._data_at + top * shape.row_bytes
            _write_at(self._file, stored, place, self._lock)
            if self._keep_early:
                begin_to_keep(self._file, place, stored.nbytes)
        else:
            self._strips.write(top, stored)

    def close(self) -> None:
        """Finish the file; every row must have come."""
        if not self._open:
            return
        if not self._taken.all():
            missing = int(np.argmin(self._taken))
            self.abandon()
            raise ValueError(f"row {missing} was never written")
        try:
            if self._strips is not None:
                self._finish_strips(self._strips)
        finally:
            self.abandon()

    def abandon(self) -> None:
        """Let go of the file as it stands."""
        if self._open:
            self._open = False
            if getattr(self, "_strips", None) is not None:
                self._strips.close()  # type: ignore[union-attr]  # None was asked a line above
            os.close(self._file)

    def __enter__(self) -> TiffSink:
        """Give the sink itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Finish the file, or abandon it after an exception."""
        self.close() if kind is None else self.abandon()

    def _begin(self) -> None:
        """Write the head of an uncompressed file, or leave room for the address of the end."""
        shape = self._shape
        start = 16 if shape.big else 8
        self._strips: StripStore | None = None
        if shape.compression == "none":
            length = start + len(self._directory([0] * shape.strips, [0] * shape.strips, start))
            self._data_at = -(-length // _PAGE) * _PAGE
            end = self._data_at + shape.row_bytes * shape.height_px
            _refuse_too_long(end, shape.big, self._path)
            counts = shape.strip_lengths()
            places = [self._data_at + sum_ for sum_ in _running_sums(counts)]
            head = header(big=shape.big, directory_at=start)
            os.write(self._file, head + self._directory(places, counts, start))
            _reserve(self._file, end)
        else:
            os.write(self._file, header(big=shape.big, directory_at=0))
            self._strips = StripStore(
                self._file,
                start=start,
                compression=shape.compression,
                rows_per_strip=shape.rows_per_strip,
                height_px=shape.height_px,
                spill=self._path.with_name(self._path.name + ".spill"),
            )

    def _finish_strips(self, strips: StripStore) -> None:
        """Write the directory behind the last strip and its address at the front."""
        places, counts, end = strips.finish()
        at = end + end % 2  # a directory begins on a whole word
        data = self._directory(places, counts, at)
        _refuse_too_long(at + len(data), self._shape.big, self._path)
        _write_at(self._file, data, at, self._lock)
        _write_at(self._file, header(big=self._shape.big, directory_at=at), 0, self._lock)

    def _directory(self, places: list[int], counts: list[int], start: int) -> bytes:
        kind = LONG8 if self._shape.big else LONG
        _refuse_too_long(max(places), self._shape.big, self._path)
        tags = [*self._tags, Tag.numbers(273, kind, places), Tag.numbers(279, kind, counts)]
        return lay_out(tags, start=start, big=self._shape.big).data


class _Shape:
    """Numbers that describe the raster and its strips."""

    def __init__(
        self,
        *,
        width_px: int,
        height_px: int,
        channels: int,
        bits: int,
        compression: Compression,
        big: bool,
        photometric: Photometric,
        rows_per_strip: int | None,
    ) -> None:
        self.photometric = photometric
        self.width_px, self.height_px, self.channels = width_px, height_px, channels
        self.bits, self.compression, self.big = bits, compression, big
        self.dtype = np.dtype(np.uint8 if bits == 8 else np.uint16)
        self.stored = self.dtype.newbyteorder("<")
        self.row_bytes = width_px * channels * bits // 8
        wished = rows_per_strip or max(1, _STRIP_BYTES // self.row_bytes)
        self.rows_per_strip = min(wished, height_px)
        self.strips = -(-height_px // self.rows_per_strip)

    def strip_lengths(self) -> list[int]:
        """Bytes of each strip before compression; the last one may be shorter."""
        full = self.rows_per_strip * self.row_bytes
        return [full] * (self.strips - 1) + [
            self.height_px * self.row_bytes - full * (self.strips - 1)
        ]

    def __repr__(self) -> str:
        return f"{self.width_px} px wide, {self.channels} channels of {self.bits} bits"


def open_tiff_sink(
    path: Path,
    *,
    width_px: int,
    height_px: int,
    channels: int,
    bits: int,
    ppi: float | Fraction,
    profile: bytes | None,
    compression: Compression = "none",
    big: bool = False,
    photometric: Photometric = "rgb",
    description: str = "",
    metadata: Carried | None = None,
    rows_per_strip: int | None = None,
    keep_early: bool = True,
) -> TiffSink:
    """Open a print file for rows in any order.

    Parameters
    ----------
    path
        Must not exist yet.
    width_px, height_px, channels, bits
        Raster; 8 or 16 bits per sample, unsigned.
    ppi
        Resolution, pixels per inch; kept as the exact fraction.
    profile
        ICC profile to embed, or None.
    compression
        `none`, `lzw` or `deflate`; both of the latter with the horizontal predictor.
    big
        64-bit offsets, as the plan says; a classic file that would pass 4 GiB is refused.
    photometric
        What the channels mean. `cielab` rows come as everywhere in the program: full range is
        L* 0 to 100, a* and b* −128 to 127; the file stores a* and b* signed (TIFF 6.0 section 23).
    description
        Free text, such as the plan's digest.
    metadata
        EXIF, XMP and IPTC of the source.
    rows_per_strip
        Default: strips of about 2 MB.
    keep_early
        Begin flushing to the disk while rows still come; for files that will be flushed anyway.

    Raises
    ------
    OutputError
        If a classic TIFF cannot hold it.
    """
    number, expected = _PHOTOMETRIC[photometric]
    if bits not in (8, 16) or channels != expected or min(width_px, height_px) < 1:
        raise ValueError(f"{photometric} with {channels} channels of {bits} bits")
    shape = _Shape(
        width_px=width_px,
        height_px=height_px,
        channels=channels,
        bits=bits,
        compression=compression,
        big=big,
        photometric=photometric,
        rows_per_strip=rows_per_strip,
    )
    rational = exact_rational(ppi)
    per_inch = np.array(rational, dtype="<u4").tobytes()
    tags = [
        Tag.numbers(256, LONG, [width_px]),
        Tag.numbers(257, LONG, [height_px]),
        Tag.numbers(258, SHORT, [bits] * channels),
        Tag.numbers(259, SHORT, [_COMPRESSION[compression]]),
        Tag.numbers(262, SHORT, [number]),
        Tag.numbers(274, SHORT, [1]),  # upright: rows are turned already
        Tag.numbers(277, SHORT, [channels]),
        Tag.numbers(278, LONG, [shape.rows_per_strip]),
        Tag(282, RATIONAL, per_inch),
        Tag(283, RATIONAL, per_inch),
        Tag.numbers(284, SHORT, [1]),  # channels interleaved
        Tag.numbers(296, SHORT, [2]),  # resolution per inch
        text_tag(305, f"Firstsheet {firstsheet.__version__}"),
        Tag.numbers(339, SHORT, [1] * channels),  # unsigned
    ]
    if compression != "none":
        tags.append(Tag.numbers(317, SHORT, [2]))  # horizontal differences
    if photometric == "separated":
        tags.append(Tag.numbers(332, SHORT, [1]))  # CMYK
    if profile:
        tags.append(Tag(34675, UNDEFINED, profile))
    if metadata is not None:
        tags += carried_tags(metadata)
    if description:
        tags = [tag for tag in tags if tag.number != 270] + [text_tag(270, description)]
    return TiffSink(path, tags, shape, keep_early=keep_early)


def _signed_lab(rows: Rows) -> Rows:
    """Offset a* and b* become the TIFF's signed ones: units of 1, or of 1/256 at 16 bits."""
    out = rows.copy()
    if rows.itemsize == 1:
        out[..., 1:] ^= 0x80
    else:
        units = (rows[..., 1:].astype(np.uint32) * 256 + 128) // 257  # (a* + 128) · 256
        out[..., 1:] = (units - 32768) & 0xFFFF
    return out


def _running_sums(counts: list[int]) -> list[int]:
    sums, total = [], 0
    for count in counts:
        sums.append(total)
        total += count
    return sums


def _refuse_too_long(end: int, big: bool, path: Path) -> None:
    if not big and end > _CLASSIC_END - 1:
        raise OutputError(
            f"{path.name} would be {end / 1e9:.2f} GB; a plain TIFF ends at 4.29 GB.",
            "Its addresses have 32 bits, so the rest could not be found again.",
            "Let the plan use BigTIFF, use fewer bits, or print smaller.",
            "needs-big-tiff",
        )


def _reserve(handle: int, end: int) -> None:
    """Claim the whole length at once, so a full disk shows before the work, not after it."""
    if hasattr(os, "posix_fallocate"):
        try:
            os.posix_fallocate(handle, 0, end)
        except OSError as error:
            if error.errno not in (errno.EOPNOTSUPP, errno.EINVAL):  # else: cannot be claimed here
                raise
        else:
            return
    os.ftruncate(handle, end)


def _write_at(handle: int, data: bytes | Rows, place: int, lock: threading.Lock) -> None:
    """Write all bytes at a place; without `pwrite` (Windows) one thread at a time."""
    view = memoryview(cast("Any", data)).cast("B")
    if hasattr(os, "pwrite"):
        while view:
            done = os.pwrite(handle, view, place)
            view, place = view[done:], place + done
    else:
        with lock:
            os.lseek(handle, place, os.SEEK_SET)
            while view:
                view = view[os.write(handle, view) :]
