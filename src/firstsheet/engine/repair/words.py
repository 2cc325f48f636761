"""Repairs in words: what is done, what comes back, what moves elsewhere.

Takes figures; gives sentences. Tests: tests/engine/repair/test_repair_words.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from firstsheet.engine.regions.marks import FLAT_KEPT
from firstsheet.engine.regions.record import RegionLoss
from firstsheet.engine.repair.record import RepairKind

__all__ = ["DEEDS", "proposal_words"]

DEEDS: Final[Mapping[RepairKind, str]] = {
    "chroma": "Make it less vivid at the same hue",
    "shadow": "Lift its shadows",
    "highlight": "Bring its lightest tones down from paper white",
}


def proposal_words(
    kind: RepairKind,
    before: RegionLoss,
    after: RegionLoss,
    outside: tuple[float, float],
    reached: bool,
) -> str:
    """Say what a repair does to a place."""
    gains, price = [], ""
    kept, now = before.modelling_kept, after.modelling_kept
    if kept is not None and now is not None:
        told = f"keeps {100.0 * now:.0f} % of its modelling instead of {100.0 * kept:.0f} %"
        if now > kept:
            faint = reached and now < FLAT_KEPT
            gains.append(told + (" (what is still missing is too faint to be seen)" * faint))
        elif now < kept - 0.01:
            price = f", but {told}"
    turn, left = before.hue_turn_degrees, after.hue_turn_degrees
    if turn is not None and left is not None and abs(left) <= abs(turn) - 1.0:
        gains.append(f"turns {abs(left):.0f}° instead of {abs(turn):.0f}°")
    short = "" if reached else " It does not give back all that was asked."
    return (
        f"{DEEDS[kind]}: the {before.colour}, {before.place}, then {' and '.join(gains)}{price}."
        f"{short} Where nothing is lost the print moves by ΔE00 {outside[0]:.2f} on average, "
        f"{outside[1]:.1f} at most."
    )
