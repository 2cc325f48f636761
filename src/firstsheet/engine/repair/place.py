"""Where a repair acts: a mask with soft edges.

Takes a small picture, a box and which colours belong; gives the mask.
Theory: docs/theory/repairs.md. Tests: tests/engine/repair/test_repair_place.py.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.repair.tones import smooth

__all__ = ["place_mask", "small_means"]

_LONGEST: Final = 192  # samples along the mask's long side
_MARGIN: Final = 0.04  # of the long side: how softly the box ends

Floats = NDArray[np.float64]


def place_mask(
    picture_lab: NDArray[Any],
    box: tuple[float, float, float, float],
    belongs: Callable[[Floats], Floats],
) -> NDArray[np.float32]:
    """Where in the picture colours belong, inside the box and softly beyond it.

    Parameters
    ----------
    picture_lab
        (h, w, 3), the whole upright picture.
    box
        Left, top, right, bottom, 0..1.
    belongs
        How far colours belong, 0..1.
    """
    small = small_means(picture_lab, _LONGEST)
    mask = _blurred(_spread(belongs(small)), 2)
    mask = _blurred(mask, 2)
    mask *= _soft_box(box, *mask.shape)
    mask[mask < 1.0 / 512.0] = 0.0
    return mask.astype(np.float32)


def small_means(picture_lab: NDArray[Any], longest: int) -> Floats:
    """Means over blocks that share the picture evenly, at most `longest` along a side."""
    rows, columns = (
        np.linspace(0, side, min(side, max(1, round(longest * side / max(picture_lab.shape[:2]))))
                    + 1).round().astype(np.int64)
        for side in picture_lab.shape[:2]
    )  # fmt: skip
    down = np.add.reduceat(picture_lab, rows[:-1], axis=0, dtype=np.float64)
    both = np.add.reduceat(down, columns[:-1], axis=1)
    means: Floats = both / (np.diff(rows)[:, None, None] * np.diff(columns)[None, :, None])
    return means


def _spread(mask: Floats) -> Floats:
    """Largest of each sample and its eight neighbours."""
    around = np.pad(mask, 1, mode="edge")
    wide = np.maximum(np.maximum(around[:, :-2], around[:, 1:-1]), around[:, 2:])
    spread: Floats = np.maximum(np.maximum(wide[:-2], wide[1:-1]), wide[2:])
    return spread


def _blurred(mask: Floats, radius: int) -> Floats:
    """Mean over a square of 2 radius + 1 samples."""
    for axis in (0, 1):
        width = [(radius + 1, radius) if one == axis else (0, 0) for one in (0, 1)]
        sums = np.cumsum(np.pad(mask, width, mode="edge"), axis=axis)
        ahead = np.take(sums, range(2 * radius + 1, sums.shape[axis]), axis=axis)
        behind = np.take(sums, range(sums.shape[axis] - 2 * radius - 1), axis=axis)
        mask = (ahead - behind) / (2 * radius + 1)
    return np.clip(mask, 0.0, 1.0)


def _soft_box(box: tuple[float, float, float, float], height: int, width: int) -> Floats:
    """1 in the box, falling to 0 over a margin of 4 % of the long side."""
    left, top, right, bottom = box
    margin = _MARGIN * max(height, width)

    def along(count: int, low: float, high: float) -> Floats:
        place = np.arange(count) + 0.5
        away = np.maximum(np.maximum(low * count - place, place - high * count), 0.0)
        return 1.0 - smooth(away / margin)

    return along(height, top, bottom)[:, None] * along(width, left, right)[None, :]
