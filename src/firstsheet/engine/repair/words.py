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
    gains = []
    if before.modelling_kept is not None and after.modelling_kept is not None:
        short = "" if reached else ", the most this repair can give"
        gains.append(
            f"keeps {100.0 * after.modelling_kept:.0f} % of its modelling instead of "
            f"{100.0 * before.modelling_kept:.0f} %{short}"
        )
        if reached and after.modelling_kept < FLAT_KEPT:
            gains[-1] += " (what is still missing is too faint to be seen)"
    turn, left = before.hue_turn_degrees, after.hue_turn_degrees
    if turn is not None and left is not None and abs(left) <= abs(turn) - 1.0:
        gains.append(f"turns {abs(left):.0f}° instead of {abs(turn):.0f}°")
    return (
        f"{DEEDS[kind]}: the {before.colour}, {before.place}, then {' and '.join(gains)}. "
        f"Where nothing is lost the print moves by ΔE00 {outside[0]:.2f} on average, "
        f"{outside[1]:.1f} at most."
    )
