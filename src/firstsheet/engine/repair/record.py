"""What a repair is: the wish that stands in the ticket, and the field that the pixels take.

A wish says kind, place, colour and strength in numbers a person can read; a field is what is made
of it for one picture on one paper: a shift of colour on a grid, times a mask with soft edges.
Fields act on the colour the picture means, before the paper's table, one after another.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from firstsheet.engine.records import Record

__all__ = ["GRID_AB", "RepairField", "RepairKind", "RepairWish"]

RepairKind = Literal["chroma", "shadow", "highlight"]

GRID_AB = 128.0  # the grid spans L* 0..100 and a*, b* -128..128, ends included


class RepairWish(Record):
    """One repair as the ticket keeps it."""

    kind: RepairKind
    box: tuple[float, float, float, float]  # left top right bottom, 0..1 of the upright picture
    lab: tuple[float, float, float]  # the colour in its middle, as the picture means it
    reach: float = Field(gt=0, le=100)  # how far other colours still belong, in CIELAB units
    strength: float = Field(ge=0, le=1)  # 0 changes nothing, 1 is the most the kind allows


@dataclass(frozen=True, eq=False)
class RepairField:
    """One repair ready for pixels: Lab += mask x shift(Lab)."""

    shift: NDArray[np.float32]  # (n, n, n, 3) over L*, a*, b* (GRID_AB): change of L*, a*, b*
    mask: NDArray[np.float32] | None  # (h, w) 0..1 over the whole upright picture; None: all of it
