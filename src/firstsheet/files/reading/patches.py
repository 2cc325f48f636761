"""Clipped patches and a small grey copy, gathered cell by cell while bands go past.

Takes bands of codes; gives counts per cell of a coarse grid and the largest connected group.
Theory: docs/theory/opening.md. Tests: tests/files/test_open_facts.py.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Grid", "largest_patch"]

_GRID_CELLS = 512  # along the longer side: a patch is found on cells, exact below 513 px
_CONNECTED_SHARE = 0.5  # a cell belongs to a patch when half of its pixels are clipped

Cells = list[tuple[NDArray[Any], int, int, NDArray[np.int32]]]


class Grid:
    """Counts of clipped pixels on a coarse grid, per channel, low and high."""

    def __init__(
        self, width: int, height: int, channels: int, *, top_code: int | None = None
    ) -> None:
        self.cell = max(1, -(-max(width, height) // _GRID_CELLS))
        shape = (channels, -(-height // self.cell), -(-width // self.cell))
        self.low = np.zeros(shape, np.int32)
        self.high = np.zeros(shape, np.int32)
        self.tones = np.zeros(shape[1:], np.float64)  # mean of the middle channel's codes
        tall = np.minimum(self.cell, height - np.arange(shape[1]) * self.cell)
        wide = np.minimum(self.cell, width - np.arange(shape[2]) * self.cell)
        self.area = np.outer(tall, wide)
        self._top_code = top_code

    def count(self, codes: NDArray[Any], counts: NDArray[np.int64] | None, top: int) -> Cells:
        """Clipped pixels per cell of one band; channels with too few for a cell are skipped."""
        full = int(np.iinfo(codes.dtype).max) if self._top_code is None else self._top_code
        smallest = max(1, int(_CONNECTED_SHARE * self.area.min()))
        found = []
        for channel in range(codes.shape[2]):
            for plane, code in ((self.low, 0), (self.high, full)):
                if counts is not None and counts[channel, code] < smallest:
                    continue
                mask = (codes[:, :, channel] == code).view(np.uint8)
                found.append((plane, channel, top, self._reduced(mask)))
        return found

    def sum_tones(self, codes: NDArray[Any], top: int) -> None:
        """Mean of one channel per cell, from a few rows of each.

        Bands never share a cell, so no lock is needed.
        """
        middle = codes[:, :, codes.shape[2] // 2 if codes.shape[2] == 3 else 0]
        step = max(1, self.cell // 4)
        lines = np.flatnonzero(np.arange(len(middle)) % self.cell % step == 0)
        starts = np.searchsorted(lines, np.arange(0, len(middle), self.cell))
        taken = np.diff(np.append(starts, len(lines)))[:, None]
        down = np.add.reduceat(middle[lines].astype(np.uint32), starts, axis=0)
        columns = np.arange(0, middle.shape[1], self.cell)
        wide = np.diff(np.append(columns, middle.shape[1]))
        sums = np.add.reduceat(down, columns, axis=1, dtype=np.float64)
        first = top // self.cell
        self.tones[first : first + len(starts)] = sums / (taken * wide)

    def add(self, found: Cells) -> None:
        """Put one band's cells in their place."""
        for plane, channel, top, cells in found:
            first = top // self.cell
            plane[channel, first : first + len(cells)] += cells

    def _reduced(self, mask: NDArray[np.uint8]) -> NDArray[np.int32]:
        """Sum per cell: down first, along whole rows, then across the few rows that are left."""
        rows = np.arange(0, mask.shape[0], self.cell)
        columns = np.arange(0, mask.shape[1], self.cell)
        down = np.add.reduceat(mask, rows, axis=0, dtype=np.uint16 if self.cell > 255 else np.uint8)
        cells: NDArray[np.int32] = np.add.reduceat(down, columns, axis=1, dtype=np.int32)
        return cells


def largest_patch(cells: NDArray[np.int32], area: NDArray[np.int64]) -> float:
    """Clipped pixels of the largest connected group of cells, per cent of all pixels.

    Cells of which at least half is clipped are joined with their eight neighbours. A patch
    smaller than half a cell is missed; the cell is 1/512 of the longer side.
    """
    joined = cells >= np.maximum(1, _CONNECTED_SHARE * area)
    if not joined.any():
        return 0.0
    starts, ends = _runs(joined)
    roots = _roots(len(starts), *_touching(starts, ends, joined.shape[1] + 1))
    row, column = np.divmod(starts, joined.shape[1] + 1)
    summed = np.concatenate([[0], np.cumsum(np.where(joined, cells, 0))])
    first = row * joined.shape[1] + column
    sizes = np.bincount(roots, weights=summed[first + ends - starts] - summed[first])
    return float(sizes.max()) / float(area.sum()) * 100.0


def _runs(joined: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Begin and end of every unbroken run, counted through rows that are one cell longer."""
    flat = np.pad(joined, ((0, 0), (0, 1))).reshape(-1).astype(np.int8)
    steps = np.diff(flat, prepend=0, append=0)
    return np.flatnonzero(steps == 1), np.flatnonzero(steps == -1)


def _touching(
    starts: NDArray[np.int64], ends: NDArray[np.int64], row: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of runs in neighbouring rows that touch, by an edge or a corner."""
    low = np.searchsorted(ends, starts + row, "left")
    high = np.searchsorted(starts, ends + row, "right")
    number = np.maximum(high - low, 0)
    upper = np.repeat(np.arange(len(starts)), number)
    begins = np.cumsum(number) - number
    lower = np.arange(number.sum()) - np.repeat(begins - low, number)
    return upper, lower


def _roots(number: int, upper: NDArray[np.int64], lower: NDArray[np.int64]) -> NDArray[np.int64]:
    """Union-find without a loop over pairs: hook higher roots to lower ones, then flatten.

    Source: Shiloach and Vishkin (1982), J. Algorithms 3(1) 57-67; rounds grow with the
    logarithm of the number of runs.
    """
    parents = np.arange(number)
    while True:
        first, second = parents[upper], parents[lower]
        apart = first != second
        if not apart.any():
            return parents
        high = np.maximum(first[apart], second[apart])
        np.minimum.at(parents, high, np.minimum(first[apart], second[apart]))
        while True:
            flatter = parents[parents]
            if np.array_equal(flatter, parents):
                break
            parents = flatter
