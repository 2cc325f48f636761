"""The picture's planes, resampled, a group of rows at a time.

Takes a RowSource and the geometry of a job; gives planes of output width in upright or stored
order. Rows are read once per band, in small pieces, and never kept. Pictures stored on their
side go through a temporary file of the resampled size. Theory: docs/theory/resampling.md,
speed.md. Tests: tests/pixels/test_render_sheet.py, test_spool.py.
"""

from __future__ import annotations

import errno
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import OutputError
from firstsheet.engine.sizing.resampling import AxisWeights, weights
from firstsheet.engine.streams import RowSource
from firstsheet.pixels.arguments import LANES, ROWS
from firstsheet.pixels.native import kernel

__all__ = [
    "AxisNumbers",
    "Decoding",
    "DirectRows",
    "Geometry",
    "RowMaker",
    "Spool",
    "SpoolRows",
    "geometry",
]

Singles = NDArray[np.float32]

_READ_BYTES = 1 << 20  # per call to the source: small enough to stay in cache and be reused
_TILE_SAMPLES = 6144  # of a source row, decoded and added while in the nearest cache
_ACROSS_TILE = 64
_DOWN = {"u1": "resample_vertical_u8", "u2": "resample_vertical_u16", "f4": "resample_vertical_f32"}


def aligned(count: int) -> Singles:
    """Numbers that begin on a cache line, so that no vector straddles two."""
    room = np.empty(count + LANES, np.float32)
    skip = -(room.ctypes.data // 4) % LANES
    return room[skip : skip + count]


@dataclass(frozen=True, slots=True, eq=False)
class Geometry:
    """How stored rows become output rows."""

    down: AxisWeights  # along stored columns, always forwards
    across: AxisWeights  # along stored rows, mirrored where the orientation asks
    turned: bool  # stored rows are upright columns
    reversed_down: bool  # the last line made is the first one wanted


@dataclass(frozen=True, slots=True, eq=False)
class Decoding:
    """How stored codes become numbers before they are summed: as they are, or through curves."""

    mode: int  # 0 codes over their full scale, 1 one curve, 2 a curve a channel
    lut: Singles


class RowMaker(Protocol):
    """Makes groups of rows in order, from the top of its band."""

    def make(self, low: int, valid: int, planes: Singles, rows: NDArray[np.int64]) -> None:
        """Put rows low .. low + valid into the given ring rows of planes (channel, ring, x)."""
        ...


def geometry(
    *,
    stored_px: tuple[int, int],
    crop: tuple[float, float, float, float],
    orientation: int,
    output_px: tuple[int, int],
    kernel_name: str,
) -> Geometry:
    """Weights for both stored axes; sizes are (width, height), crop and output upright."""
    turned = orientation >= 5
    mirrored_x = orientation in (2, 3, 6, 7)
    mirrored_y = orientation in (3, 4, 7, 8)
    upright_px = stored_px[::-1] if turned else stored_px
    axes = []
    for axis, mirrored in ((0, mirrored_x), (1, mirrored_y)):
        start, length = crop[axis], crop[2 + axis]
        if mirrored:
            start = upright_px[axis] - start - length
        axes.append((start, length, upright_px[axis], output_px[axis], mirrored))
    down, across = (axes[0], axes[1]) if turned else (axes[1], axes[0])
    return Geometry(
        down=_axis(down, kernel_name, mirrored=False),
        across=_axis(across, kernel_name, mirrored=across[4]),
        turned=turned,
        reversed_down=down[4],
    )


def _axis(
    axis: tuple[float, float, int, int, bool], kernel_name: str, *, mirrored: bool
) -> AxisWeights:
    start, length, source, output, _ = axis
    return weights(
        source_px=source,
        start_px=start,
        length_px=length,
        output_px=output,
        kernel=kernel_name,
        mirrored=mirrored,
    )


class AxisNumbers:
    """The weights of a geometry as kernels read them, shared by all threads."""

    def __init__(self, plan: Geometry, channels: int) -> None:
        self.channels = channels
        self.lines = len(plan.down.first)
        self.width = len(plan.across.first)
        self.down_first = plan.down.first.astype(np.int32)
        self.down_weights = np.ascontiguousarray(plan.down.weights, dtype=np.float32)
        low = int(plan.across.first.min())
        high = int(plan.across.first.max()) + plan.across.taps
        self.across_first = (plan.across.first - low).astype(np.int32)
        self.across_weights = np.ascontiguousarray(plan.across.weights, dtype=np.float32)
        self.column = low * channels
        self.samples = (high - low) * channels
        self.down_taps, self.across_taps = plan.down.taps, plan.across.taps
        self.ring = self._open_lines() + LANES
        spans = [
            int(np.ptp(self.across_first[x : x + _ACROSS_TILE]))
            for x in range(0, self.width, _ACROSS_TILE)
        ]
        self.room_in = (max(spans) + self.across_taps + 1) * channels * LANES
        self.room_out = _ACROSS_TILE * channels * LANES

    def _open_lines(self) -> int:
        """Most lines that source rows of one group can touch."""
        first = self.down_first
        starts = np.arange(0, self.lines, 1)
        ends = first[np.minimum(starts + LANES - 1, self.lines - 1)] + self.down_taps + ROWS
        return int((np.searchsorted(first, ends, side="left") - starts).max())


class DirectRows:
    """Rows straight from the source, in stored order, for one band of lines."""

    def __init__(
        self, source: RowSource, numbers: AxisNumbers, decoding: Decoding, low: int, high: int
    ) -> None:
        self._source, self._n, self._decoding = source, numbers, decoding
        self._high = high
        self._next = int(numbers.down_first[low]) // ROWS * ROWS  # source row
        dtype = np.dtype(source.dtype)
        self._down = kernel(_DOWN[f"{dtype.kind}{dtype.itemsize}"])
        self._across = kernel("resample_horizontal")
        self._stride = source.width_px * numbers.channels
        self._step = max(1, _READ_BYTES // (self._stride * dtype.itemsize * ROWS)) * ROWS
        self._line = -(-numbers.samples // LANES) * LANES
        self._sums = aligned(numbers.ring * self._line)
        self._decoded = np.zeros(ROWS * _TILE_SAMPLES, np.float32)
        self._room_in = np.empty(numbers.room_in, np.float32)
        self._room_out = np.empty(numbers.room_out, np.float32)

    def make(self, low: int, valid: int, planes: Singles, rows: NDArray[np.int64]) -> None:
        """Read the source rows still missing for these lines, then sum across."""
        n = self._n
        end = -(-(int(n.down_first[low + valid - 1]) + n.down_taps) // ROWS) * ROWS
        end = min(end, self._source.height_px)
        while self._next < end:
            stop = min(end, self._next + self._step)
            codes = self._source.rows(self._next, stop)
            self._down(
                codes.ctypes.data, self._next, stop, self._stride, n.column, n.samples,
                n.down_first.ctypes.data, n.down_taps, n.down_weights.ctypes.data, low,
                self._high, self._sums.ctypes.data, n.ring, self._line,
                self._decoded.ctypes.data, _TILE_SAMPLES, self._decoding.lut.ctypes.data,
                self._decoding.mode, n.channels,
            )  # fmt: skip
            self._next = stop
        lanes = (low + np.minimum(np.arange(LANES), valid - 1)) % n.ring
        self._across(
            self._sums.ctypes.data, n.ring, self._line, lanes.ctypes.data,
            n.across_first.ctypes.data, n.across_taps, n.across_weights.ctypes.data, n.width,
            n.channels, self._room_in.ctypes.data, self._room_out.ctypes.data, _ACROSS_TILE,
            planes.ctypes.data, planes.shape[1], rows.ctypes.data, valid,
        )  # fmt: skip


class Spool:
    """Resampled planes of a picture stored on its side, in a temporary file, block by block.

    A block holds LANES stored lines, which are upright columns, as [upright row][channel][line].
    """

    def __init__(self, *, width_px: int, height_px: int, channels: int, from_right: bool) -> None:
        import tempfile  # only pictures that lie on their side need one

        self.width_px, self.height_px, self.channels = width_px, height_px, channels
        self._from_right = from_right
        self._file = tempfile.TemporaryFile(prefix="firstsheet-", buffering=0)  # noqa: SIM115  # closed by close()
        self._lock = threading.Lock()
        self._row_bytes = channels * LANES * 4
        self._block_bytes = height_px * self._row_bytes

    def fill(self, maker: RowMaker, low: int, high: int, alive: Callable[[], None]) -> None:
        """Store lines low..high; low is a multiple of LANES."""
        planes = np.empty((self.channels, LANES, self.height_px), np.float32)
        rows = np.arange(LANES, dtype=np.int64)
        for line in range(low, high, LANES):
            alive()
            maker.make(line, min(LANES, high - line), planes, rows)
            block = np.ascontiguousarray(planes.transpose(2, 0, 1))
            with self._lock:
                self._store((line // LANES) * self._block_bytes, block.data.cast("B"))

    def _store(self, place: int, left: memoryview) -> None:
        """Write all of it; the file takes a part only where the disk is nearly full."""
        try:
            self._file.seek(place)
            while left:
                left = left[self._file.write(left) :]
        except OSError as error:
            if error.errno not in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
                raise
            import tempfile

            needed = -(-self.width_px // LANES) * self._block_bytes
            raise OutputError(
                f"The disk of the temporary folder {tempfile.gettempdir()} is full: a picture "
                f"stored on its side needs {needed / 1e9:.1f} GB there while it is turned.",
                "Nothing was written under the final name; the temporary file is gone.",
                "Free some room there, or set TMPDIR to a folder on another disk.",
                "disk-full",
            ) from error

    def read(self, low: int, valid: int, planes: Singles, rows: NDArray[np.int64]) -> None:
        """Upright rows low .. low + valid into ring rows of planes."""
        part = np.empty((valid, self.channels, LANES), np.float32)
        for start in range(0, self.width_px, LANES):
            count = min(LANES, self.width_px - start)
            with self._lock:
                self._file.seek(start // LANES * self._block_bytes + low * self._row_bytes)
                self._file.readinto(part.data.cast("B"))
            turned = part[:, :, :count].transpose(1, 0, 2)
            if self._from_right:
                right = self.width_px - start
                planes[:, rows[:valid], right - count : right] = turned[:, :, ::-1]
            else:
                planes[:, rows[:valid], start : start + count] = turned

    def close(self) -> None:
        """Give the temporary file back."""
        self._file.close()


class SpoolRows:
    """Rows from a spool, in upright order."""

    def __init__(self, spool: Spool) -> None:
        self._spool = spool

    def make(self, low: int, valid: int, planes: Singles, rows: NDArray[np.int64]) -> None:
        """Read the rows back, turned."""
        self._spool.read(low, valid, planes, rows)
