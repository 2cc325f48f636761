"""A repair as it is wished for: kind, place, colour and strength in numbers a person can read."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.frozen import Record

__all__ = ["RepairKind", "RepairWish"]

RepairKind = Literal["chroma", "shadow", "highlight"]


class RepairWish(Record):
    """One repair as the ticket keeps it."""

    kind: RepairKind
    box: tuple[float, float, float, float]  # left top right bottom, 0..1 of the upright picture
    lab: tuple[float, float, float]  # the colour in its middle, as the picture means it
    reach: float = Field(gt=0, le=100)  # how far other colours still belong, in CIELAB units
    strength: float = Field(ge=0, le=1)  # 0 changes nothing, 1 is the most the kind allows
