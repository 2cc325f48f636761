"""What a plan keeps of a repair: a frozen record. Colours are CIELAB relative to the paper."""

from __future__ import annotations

from firstsheet.engine.frozen import Record
from firstsheet.engine.repair.wish import RepairWish

__all__ = ["RepairFacts"]


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
