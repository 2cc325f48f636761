"""What a repair moves where it is not meant: pixels away from some cells, and how far they move.

Takes cells and two prints; gives marks and CIEDE2000. Theory: docs/theory/repairs.md.
Tests: tests/engine/loss/repair/test_repair_elsewhere.py.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.repair.place import spread

__all__ = ["away_from", "moved_de00"]

_MOVED: Final = 0.005  # of L*, a* or b*: less is the arithmetic's own


def away_from(cells: NDArray[np.bool_], side_px: int, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Pixels of a picture, rows and columns of `shape`, in no marked cell and in none beside one.

    Parameters
    ----------
    cells
        (rows, columns), of `side_px` pixels a side; the last ones may reach over the picture.
    """
    near = spread(cells, 1)
    return ~np.repeat(np.repeat(near, side_px, 0), side_px, 1)[: shape[0], : shape[1]]


def moved_de00(
    before: NDArray[Any], after: NDArray[Any], where: NDArray[np.bool_]
) -> tuple[float, float]:
    """Mean and largest CIEDE2000 of two prints, (h, w, 3) CIELAB, over the marked pixels."""
    far = np.abs(after - before) > _MOVED
    moved = where & (far[..., 0] | far[..., 1] | far[..., 2])
    if not moved.any():
        return 0.0, 0.0
    de00 = np.asarray(delta_e_2000(before[moved], after[moved]))
    return float(de00.sum()) / int(np.count_nonzero(where)), float(de00.max())
