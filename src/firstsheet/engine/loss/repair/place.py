"""Where a repair acts: where the paper takes something of the right colour, softly.

Takes a picture, what the paper shows of it, a box and which colours belong; gives the mask.
Theory: docs/theory/repairs.md. Tests: tests/engine/loss/repair/test_propose_repairs.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.masks import FLAT_KEPT, VISIBLE_STEP_DE
from firstsheet.engine.loss.regions.planes import printed_planes, wanted_planes
from firstsheet.engine.loss.regions.separation import CELL
from firstsheet.engine.loss.repair.reach import Printed
from firstsheet.engine.loss.repair.tones import smooth

__all__ = ["RIM", "Needs", "place_mask", "places_in_need", "small_means", "spread"]

RIM: Final = 4  # cells: further than this from what loses a repair changes nothing
_LONGEST: Final = 768  # pixels at which steps are measured: 96 cells
_CLOSED: Final = 2  # cells: gaps narrower than twice this are closed
_SOFT: Final = (1, 2, 4, 8, 16)  # cells: two means over 2 x this + 1, the first that is smooth
_EVEN_DE: Final = 6.0  # between cells: steeper places are edges of the picture itself
_TURNS_BACK_DE: Final = 0.3  # between cells, against the picture's own slope

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Needs:
    """What each cell of a picture means, and whether the paper takes some of it."""

    lab: Floats  # (rows, columns, 3), means
    loses: Floats  # (rows, columns), 0..1
    cells: tuple[float, float]  # rows and columns that lie in the picture, the last ones in part

    def near(
        self,
        shape: tuple[int, int],
        lies: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0),
    ) -> NDArray[np.bool_]:
        """Pixels that lose or lie within the soft rim of what does.

        Parameters
        ----------
        shape
            Rows and columns of the pixels wanted.
        lies
            Left, top, width, height of these pixels on the picture, shares of it.
        """
        rim = spread(self.loses >= 0.5, RIM)
        left, top, width, height = lies
        down, across = (
            ((start + (np.arange(side) + 0.5) / side * length) * count).astype(np.int64)
            for side, start, length, count in zip(
                shape, (top, left), (height, width), self.cells, strict=True
            )
        )
        return rim[down][:, across]


def places_in_need(picture_lab: NDArray[Any], printed: Printed) -> Needs:
    """Where drawing is flattened, a hue turns, or tones lie at an end of the paper's scale.

    Parameters
    ----------
    picture_lab
        (h, w, 3), the whole upright picture.
    printed
        What the paper shows.
    """
    small = small_means(picture_lab, _LONGEST)
    black_l = float(np.min(printed(np.zeros((1, 3)))[..., 0]))
    wanted = wanted_planes(small, 1)
    shown = printed_planes(wanted, printed(small), black_l=black_l)
    steps, left = (np.sqrt(np.square(one.levels).sum(axis=0)) for one in (wanted, shown))
    kept = left / np.maximum(steps, 1e-9)
    flat = smooth(2.0 * steps / VISIBLE_STEP_DE - 1.0) * (1.0 - smooth((kept - FLAT_KEPT) / 0.1))
    loses = np.maximum(flat, shown.turned | shown.white | shown.black)
    return Needs(wanted.lab, loses, (small.shape[0] / CELL, small.shape[1] / CELL))


def place_mask(
    needs: Needs,
    box: tuple[float, float, float, float],
    *,
    belongs: Callable[[Floats], Floats],
    mapped: Callable[[Floats], Floats],
) -> NDArray[np.float32]:
    """Where colours belong and the paper takes of them, inside the box and softly beyond it.

    Parameters
    ----------
    needs
        From `places_in_need`.
    box
        Left, top, right, bottom, 0..1.
    belongs
        How far colours belong, 0..1.
    mapped
        What the repair makes of colours.

    Notes
    -----
    The edge is as narrow as may be, and widened until no slope of the picture turns back in it.
    """
    rows, columns = needs.loses.shape
    down = (np.arange(rows) + 0.5) / needs.cells[0]
    across = (np.arange(columns) + 0.5) / needs.cells[1]
    left, top, right, bottom = box
    inside = ((down > top) & (down < bottom))[:, None] & ((across > left) & (across < right))
    acts = belongs(needs.lab) * needs.loses * inside
    closed = 1.0 - spread(1.0 - spread(acts, _CLOSED), _CLOSED - 1)
    shift = mapped(needs.lab) - needs.lab
    mask = closed
    for soft in _SOFT:
        wide = spread(closed, soft - _SOFT[0])
        mask = _blurred(_blurred(wide, soft), soft)
        if not _turns_back(needs.lab, mask, shift):
            break
    return _stretched(mask, needs.cells).astype(np.float32)


def small_means(picture_lab: NDArray[Any], longest: int) -> Floats:
    """Means over blocks that share the picture evenly, at most `longest` along a side."""
    most = max(picture_lab.shape[:2])
    bounds = []
    for side in picture_lab.shape[:2]:
        count = side if most <= longest else max(1, round(longest * side / most))
        bounds.append(np.linspace(0.0, side, count + 1).round().astype(np.int64))
    rows, columns = bounds
    down = np.add.reduceat(picture_lab, rows[:-1], axis=0, dtype=np.float64)
    both = np.add.reduceat(down, columns[:-1], axis=1)
    means: Floats = both / (np.diff(rows)[:, None, None] * np.diff(columns)[None, :, None])
    return means


def spread(mask: NDArray[Any], reach: int) -> NDArray[Any]:
    """Largest value within `reach` samples in each direction."""
    for _ in range(reach):
        around = np.pad(mask, 1, mode="edge")
        wide = np.maximum(np.maximum(around[:, :-2], around[:, 1:-1]), around[:, 2:])
        mask = np.maximum(np.maximum(wide[:-2], wide[1:-1]), wide[2:])
    return mask


def _turns_back(lab: Floats, mask: Floats, shift: Floats) -> bool:
    """Whether a gentle slope of the picture runs the other way in the edge of the mask."""
    repaired = lab + mask[..., None] * shift
    for axis in (0, 1):
        slope, after = np.diff(lab, axis=axis), np.diff(repaired, axis=axis)
        steep = np.sqrt(np.square(slope).sum(axis=-1))
        along = (slope * after).sum(axis=-1) / np.maximum(steep, 1e-9)
        at_edge = np.abs(np.diff(mask, axis=axis)) > 0.01
        gentle = (steep > 0.5 * _TURNS_BACK_DE) & (steep < _EVEN_DE)
        if np.any(at_edge & gentle & (along < -_TURNS_BACK_DE)):
            return True
    return False


def _blurred(mask: Floats, radius: int) -> Floats:
    """Mean over a square of 2 radius + 1 samples."""
    side = 2 * radius + 1
    for axis in (0, 1):
        width = [(radius, radius) if one == axis else (0, 0) for one in (0, 1)]
        around = np.pad(mask, width, mode="edge")
        count = mask.shape[axis]
        moved = [np.take(around, range(at, at + count), axis=axis) for at in range(side)]
        mask = np.mean(moved, axis=0)
    return mask


def _stretched(mask: Floats, cells: tuple[float, float]) -> Floats:
    """The mask on samples that share the picture evenly, where its last cells lie half outside."""
    for axis, count in enumerate(cells):
        whole = mask.shape[axis]
        at = np.clip((np.arange(whole) + 0.5) * count / whole - 0.5, 0.0, whole - 1.0)
        low = np.minimum(at.astype(np.int64), max(whole - 2, 0))
        part = np.expand_dims(at - low, 1 - axis)
        above = np.minimum(low + 1, whole - 1)
        mask = np.take(mask, low, axis) * (1.0 - part) + np.take(mask, above, axis) * part
    return mask
