"""Finds straight, strong, nearly upright edges in a tile.

Takes a plane of lightness; gives the rows an edge crosses, its line and its direction. The
measuring is done by `edges`. Theory: docs/theory/true-detail.md.
Tests: tests/engine/detail/test_edges.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.lab import lightness_to_y
from firstsheet.engine.detail.survey import Plane

__all__ = ["LONG_ROWS", "SHORT_ROWS", "Candidate", "edge_candidates"]

Floats = NDArray[np.float64]

LONG_ROWS: Final = 32  # rows an edge is followed over
SHORT_ROWS: Final = 20  # in pictures with few long edges
_PEAKS: Final = 3  # edges looked for per strip
_HALF_WIDTH: Final = 7  # px of the centroid window
_LEAST_STEP_L: Final = 2.0  # L*/px at the edge
_STEEPEST: Final = 0.45  # px sideways per px along: 24 degrees
_LEAST_SHIFT_PX: Final = 1.2  # over the strip, so that every phase of the pixel is met
_WANDERING_PX: Final = 1.2  # rms of the strongest steps about their line, before centroids
_CROOKED_PX: Final = 0.35  # rms about the line


@dataclass(frozen=True, slots=True)
class Candidate:
    """A straight edge: column = start + slope * (row - top)."""

    top: int
    bottom: int
    start: float
    slope: float
    falling: bool  # bright on the left


def edge_candidates(plane: Plane, *, rows: int = LONG_ROWS) -> list[Candidate]:
    """Edges of a tile, each over a strip of rows."""
    height, width = plane.shape
    if width < 4 * _HALF_WIDTH or height < rows:
        return []
    found = []
    for top in range(0, height - rows + 1, rows * 3 // 4):
        strip = plane[top : top + rows].astype(np.float64)
        step = 0.5 * (strip[:, 2:] - strip[:, :-2])  # at column 1 on
        for start in _starts(step):
            candidate = _followed(strip, step, start, top)
            if candidate is not None:
                found.append(candidate)
    return found


def _starts(step: Floats) -> list[int]:
    """Columns of the strongest steps in the strip's middle rows."""
    middle = step.shape[0] // 2
    mean = np.abs(step[middle - 1 : middle + 2].mean(axis=0))
    mean[: _HALF_WIDTH + 1] = 0.0
    mean[-_HALF_WIDTH - 1 :] = 0.0
    starts = []
    for _ in range(_PEAKS):
        peak = int(mean.argmax())
        if mean[peak] < _LEAST_STEP_L:
            break
        starts.append(peak)
        mean[max(0, peak - 6) : peak + 7] = 0.0
    return starts


def _followed(strip: Floats, step: Floats, start: int, top: int) -> Candidate | None:
    """Follow an edge up and down, then fit its line through the rows' centroids."""
    rows, width = step.shape
    sign = np.sign(step[rows // 2, start])
    signed = sign * step
    track = np.empty(rows, dtype=int)
    for order in (range(rows // 2, rows), range(rows // 2 - 1, -1, -1)):
        column = start
        for at in order:
            near = signed[at, column - 1 : column + 2]
            column += int(near.argmax()) - 1
            if not 1 <= column < width - 1:
                return None
            track[at] = column
    row = np.arange(rows)
    begin, slope = _line(row, track.astype(np.float64))
    if float(np.square(track - begin - slope * row).sum()) > rows * _WANDERING_PX**2:
        return None
    window = np.arange(-_HALF_WIDTH - 1, _HALF_WIDTH + 2)
    for _ in range(2):  # again, with the windows on the better line
        place = np.rint(begin + slope * row).astype(int)
        if place.min() < _HALF_WIDTH + 1 or place.max() >= width - _HALF_WIDTH - 1:
            return None
        light = lightness_to_y(strip[row[:, None], place[:, None] + 1 + window])
        weight = np.clip(sign * 0.5 * (light[:, 2:] - light[:, :-2]), 0.0, None)
        weight = np.where(weight > 0.08 * weight.max(axis=1, keepdims=True), weight, 0.0)
        total = weight.sum(axis=1)
        if total.min() <= 0:
            return None
        centroid = place + (weight * window[1:-1]).sum(axis=1) / total
        begin, slope = _robust_line(row, centroid)
        if abs(slope) > _STEEPEST:
            return None
    crooked = float(np.sqrt(np.mean((centroid - begin - slope * row) ** 2)))
    if crooked > _CROOKED_PX or abs(slope) * (rows - 1) < _LEAST_SHIFT_PX:
        return None
    return Candidate(top, top + rows, begin + 1.0, slope, bool(sign < 0))


def _line(row: NDArray[np.int64], column: Floats) -> tuple[float, float]:
    """Begin and slope of a least-squares line."""
    count = row.size
    middle, centre = float(row.sum()) / count, float(column.sum()) / count
    away = row - middle
    slope = float(away @ column) / float(away @ away)
    return centre - slope * middle, slope


def _robust_line(row: NDArray[np.int64], column: Floats) -> tuple[float, float]:
    """The same, once more without the rows far off it."""
    begin, slope = _line(row, column)
    off = np.abs(column - (begin + slope * row))
    kept = off <= max(3.0 * float(np.sort(off)[off.size // 2]), 0.05)
    return _line(row[kept], column[kept])
