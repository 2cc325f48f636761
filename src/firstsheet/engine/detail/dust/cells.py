"""Finds, band by band, the pixels that stand out of even surroundings.

Takes the picture's size and a reader of lightness; gives the few pixels that lie far off the
level around them, where that level is even enough to say so. Memory is bounded by one band, a
map of one cell per 64 pixels, and a fixed most of kept pixels.
Theory: docs/theory/dust.md. Tests: tests/engine/detail/test_dust.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.dust.streaks import StreakSums
from firstsheet.engine.detail.survey import Plane, Read

__all__ = ["CELL_PX", "Outstanding", "outstanding"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]

CELL_PX: Final = 8
_BAND_PX: Final = 256  # rows read at a time
_REACH: Final = 4  # cells to each side that make the surroundings: 72 px
_STEP: Final = 4  # cells between the windows on which the surroundings are judged
_HALO_PX: Final = (_REACH + _STEP) * CELL_PX  # rows kept from the band before, and read ahead
_SIGMAS: Final = 6.5  # of the noise around, for a pixel to stand out
_LEAST_L: Final = 4.0  # L*, the same for clean pictures
_GROWN: Final = 0.45  # of that height, for pixels that belong to one that stands out
_CROWDED: Final = 0.25  # share of lively cells around from which the surroundings are drawing
_ROUGH_L: Final = 3.5  # L*, noise around from which nothing is looked for
# Noise reaches nearly as far in every cell; drawing does not. Spread allowed to the middle half
# of the cells around: times the noise, and L*.
_ALIKE: Final = (1.3, 0.6)
# The mean of a cell of noise is nearly the level; of a cell of drawing it is not. Bend allowed to
# the means of three cells in a row, in the middle: times the noise, and L*.
_LEVEL: Final = (0.9, 0.25)
_MOST_PIXELS: Final = 600_000  # kept; more than that is a picture, not dust


@dataclass(frozen=True, slots=True, eq=False)
class Outstanding:
    """Pixels that stand out, in reading order."""

    y: NDArray[np.int64]
    x: NDArray[np.int64]
    off_l: Singles  # from the level around, L*; bright positive
    slope_l: Singles  # largest step to a neighbouring pixel, L*
    limit_l: Singles  # height from which a pixel here stands out
    ground_l: Singles  # level around
    open_cells: Mask  # (rows / 8, columns / 8): where it could be told
    overflowed: bool
    streaks: StreakSums


@dataclass(slots=True, eq=False)
class _Cells:
    """Figures of a run of cell rows."""

    mean: Singles
    low: Singles
    high: Singles
    sigma: Singles


def outstanding(width: int, height: int, read: Read) -> Outstanding:
    """Look at every pixel once, top to bottom; the reader is asked for full-width bands."""
    across, down = width // CELL_PX, height // CELL_PX
    open_cells = np.zeros((down, across), np.bool_)
    streaks = StreakSums(width, height)
    found: list[tuple[NDArray[np.int64], ...]] = []
    kept, start = 0, 0
    plane = np.zeros((0, width), np.float32)
    for top in range(0, height, _BAND_PX):
        bottom = min(top + _BAND_PX, height)
        rows = np.ascontiguousarray(read(top, bottom, 0, width), dtype=np.float32)
        if rows.shape != (bottom - top, width):
            raise ValueError(f"asked for {(bottom - top, width)}, got {rows.shape}")
        streaks.add(rows, top)
        plane = np.concatenate([plane, rows])
        del rows  # a band of a large picture is large; it is not held while the next is read
        done = top - _HALO_PX if top else 0
        until = bottom - _HALO_PX if bottom < height else height
        first, last = max(done, 0) // CELL_PX, until // CELL_PX
        if last > first and across > 0:
            pixels, able = _judge(plane, start // CELL_PX, first, last, start)
            open_cells[first:last] = able
            if pixels is not None and kept <= _MOST_PIXELS:
                found.append(pixels)
                kept += pixels[0].size
        keep_from = max(start, (until - _HALO_PX) // CELL_PX * CELL_PX)
        plane, start = plane[keep_from - start :].copy(), keep_from  # the rest is let go
    return _joined(found, open_cells, kept > _MOST_PIXELS, streaks)


def _joined(
    found: list[tuple[NDArray[np.int64], ...]],
    open_cells: Mask,
    overflowed: bool,
    streaks: StreakSums,
) -> Outstanding:
    """All bands' pixels in reading order; none where there were too many."""
    if overflowed or not found:
        nothing, bare = np.zeros(0, np.int64), np.zeros(0, np.float32)
        return Outstanding(
            nothing, nothing, bare, bare, bare, bare, open_cells, overflowed, streaks
        )
    columns = [np.concatenate(parts) for parts in zip(*found, strict=True)]
    order = np.lexsort((columns[1], columns[0]))
    y, x, off, slope, limit, ground = (column[order] for column in columns)
    height, steep, least, level = (part.astype(np.float32) for part in (off, slope, limit, ground))
    return Outstanding(y, x, height, steep, least, level, open_cells, False, streaks)


