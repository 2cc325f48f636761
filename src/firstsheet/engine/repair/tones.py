"""Tone curves of repairs: a toe that gives shadows back, a pull-down off paper white.

Takes what the paper shows of greys; gives the lightness a repaired picture means instead.
Theory: docs/theory/repairs.md. Tests: tests/engine/repair/test_repair_tones.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.repair.reach import Printed

__all__ = ["MOST_PULL_L", "ToneCurve", "highlight_curve", "paper_greys", "shadow_curve", "smooth"]

MOST_PULL_L: Final = 10.0  # L* that a pull-down of strength 1 takes off the lightest tones
_STEP_L: Final = 0.25
_YIELD: Final = 0.4  # of the slope that the tones beside a repair may give up
_STEEPEST: Final = 1.5  # of the smooth step used, between its ends

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ToneCurve:
    """A rising curve of L* over L*; what it leaves alone lies beyond `until_l`."""

    wanted_l: Floats
    repaired_l: Floats
    until_l: float

    def at(self, lightness: Floats) -> Floats:
        """Repaired L* of wanted L*."""
        return np.interp(lightness, self.wanted_l, self.repaired_l)


def smooth(value: Floats) -> Floats:
    """A step without corners: 0 below 0, 1 above 1."""
    part = np.clip(value, 0.0, 1.0)
    stepped: Floats = part * part * (3.0 - 2.0 * part)
    return stepped


def paper_greys(printed: Printed) -> tuple[Floats, Floats]:
    """L* of wanted greys and of what the paper shows of them, never falling."""
    wanted = np.arange(0.0, 100.0 + _STEP_L / 2, _STEP_L)
    greys = np.zeros((wanted.size, 3))
    greys[:, 0] = wanted
    shown = np.asarray(printed(greys), dtype=np.float64)[:, 0]
    around = np.pad(shown, 4, mode="edge")
    even = np.convolve(around, np.full(9, 1.0 / 9.0), mode="valid")
    even[[0, -1]] = shown[[0, -1]]
    return wanted, np.maximum.accumulate(even)


def shadow_curve(printed: Printed, *, zone_l: float, strength: float) -> ToneCurve:
    """A toe: up to `zone_l` the paper shows more of each step, above it gives the gain back.

    Parameters
    ----------
    printed
        What the paper shows.
    zone_l
        L* up to which tones are to be told apart again.
    strength
        Share of the steps lost on greys that is given back, 0..1.

    Notes
    -----
    With p the paper's grey curve, what is aimed at is t = p + strength x B, B the sum of the
    slope missing, 1 - p', up to the zone's end, and from there smoothly back to nothing, so
    slowly that no more than 0.4 of the slope there is given up. The repaired lightness is the
    one that prints as t: p turned around.
    """
    wanted, shown = paper_greys(printed)
    slope = np.gradient(shown, wanted)
    missing = np.where(wanted <= zone_l, np.maximum(0.0, 1.0 - slope), 0.0)
    lifted = strength * np.concatenate(([0.0], np.cumsum(0.5 * (missing[1:] + missing[:-1]))))
    lifted *= _STEP_L
    most = float(lifted[-1])
    beyond = np.median(slope[wanted > min(zone_l, 90.0)])
    width = _STEEPEST * most / (_YIELD * max(float(beyond), 0.2))
    width = max(min(width, 100.0 - zone_l), _STEP_L)
    lifted *= 1.0 - smooth((wanted - zone_l) / width)
    aimed = np.maximum.accumulate(shown + lifted)
    rising = shown + 1e-6 * wanted
    return ToneCurve(
        wanted, np.maximum.accumulate(_told(aimed, rising, wanted, lifted)), zone_l + width
    )


def _told(aimed: Floats, rising: Floats, wanted: Floats, lifted: Floats) -> Floats:
    """Lightness that prints as what is aimed at; where the paper is flat, the flat's end."""
    repaired = np.interp(aimed + np.minimum(lifted, 0.02), rising, wanted)
    moved = np.flatnonzero(lifted > 0.0)
    if moved.size and moved[0] > 0:
        repaired[: moved[0]] = np.maximum(repaired[: moved[0]], 0.0)
    return repaired


def highlight_curve(*, zone_l: float, strength: float) -> ToneCurve:
    """A pull-down: tones above `zone_l` sink together, the tones below make room."""
    wanted = np.arange(0.0, 100.0 + _STEP_L / 2, _STEP_L)
    pull = strength * MOST_PULL_L
    width = min(max(_STEEPEST * pull / _YIELD, _STEP_L), zone_l)
    sunk = pull * smooth((wanted - (zone_l - width)) / width)
    return ToneCurve(wanted, wanted - sunk, zone_l - width)
