"""Which parts of a picture to look at closely, found in a few bands of rows.

Takes the picture's size and a reader of lightness; gives a Survey: tiles with edges, even
tiles, busy tiles, and the column and row traces that the search for enlargement and for block
grids needs. Memory is bounded by one band of rows and the kept tiles, whatever the picture's
size. Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_survey.py.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "BAND_PX",
    "EVEN_PX",
    "LEAST_PX",
    "TILE_PX",
    "Plane",
    "Read",
    "Survey",
    "Tile",
    "choose_tiles",
    "nothing_seen",
]

Plane = NDArray[np.float32]
Floats = NDArray[np.float64]
# top, bottom, left, right (ends exclusive) -> lightness L*, (rows, columns), any real dtype
Read = Callable[[int, int, int, int], NDArray[np.floating]]

LEAST_PX = 16  # a side of a picture that can be looked through
BAND_PX = 128  # rows of a band
TILE_PX = 128  # side of a tile with edges or fine texture
EVEN_PX = 64  # side of an even tile

_BANDS = 12
_STRIP_PX = 512  # least width of a strip, in pictures that are as wide
_STRIPS = 12
_LEAST_BAND_PX = 32  # a narrower rest at the foot of a small picture is left out
_EDGE_TILES, _BUSY_TILES, _EVEN_TILES_PER_TONE = 48, 24, 14
_TONES = (10.0, 40.0, 65.0, 92.0)  # L* limits of the tone classes of even tiles
_LOG_FLOOR = 0.05  # L* added before a logarithm: below the step of 8-bit files
_EDGE_SPAN = 4  # px over which a contrast is taken


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """A square of lightness and where it lies."""

    top: int
    left: int
    lightness: Plane


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """What a first pass over some bands found; traces of unread rows are NaN."""

    width_px: int
    height_px: int
    read_px: int  # pixels looked at
    edge_tiles: tuple[Tile, ...]
    busy_tiles: tuple[Tile, ...]
    even_tiles: tuple[Tile, ...]
    strips: tuple[Tile, ...]  # long busy ones, as high as a band
    column_bend: Floats  # (width,) mean log2 |second difference along x|
    row_bend: Floats  # (height,) the same along y
    column_step: Floats  # (width,) mean log2 |x[n] - x[n-1]|
    row_step: Floats  # (height,)


@dataclass(slots=True, eq=False)
class _Best:
    """The few highest-scored tiles so far."""

    most: int
    heap: list[tuple[float, int, Tile]] = field(default_factory=list)

    def offer(self, score: float, tile: Callable[[], Tile], order: int) -> None:
        """Keep a tile when it is among the best; it is only cut out when kept."""
        if len(self.heap) < self.most:
            heapq.heappush(self.heap, (score, -order, tile()))
        elif score > self.heap[0][0]:
            heapq.heapreplace(self.heap, (score, -order, tile()))

    def tiles(self) -> tuple[Tile, ...]:
        """From best to worst."""
        return tuple(entry[2] for entry in sorted(self.heap, key=lambda e: e[:2], reverse=True))


def choose_tiles(width: int, height: int, read: Read) -> Survey:
    """Look through evenly spread bands of rows and keep the tiles worth measuring.

    Parameters
    ----------
    width, height
        Of the picture, px; at least 16 each.
    read
        Gives L* of a rectangle: read(top, bottom, left, right). Called once per band, top to
        bottom, with the full width, so a reader of strips decodes nothing twice.

    Raises
    ------
    ValueError
        If the picture is smaller than 16 px, or the reader gives another shape than asked.
    """
    if min(width, height) < LEAST_PX:
        raise ValueError(f"a picture of at least {LEAST_PX} px is needed")
    edge, busy, long = _Best(_EDGE_TILES), _Best(_BUSY_TILES), _Best(_STRIPS)
    even = [_Best(_EVEN_TILES_PER_TONE) for _ in _TONES[:-1]]
    columns = np.zeros((2, width))
    rows = np.full((2, height), np.nan)
    read_rows = 0
    for top, bottom in _bands(height):
        band = np.ascontiguousarray(read(top, bottom, 0, width), dtype=np.float32)
        if band.shape != (bottom - top, width):
            raise ValueError(f"asked for {(bottom - top, width)}, got {band.shape}")
        _add_traces(band, top, columns, rows)
        _offer_detail(band, top, edge, busy, long)
        _offer_even(band, top, even)
        read_rows += bottom - top
    columns /= read_rows
    return Survey(
        width_px=width,
        height_px=height,
        read_px=read_rows * width,
        edge_tiles=edge.tiles(),
        busy_tiles=busy.tiles(),
        even_tiles=tuple(tile for best in even for tile in best.tiles()),
        strips=long.tiles(),
        column_bend=columns[0],
        row_bend=rows[0],
        column_step=columns[1],
        row_step=rows[1],
    )


def nothing_seen(width: int, height: int) -> Survey:
    """What is known of a picture too small to be looked through: nothing."""
    across, down = np.full(width, np.nan), np.full(height, np.nan)
    return Survey(
        width_px=width,
        height_px=height,
        read_px=0,
        edge_tiles=(),
        busy_tiles=(),
        even_tiles=(),
        strips=(),
        column_bend=across,
        row_bend=down,
        column_step=across,
        row_step=down,
    )


def _bands(height: int) -> list[tuple[int, int]]:
    """Tops and bottoms of the bands: all rows of a small picture, spread ones of a large."""
    if height <= BAND_PX * _BANDS:
        cuts = [(top, min(top + BAND_PX, height)) for top in range(0, height, BAND_PX)]
        return [cut for cut in cuts if cut[1] - cut[0] >= _LEAST_BAND_PX] or cuts[:1]
    spread = np.linspace(0, height - BAND_PX, _BANDS)
    return [(int(top), int(top) + BAND_PX) for top in spread]


def _add_traces(band: Plane, top: int, columns: Floats, rows: Floats) -> None:
    """Add a band's log differences to the column traces and set its row traces."""
    floor = np.float32(_LOG_FLOOR)
    count, width = band.shape
    for axis in (1, 0):
        step = np.diff(band, axis=axis)
        bend = np.diff(step, axis=axis)
        for difference in (bend, step):
            np.abs(difference, out=difference)
            difference += floor
            np.log2(difference, out=difference)
        if axis == 1:
            columns[0, 1 : width - 1] += bend.sum(axis=0, dtype=np.float64)
            columns[1, 1:width] += step.sum(axis=0, dtype=np.float64)
        else:
            rows[0, top + 1 : top + count - 1] = bend.mean(axis=1, dtype=np.float64)
            rows[1, top + 1 : top + count] = step.mean(axis=1, dtype=np.float64)


