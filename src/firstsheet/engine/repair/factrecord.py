"""What a plan keeps of a repair: a frozen record. Colours are CIELAB relative to the paper."""

from __future__ import annotations

from firstsheet.engine.frozen import Record
from firstsheet.engine.repair.wish import RepairWish

__all__ = ["RepairFacts", "shows_gain"]

_LEAST_KEPT = 0.02  # more of the modelling; less is the rounding of the figures. Our own choice
_LEAST_TURN_DEGREES = 2.0


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


def shows_gain(facts: RepairFacts) -> bool:
    """Whether the figures told of a repair show that something comes back.

    A place on the edge of being called lost may fall to the other side of it by a repair that
    nobody could see; such a one is not worth offering.
    """
    kept, now = facts.kept_before, facts.kept_after
    turn, left = facts.turn_before_degrees, facts.turn_after_degrees
    if kept is not None and now is not None and now - kept >= _LEAST_KEPT:
        return True
    if turn is not None and left is not None and abs(turn) - abs(left) >= _LEAST_TURN_DEGREES:
        return True
    return (kept is None or now is None) and (turn is None or left is None)