def _cells(plane: Plane) -> _Cells:
    """Mean, extremes and standard deviation of whole cells."""
    down, across = (side // CELL_PX for side in plane.shape)
    rows = plane[: down * CELL_PX].reshape(down, CELL_PX, -1)
    used = across * CELL_PX

    def cells(lines: Singles) -> Singles:
        return lines[:, :used].reshape(down, across, CELL_PX)

    count = np.float32(CELL_PX**2)
    mean = cells(rows.sum(axis=1)).sum(axis=2) / count
    square = cells(np.einsum("ijk,ijk->ik", rows, rows)).sum(axis=2) / count
    return _Cells(
        mean,
        cells(rows.min(axis=1)).min(axis=2),
        cells(rows.max(axis=1)).max(axis=2),
        np.sqrt(np.maximum(square - mean**2, 0.0)),
    )


def _judge(
    plane: Plane, origin: int, first: int, last: int, top_px: int
) -> tuple[tuple[NDArray[np.int64], ...] | None, Mask]:
    """Pixels that stand out in cell rows first..last, and where that could be told."""
    cells = _cells(plane)
    level, noise = (_around(figure, _middle) for figure in (cells.mean, cells.sigma))
    limit = np.maximum(np.float32(_SIGMAS) * noise, np.float32(_LEAST_L))
    above, below = cells.high - level, level - cells.low
    height = np.maximum(above, below)
    lively = height > limit
    crowd = _share(lively)
    uneven = _around(height, _middle_half) > _ALIKE[0] * noise + _ALIKE[1]
    uneven |= _around(_bend(cells.mean), _middle) > _LEVEL[0] * noise + _LEVEL[1]
    able = (crowd <= _CROWDED) & (noise <= _ROUGH_L) & ~uneven
    here = slice(first - origin, last - origin)
    strong = lively & able
    near = _widened(strong) & (height > np.float32(_GROWN) * limit)
    near[: here.start] = False
    near[here.stop :] = False
    if not near.any():
        return None, able[here]
    return _pixels(plane, near, level, limit, top_px), able[here]


def _bend(mean: Singles) -> Singles:
    """How far each cell lies off the line between its neighbours, the larger of both ways."""
    bend = np.zeros_like(mean)
    if mean.shape[1] > 2:
        bend[:, 1:-1] = np.abs(mean[:, 2:] - 2.0 * mean[:, 1:-1] + mean[:, :-2])
    if mean.shape[0] > 2:
        down = np.abs(mean[2:] - 2.0 * mean[1:-1] + mean[:-2])
        np.maximum(bend[1:-1], down, out=bend[1:-1])
    return bend


def _middle(windows: Singles) -> Singles:
    return np.asarray(np.median(windows, axis=2), dtype=np.float32)


def _middle_half(windows: Singles) -> Singles:
    """From the first quarter to the third."""
    count = windows.shape[2]
    low, high = count // 4, count - 1 - count // 4
    parted = np.partition(windows, (low, high), axis=2)
    return np.asarray(parted[..., high] - parted[..., low], dtype=np.float32)


def _around(figure: Singles, measure: Callable[[Singles], Singles]) -> Singles:
    """A measure of the surroundings, taken at every fourth cell and interpolated between."""
    down, across = figure.shape
    padded = np.pad(figure, _REACH, mode="reflect" if min(figure.shape) > _REACH else "edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (2 * _REACH + 1,) * 2)
    rows = _places(down)
    columns = _places(across)
    picked = windows[rows[:, None], columns[None, :]].reshape(rows.size, columns.size, -1)
    coarse = measure(picked)
    return _between(_between(coarse, rows, down).T, columns, across).T


def _places(count: int) -> NDArray[np.int64]:
    """Every fourth of so many cells, the last one always."""
    places = np.arange(0, count, _STEP)
    return places if places[-1] == count - 1 else np.append(places, count - 1)


def _between(coarse: Singles, places: NDArray[np.int64], count: int) -> Singles:
    """Rows of a figure at every place of 0..count-1, linear between the known ones."""
    if places.size == 1:
        return np.repeat(coarse, count, axis=0)
    at = np.arange(count)
    left = np.clip(np.searchsorted(places, at, side="right") - 1, 0, places.size - 2)
    share = ((at - places[left]) / (places[left + 1] - places[left])).astype(np.float32)[:, None]
    return np.asarray(coarse[left] * (1 - share) + coarse[left + 1] * share, dtype=np.float32)


def _share(marks: Mask) -> Singles:
    """Share of marked cells in the surroundings of each cell."""
    padded = np.pad(marks.astype(np.float32), ((_REACH + 1, _REACH), (_REACH + 1, _REACH)))
    total = padded.cumsum(axis=0).cumsum(axis=1)
    side = 2 * _REACH + 1
    boxes = total[side:, side:] - total[:-side, side:] - total[side:, :-side]
    boxes += total[:-side, :-side]
    cells = np.minimum(side, np.arange(marks.shape[0]) + _REACH + 1)
    cells = np.minimum(cells, cells[::-1])
    over = np.minimum(side, np.arange(marks.shape[1]) + _REACH + 1)
    over = np.minimum(over, over[::-1])
    return np.asarray(boxes / (cells[:, None] * over[None, :]), dtype=np.float32)


def _widened(marks: Mask) -> Mask:
    """The marked cells and their eight neighbours."""
    padded = np.pad(marks, 1)
    wide = padded[:-2] | padded[1:-1] | padded[2:]
    return np.asarray(wide[:, :-2] | wide[:, 1:-1] | wide[:, 2:])


def _pixels(
    plane: Plane, near: Mask, level: Singles, limit: Singles, top_px: int
) -> tuple[NDArray[np.int64], ...]:
    """The pixels of the named cells that stand out: y, x, height, slope, limit, level."""
    row, column = np.nonzero(near)
    inside = np.arange(CELL_PX)
    y = (row * CELL_PX)[:, None, None] + inside[:, None]
    x = (column * CELL_PX)[:, None, None] + inside
    ground, least = level[row, column][:, None, None], limit[row, column][:, None, None]
    here = plane[y, x]
    off = here - ground
    chosen = np.abs(off) > _GROWN * least
    which = np.broadcast_to(np.arange(row.size)[:, None, None], chosen.shape)[chosen]
    y, x = np.broadcast_to(y, chosen.shape)[chosen], np.broadcast_to(x, chosen.shape)[chosen]
    value = here[chosen]
    slope = np.zeros_like(value)
    for dy, dx in ((0, 1), (0, -1), (1, 0), (-1, 0)):
        beside = plane[
            np.clip(y + dy, 0, plane.shape[0] - 1), np.clip(x + dx, 0, plane.shape[1] - 1)
        ]
        np.maximum(slope, np.abs(value - beside), out=slope)
    return (
        y + top_px,
        x,
        off[chosen],
        slope,
        least.ravel()[which],
        ground.ravel()[which],
    )
