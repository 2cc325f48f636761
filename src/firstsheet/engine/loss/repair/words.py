"""Repairs in words: what is done, what comes back, what moves elsewhere, when none is possible.

Takes figures; gives sentences. Tests: tests/engine/loss/repair/test_repair_words.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

from firstsheet.engine.loss.regions.masks import FLAT_KEPT
from firstsheet.engine.records.losses import RegionLoss
from firstsheet.engine.records.repair import RepairKind

__all__ = ["DEEDS", "NO_WAY_BACK", "NoWayBack", "repair_words"]

DEEDS: Final[Mapping[RepairKind, str]] = {
    "chroma": "Make it less vivid at the same hue",
    "shadow": "Lift its shadows",
    "highlight": "Bring its lightest tones down from paper white",
}


class NoWayBack(NamedTuple):
    """Why a file that keeps the picture's own colours cannot hold repairs."""

    found: str
    consequence: str
    choice: str
    code: str


NO_WAY_BACK: Final = NoWayBack(
    "The print file keeps the picture's own colours, and holds repairs.",
    "Repairs act on colours, and the way back from a colour to these codes is not known.",
    "Undo the repairs.",
    "repairs-need-colour",
)


def repair_words(
    kind: RepairKind, before: RegionLoss, after: RegionLoss, outside_max_de00: float
) -> str:
    """Say what a repair does to a place, what it leaves undone, and what moves elsewhere.

    Parameters
    ----------
    before, after
        The place as it prints without and with repairs.
    outside_max_de00
        The most that the rest of the picture moves.
    """
    gains, short = [], ""
    kept, now = before.modelling_kept, after.modelling_kept
    if kept is not None and now is not None:
        gains.append(
            f"{100.0 * kept:.0f} % of the tonal separation survives without it, "
            f"{100.0 * now:.0f} % with it"
        )
        if now < kept - 0.01:
            short = " It costs separation there."
        elif round(now, 2) < FLAT_KEPT:
            short = (
                " Not all of it comes back."
                if after.lost > 0.0
                else " What is still missing is too faint to be seen."
            )
    turn, left = before.hue_turn_degrees, after.hue_turn_degrees
    if turn is not None and left is not None and abs(turn) >= 5.0:
        gains.append(f"turns {abs(turn):.0f}° in hue without it, {abs(left):.0f}° with it")
    what = " and ".join(gains) if gains else "changes as its swatches show"
    rest = f"the rest of the picture moves by at most ΔE00 {outside_max_de00:.1f}"
    return f"{before.colour}, {before.place}: {what}; {rest}. {DEEDS[kind]}.{short}"
