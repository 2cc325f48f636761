"""A repair as it is wished for: kind, place, colour and strength in numbers a person can read."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = [
    "RepairFacts",
    "RepairKind",
    "RepairWish",
]

RepairKind = Literal["chroma", "shadow", "highlight"]


class RepairWish(Record):
    """One repair as the ticket keeps it."""

    kind: RepairKind
    box: tuple[float, float, float, float]  # left top right bottom, 0..1 of the upright picture
    lab: tuple[float, float, float]  # the colour in its middle, as the picture means it
    reach: float = Field(gt=0, le=100)  # how far other colours still belong, in CIELAB units
    strength: float = Field(ge=0, le=1)  # 0 changes nothing, 1 is the most the kind allows


class RepairFacts(Record):
    """One repair of a print: where, what comes back, what moves elsewhere."""

    wish: RepairWish
    words: str  # deep blue, lower left
    sentence: str
    kept_before: float | None  # modelling there, printed : wanted, without any repair
    kept_after: float | None
    turn_before_degrees: float | None  # hue, where there is one
    turn_after_degrees: float | None
    wanted_lab: tuple[float, float, float]  # mean there
    before_lab: tuple[float, float, float]  # as printed, relative to the paper
    after_lab: tuple[float, float, float]
    outside_mean_de00: float  # of the rest of the picture, between the two prints
    outside_max_de00: float