def _blocks(plane: Plane, side: int) -> Plane:
    """Means of side x side blocks; a rest at the right and bottom is left out."""
    height, width = (length // side for length in plane.shape)
    whole = plane[: height * side, : width * side].reshape(height, side, width, side)
    return np.asarray(whole.mean(axis=(1, 3), dtype=np.float32))


def _offer_detail(band: Plane, top: int, edge: _Best, busy: _Best, long: _Best) -> None:
    """Score square tiles by their strongest contrasts, tiles and strips by fine texture."""
    count, width = band.shape
    side = min(TILE_PX, count, width) // 8 * 8
    span = _EDGE_SPAN
    contrast = np.zeros_like(band)
    contrast[:, span:] = np.abs(band[:, span:] - band[:, :-span])
    across = np.abs(band[span:] - band[:-span])
    np.maximum(contrast[span:], across, out=contrast[span:])
    strong = _blocks(contrast, 8)
    fine = np.zeros_like(band)
    fine[:, 1:-1] = np.abs(np.diff(band, n=2, axis=1))
    busy_blocks = _blocks(fine, 8)
    per_tile = side // 8
    for left in range(0, width - side + 1, side):
        first = left // 8
        here = np.sort(strong[:, first : first + per_tile], axis=None)

        def cut(left: int = left) -> Tile:
            return Tile(top, left, band[:side, left : left + side].copy())

        order = top * width + left
        edge.offer(float(here[-10:].mean()), cut, order)
        busy.offer(float(np.median(busy_blocks[:, first : first + per_tile])), cut, order)
    _offer_strips(band, top, busy_blocks, long)


def _offer_strips(band: Plane, top: int, busy_blocks: Plane, long: _Best) -> None:
    """Cut the band into strips of like width and score them by fine texture."""
    width = band.shape[1]
    cuts = np.linspace(0, width, max(1, width // _STRIP_PX) + 1).astype(int)
    for left, right in pairwise(cuts.tolist()):
        blocks = busy_blocks[:, left // 8 : max(right // 8, left // 8 + 1)]

        def cut(left: int = left, right: int = right) -> Tile:
            return Tile(top, left, band[:, left:right].copy())

        long.offer(float(blocks.mean()), cut, top * width + left)


def _offer_even(band: Plane, top: int, even: list[_Best]) -> None:
    """Score small tiles by how little is left once a plane is taken away, per tone class."""
    side = EVEN_PX
    count, width = (length // side * side for length in band.shape)
    if not (count and width):
        return
    cells = band[:count, :width].reshape(count // side, side, width // side, side)
    cells = cells.transpose(0, 2, 1, 3)
    mean = cells.mean(axis=(2, 3), dtype=np.float64)
    square = np.einsum("abij,abij->ab", cells, cells, dtype=np.float64) / side**2
    ramp = (np.arange(side) - (side - 1) / 2).astype(np.float32)
    power = float((ramp**2).mean())
    down = np.einsum("abij,i->ab", cells, ramp) / (side**2 * power)
    right = np.einsum("abij,j->ab", cells, ramp) / (side**2 * power)
    rest = square - mean**2 - (down**2 + right**2) * power
    for row, column in np.ndindex(mean.shape):
        tone = int(np.searchsorted(_TONES, mean[row, column])) - 1
        if not 0 <= tone < len(even):
            continue
        y, x = row * side, column * side

        def cut(y: int = y, x: int = x) -> Tile:
            return Tile(top + y, x, band[y : y + side, x : x + side].copy())

        even[tone].offer(-float(max(rest[row, column], 0.0)), cut, (top + y) * width + x)
