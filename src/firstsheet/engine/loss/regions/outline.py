"""Outlines of regions, to be drawn on a sheet, and a place inside for a number.

Takes a map of regions; gives closed lines in shares of the picture's width and height. Pure
geometry on the grid of cells. Theory: docs/theory/regions.md.
Tests: tests/engine/loss/regions/test_outline.py.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.records import Record

__all__ = ["Outline", "Point", "outline_of"]

Mask = NDArray[np.bool_]
Point = tuple[float, float]
Loop = tuple[Point, ...]
_Corner = tuple[int, int]

_MOST_LOOPS: Final = 12
_LEAST_CELLS: Final = 3.0
_LEAST_SHARE: Final = 0.01  # of the largest loop
_TOLERANCE_CELLS: Final = 0.3  # how far a simplified line may stray


class Outline(Record):
    """Closed lines around a region; holes are lines of their own, so fill them even-odd."""

    loops: tuple[Loop, ...]  # x, y as shares of the picture's width and height, largest first
    number_at: Point  # deep inside the largest part


def outline_of(cells: Mask, *, cell_px: int, shape: tuple[int, int]) -> Outline:
    """Draw round the marked cells.

    Parameters
    ----------
    cells
        (rows, columns), at least one marked.
    cell_px
        Side of a cell, pixels of the small picture.
    shape
        Height and width of the small picture; the last cells may reach beyond it.

    Notes
    -----
    The border between marked and other cells is followed edge by edge, the marked side on the
    right; cells that touch at a corner stay apart. The line goes through the middles of the
    edges, so that stairs become slopes, and is then thinned (Douglas and Peucker 1973).

    Examples
    --------
    >>> square = np.zeros((4, 4), dtype=bool)
    >>> square[1:3, 1:3] = True
    >>> outline_of(square, cell_px=8, shape=(32, 32)).number_at
    (0.375, 0.375)
    """
    loops = [_thinned(_middles(corners)) for corners in _borders(cells)]
    sizes = [abs(_area(loop)) for loop in loops]
    order = sorted(range(len(loops)), key=lambda one: -sizes[one])
    least = min(sizes[order[0]], max(_LEAST_CELLS, _LEAST_SHARE * sizes[order[0]]))
    kept = [loops[one] for one in order if sizes[one] >= least][:_MOST_LOOPS]

    def share(at: Point) -> Point:
        x, y = (
            min(1.0, place * cell_px / side)
            for place, side in zip(at, (shape[1], shape[0]), strict=True)
        )
        return round(x, 4), round(y, 4)

    return Outline(
        loops=tuple(tuple(share(at) for at in loop) for loop in kept),
        number_at=share(_inside(cells)),
    )


def _borders(cells: Mask) -> list[list[_Corner]]:
    """Closed walks along the edges of marked cells, the marked side on the right."""
    whole = np.pad(cells, 1)
    inner = whole[1:-1, 1:-1]
    leaving: dict[_Corner, list[_Corner]] = {}

    def walk(marks: Mask, start: _Corner, end: _Corner) -> None:
        for row, column in zip(*(one.tolist() for one in np.nonzero(marks)), strict=True):
            at = (column + start[0], row + start[1])
            leaving.setdefault(at, []).append((column + end[0], row + end[1]))

    walk(inner & ~whole[:-2, 1:-1], (0, 0), (1, 0))
    walk(inner & ~whole[1:-1, 2:], (1, 0), (1, 1))
    walk(inner & ~whole[2:, 1:-1], (1, 1), (0, 1))
    walk(inner & ~whole[1:-1, :-2], (0, 1), (0, 0))
    loops = []
    while leaving:
        start = next(iter(leaving))
        loop, at, heading = [start], start, (0, 0)
        while True:
            following = _rightmost(at, heading, leaving[at])
            leaving[at].remove(following)
            if not leaving[at]:
                del leaving[at]
            heading = (following[0] - at[0], following[1] - at[1])
            at = following
            if at == start:
                break
            loop.append(at)
        loops.append(loop)
    return loops


def _rightmost(at: _Corner, heading: _Corner, ways: list[_Corner]) -> _Corner:
    """Of two ways on, the one that turns right, so that cells touching at a corner stay apart."""
    if len(ways) == 1 or heading == (0, 0):
        return ways[0]
    right = (-heading[1], heading[0])
    turned = (at[0] + right[0], at[1] + right[1])
    return turned if turned in ways else ways[0]


def _middles(corners: list[_Corner]) -> list[Point]:
    following = [*corners[1:], corners[0]]
    return [
        (0.5 * (x + next_x), 0.5 * (y + next_y))
        for (x, y), (next_x, next_y) in zip(corners, following, strict=True)
    ]


def _thinned(loop: list[Point]) -> list[Point]:
    """A closed line with the points left out that hardly matter."""
    if len(loop) < 5:
        return loop
    far = max(range(len(loop)), key=lambda one: math.dist(loop[0], loop[one]))
    first = _thinned_open(loop[: far + 1])
    second = _thinned_open([*loop[far:], loop[0]])
    return [*first[:-1], *second[:-1]]


def _thinned_open(line: list[Point]) -> list[Point]:
    kept = {0, len(line) - 1}
    waiting = [(0, len(line) - 1)]
    places = np.asarray(line)
    while waiting:
        begin, end = waiting.pop()
        if end - begin < 2:
            continue
        along = places[end] - places[begin]
        away = places[begin + 1 : end] - places[begin]
        length = float(np.hypot(*along))
        if length > 0.0:
            distance = np.abs(away[:, 0] * along[1] - away[:, 1] * along[0]) / length
        else:
            distance = np.hypot(away[:, 0], away[:, 1])
        at = int(distance.argmax())
        if distance[at] > _TOLERANCE_CELLS:
            middle = begin + 1 + at
            kept.add(middle)
            waiting += [(begin, middle), (middle, end)]
    return [line[one] for one in sorted(kept)]


def _area(loop: list[Point]) -> float:
    following = [*loop[1:], loop[0]]
    return 0.5 * sum(
        x * next_y - next_x * y for (x, y), (next_x, next_y) in zip(loop, following, strict=True)
    )


def _inside(cells: Mask) -> Point:
    """Middle of a cell that lies as deep inside as any; of those, the first in reading order."""
    deepest = cells
    while True:
        around = np.pad(deepest, 1)
        inner = (
            deepest & around[:-2, 1:-1] & around[2:, 1:-1] & around[1:-1, :-2] & around[1:-1, 2:]
        )
        if not inner.any():
            break
        deepest = inner
    row, column = np.argwhere(deepest)[0].tolist()
    return column + 0.5, row + 0.5
