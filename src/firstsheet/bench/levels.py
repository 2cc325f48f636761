"""The opened picture in halved sizes, for deep zoom.

The finest level is the file itself. Coarser ones are made once, in the light the print is
reduced in and by the print's own kernels, into temporary files that are read piece by piece: the
memory stays small whatever the picture's size. Until one is there, its pieces are made from the
file or from the small picture on the spot. Theory: docs/theory/tiles.md.
Tests: tests/bench/test_bench_levels.py.
"""

from __future__ import annotations

import math
import os
import shutil
import tempfile
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.streams import Rows, StopCheck

if TYPE_CHECKING:
    from firstsheet.cms.link import SourceColour
    from firstsheet.files.reading.opening import OpenedPicture
    from firstsheet.files.reading.source import PictureSource
    from firstsheet.pixels.job import RenderJob

__all__ = ["TILE_PX", "Levels", "RowFile", "finest_level", "level_size", "reducing_job", "shares"]

TILE_PX = 512
_SPARE_BYTES = 1 << 30  # left free on the disk
_ON_THE_SPOT = 2  # halvings that are made from the file while the level is not there
_CHUNK_ROWS = 64


def finest_level(width_px: int, height_px: int) -> int:
    """Number of halvings after which the whole picture fits one tile.

    >>> finest_level(512, 300), finest_level(5600, 4200)
    (0, 4)
    """
    return max(0, math.ceil(math.log2(max(width_px, height_px) / TILE_PX)))


