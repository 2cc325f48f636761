"""What a repair is: the wish that stands in the ticket, and the field that the pixels take.

A wish says kind, place, colour and strength in numbers a person can read; a field is what is made
of it for one picture on one paper: a shift of colour on a grid, times a mask with soft edges.
Fields act on the colour the picture means, before the paper's table, one after another.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["GRID_AB", "RepairField"]

GRID_AB = 128.0  # the grid spans L* 0..100 and a*, b* -128..128, ends included


@dataclass(frozen=True, eq=False)
class RepairField:
    """One repair ready for pixels: Lab += mask x shift(Lab)."""

    shift: NDArray[np.float32]  # (n, n, n, 3) over L*, a*, b* (GRID_AB): change of L*, a*, b*
    mask: NDArray[np.float32] | None  # (h, w) 0..1 over the whole upright picture; None: all of it