def level_size(width_px: int, height_px: int, halvings: int) -> tuple[int, int]:
    """Size of a level; what is left over counts as a pixel.

    >>> level_size(5601, 4200, 1)
    (2801, 2100)
    """
    step = 2**halvings
    return -(-width_px // step), -(-height_px // step)


class RowFile:
    """Rows in a temporary file: written in any order, read in any rectangle, by any thread."""

    def __init__(self, width_px: int, height_px: int, channels: int, dtype: Any, folder: Path):
        self.width_px, self.height_px, self.channels = width_px, height_px, channels
        self.dtype = np.dtype(dtype)
        self._pixel = channels * self.dtype.itemsize
        self._file = tempfile.TemporaryFile(prefix="level-", dir=folder, buffering=0)  # noqa: SIM115
        self._descriptor = self._file.fileno()
        self._lock = threading.Lock()

    def write(self, top: int, rows: Rows) -> None:
        """Put rows to their place."""
        data = _bytes_of(np.ascontiguousarray(rows))
        done, offset = 0, top * self.width_px * self._pixel
        while done < len(data):
            if hasattr(os, "pwrite"):
                done += os.pwrite(self._descriptor, data[done:], offset + done)
                continue
            with self._lock:
                self._file.seek(offset + done)
                done += self._file.write(data[done:])

    def rows(self, top: int, bottom: int) -> Rows:
        """Whole rows."""
        out = np.empty((bottom - top, self.width_px, self.channels), self.dtype)
        self._read(top * self.width_px * self._pixel, _bytes_of(out))
        return out

    def block(self, top: int, bottom: int, left: int, right: int) -> Rows:
        """A rectangle, without reading the rest of each row."""
        out = np.empty((bottom - top, right - left, self.channels), self.dtype)
        view, length = _bytes_of(out), (right - left) * self._pixel
        start, stride = (top * self.width_px + left) * self._pixel, self.width_px * self._pixel
        for row in range(bottom - top):
            self._read(start + row * stride, view[row * length : (row + 1) * length])
        return out

    def _read(self, offset: int, target: memoryview) -> None:
        done = 0
        while done < len(target):
            if hasattr(os, "preadv"):
                got = os.preadv(self._descriptor, (target[done:],), offset + done)
            else:
                with self._lock:
                    self._file.seek(offset + done)
                    got = self._file.readinto(target[done:]) or 0
            if got <= 0:
                raise OSError("a temporary file was cut short")
            done += got

    def close(self) -> None:
        """Give the file back."""
        self._descriptor = -1  # the number may be another file's from now on
        self._file.close()


class _Spooled:
    """A source whose rows are costly, kept as they are read: decoded once, then read back."""

    def __init__(self, source: PictureSource, folder: Path) -> None:
        self._source = source
        self.width_px, self.height_px = source.width_px, source.height_px
        self.channels, self.dtype = source.channels, source.dtype
        self._kept = RowFile(self.width_px, self.height_px, self.channels, self.dtype, folder)
        chunks = -(-self.height_px // _CHUNK_ROWS)
        self._there = np.zeros(chunks, dtype=bool)
        self._locks = [threading.Lock() for _ in range(min(chunks, 64))]

    def rows(self, top: int, bottom: int) -> Rows:
        self._ensure(top, bottom)
        return self._kept.rows(top, bottom)

    def block(self, top: int, bottom: int, left: int, right: int) -> Rows:
        self._ensure(top, bottom)
        return self._kept.block(top, bottom, left, right)

    def _ensure(self, top: int, bottom: int) -> None:
        for chunk in range(top // _CHUNK_ROWS, -(-bottom // _CHUNK_ROWS)):
            if self._there[chunk]:
                continue
            with self._locks[chunk % len(self._locks)]:
                if not self._there[chunk]:
                    low = chunk * _CHUNK_ROWS
                    high = min(self.height_px, low + _CHUNK_ROWS)
                    self._kept.write(low, self._source.rows(low, high))
                    self._there[chunk] = True

    def close(self) -> None:
        self._kept.close()


class _Levelled:
    """A sink into a level."""

    def __init__(self, level: RowFile, stop: StopCheck) -> None:
        self._level, self._stop = level, stop

    def write(self, top: int, rows: Rows) -> None:
        self._stop()
        self._level.write(top, rows)


class Levels:
    """One picture in all its sizes, upright. Safe to use from several threads."""

    def __init__(self, opened: OpenedPicture, colour: SourceColour, folder: Path) -> None:
        facts, self._colour, self._folder = opened.facts, colour, folder
        self.width_px, self.height_px = facts.width_px, facts.height_px
        self.zmax = finest_level(self.width_px, self.height_px)
        self.orientation = facts.orientation
        self.digest = f"{facts.sha256}/{facts.page}/{facts.read_as}/{facts.orientation}"
        self._levels: dict[int, RowFile] = {}
        self._small: NDArray[np.uint16] | None = None
        folder.mkdir(parents=True, exist_ok=True)
        source = opened.source
        costly = not source.reads_columns and self._room(source.height_px * source.width_px * 8)
        self.source: Any = _Spooled(source, folder) if costly else source
        self._spool = self.source if costly else None

    def _room(self, needed_bytes: int) -> bool:
        return shutil.disk_usage(self._folder).free - _SPARE_BYTES > needed_bytes

    def close(self) -> None:
        """Give the temporary files back."""
        for level in self._levels.values():
            level.close()
        self._levels.clear()
        if self._spool is not None:
            self._spool.close()

    def keep_small(self, small: NDArray[Any]) -> None:
        """Take the small upright picture, codes 0..1, for levels that are not there yet."""
        self._small = np.rint(small * 65535.0).astype(np.uint16)

    def build(self, stop: StopCheck) -> bool:
        """Make the coarser levels, each from the finer; False where the disk has no room.

        Raises
        ------
        StoppedError
            When `stop` says so.
        """
        above: Any = self.source
        orientation = self.orientation
        size = (self.width_px, self.height_px)
        for z in range(self.zmax - 1, -1, -1):
            goal = level_size(self.width_px, self.height_px, self.zmax - z)
            if not self._room(2 * goal[0] * goal[1] * above.channels * 2):
                return False
            level = RowFile(*goal, above.channels, np.uint16, self._folder)
            try:
                _halve(above, size, orientation, level, self._colour, stop)
            except BaseException:
                level.close()
                raise
            self._levels[z] = level
            above, orientation, size = level, 1, goal
        return True

    def block(
        self, z: int, left: int, top: int, width: int, height: int
    ) -> tuple[NDArray[np.float32], bool]:
        """A rectangle of a level, codes 0..1, and whether it is as it will stay."""
        codes, final = self.codes(z, left, top, width, height)
        return shares(codes), final

    def codes(
        self, z: int, left: int, top: int, width: int, height: int
    ) -> tuple[NDArray[Any], bool]:
        """As `block`, in the codes that are kept: 8 or 16 bits, or shares 0..1."""
        halvings = self.zmax - z
        if halvings == 0:
            return self._upright(left, top, width, height), True
        level = self._levels.get(z)
        if level is not None:
            return level.block(top, top + height, left, left + width), True
        if halvings > _ON_THE_SPOT and self._small is not None:
            return self._from_small(z, left, top, width, height), False
        return self._from_file(halvings, left, top, width, height), False

    def level(self, halvings: int) -> tuple[Any, int] | None:
        """A level as a source, and its orientation; None where it is not there (yet)."""
        if halvings == 0:
            return self.source, self.orientation
        held = self._levels.get(self.zmax - halvings)
        return None if held is None else (held, 1)

    @property
    def colour(self) -> SourceColour:
        """How the picture's codes become light."""
        return self._colour

    def _upright(self, left: int, top: int, width: int, height: int) -> NDArray[Any]:
        """A rectangle of the file itself, turned as the picture is."""
        turned = self.orientation >= 5
        flip_x, flip_y = self.orientation in (2, 3, 6, 7), self.orientation in (3, 4, 7, 8)
        x = self.width_px - left - width if flip_x else left
        y = self.height_px - top - height if flip_y else top
        if turned:
            part = self.source.block(x, x + width, y, y + height).transpose(1, 0, 2)
        else:
            part = self.source.block(y, y + height, x, x + width)
        return np.asarray(part[:: -1 if flip_y else 1, :: -1 if flip_x else 1])

    def _from_file(
        self, halvings: int, left: int, top: int, width: int, height: int
    ) -> NDArray[Any]:
        from firstsheet.pixels.window import Windows

        goal = level_size(self.width_px, self.height_px, halvings)
        crop = (0.0, 0.0, float(self.width_px), float(self.height_px))
        job = reducing_job(goal, crop, self.orientation, self.source)
        return Windows(self.source, job, self._colour, None).make(left, top, width, height)

    def _from_small(self, z: int, left: int, top: int, width: int, height: int) -> NDArray[Any]:
        """From the small picture, by its nearest pixels; a look until the level is there."""
        assert self._small is not None
        level = level_size(self.width_px, self.height_px, self.zmax - z)
        rows = (np.arange(top, top + height) + 0.5) * self._small.shape[0] / level[1]
        columns = (np.arange(left, left + width) + 0.5) * self._small.shape[1] / level[0]
        return np.asarray(self._small[rows.astype(int)[:, None], columns.astype(int)[None, :]])


def shares(codes: NDArray[Any]) -> NDArray[np.float32]:
    """Codes of any depth as shares 0..1."""
    if codes.dtype.kind == "f":
        return np.ascontiguousarray(codes, np.float32)
    factor = np.float32(1.0 / np.iinfo(codes.dtype).max)
    shares: NDArray[np.float32] = np.multiply(codes, factor, dtype=np.float32)
    return shares


def _bytes_of(array: NDArray[Any]) -> memoryview:
    """The bytes of a contiguous array, writable in place."""
    flat: Any = array.reshape(-1).view(np.uint8)
    return memoryview(flat)


def reducing_job(
    goal: tuple[int, int],
    crop: tuple[float, float, float, float],
    orientation: int,
    source: Any,
) -> RenderJob:
    """A job that reduces a stretch of a source in linear light and keeps its space."""
    from firstsheet.pixels.job import RenderJob

    return RenderJob(
        sheet_width_px=goal[0],
        sheet_height_px=goal[1],
        picture_left_px=0,
        picture_top_px=0,
        width_px=goal[0],
        height_px=goal[1],
        crop=crop,
        orientation=orientation,
        mode="keep",
        white_device=(1.0,) * source.channels,
        light="linear",
        kernel="mitchell",
    )


def _halve(
    source: Any,
    size: tuple[int, int],
    orientation: int,
    level: RowFile,
    colour: SourceColour,
    stop: StopCheck,
) -> None:
    from firstsheet.pixels.render import render

    crop = (0.0, 0.0, float(size[0]), float(size[1]))
    job = reducing_job((level.width_px, level.height_px), crop, orientation, source)
    render(source, job, colour, None, _Levelled(level, stop), stop=stop, threads=1)
