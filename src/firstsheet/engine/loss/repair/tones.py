"""Tone curves of repairs: a toe that gives shadows back, a pull-down off paper white.

Takes what the paper shows of greys; gives the lightness a repaired picture means instead.
Theory: docs/theory/repairs.md. Tests: tests/engine/loss/repair/test_repair_colours.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.repair.reach import Paper

__all__ = ["MOST_PULL_L", "ToneCurve", "highlight_curve", "shadow_curve", "smooth"]

MOST_PULL_L: Final = 10.0  # L* that a pull-down of strength 1 takes off the lightest tones
_STEP_L: Final = 0.25
_NARROWEST_L: Final = 4.0  # of what lies beside a zone
_BEGINS_L: Final = 4.0  # below a zone, where a toe begins
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


def shadow_curve(paper: Paper, *, zone_l: tuple[float, float], strength: float) -> ToneCurve:
    """A toe: between two tones the paper shows more of each step, above it gives the gain back.

    Parameters
    ----------
    paper
        What it shows of greys.
    zone_l
        L* between which tones are to be told apart again.
    strength
        Share of the steps lost on greys that is given back, 0..1.

    Notes
    -----
    With p the paper's grey curve, what is aimed at is t = p + strength x B, B the sum of the
    slope missing, 1 - p', through the zone, and from there smoothly back to nothing, so slowly
    that no more than 0.4 of the slope there is given up. The repaired lightness is the one that
    prints as t: p turned around.
    """
    wanted, shown = paper.greys
    low, high = zone_l
    slope = np.gradient(shown, wanted)
    begins = smooth((wanted - low) / _BEGINS_L + 1.0)
    missing = np.where(wanted <= high, begins * np.maximum(0.0, 1.0 - slope), 0.0)
    sums = np.concatenate(([0.0], np.cumsum(0.5 * (missing[1:] + missing[:-1]))))
    lifted = strength * sums * (wanted[1] - wanted[0])
    beyond = float(np.median(slope[wanted > min(high, 90.0)]))
    width = _STEEPEST * float(lifted[-1]) / (_YIELD * max(beyond, 0.2))
    width = max(min(width, 100.0 - high), _NARROWEST_L)
    lifted *= 1.0 - smooth((wanted - high) / width)
    aimed = np.maximum.accumulate(shown + lifted)
    told = np.maximum(
        wanted, np.interp(aimed + np.minimum(lifted, 0.02), shown + 1e-6 * wanted, wanted)
    )
    told = np.maximum.accumulate(told)
    lifts = wanted[told > wanted + 0.02]  # where the paper is flat, beyond the zone too
    return ToneCurve(wanted, told, max(high + width, float(lifts.max(initial=0.0))))


def highlight_curve(*, zone_l: float, strength: float) -> ToneCurve:
    """A pull-down: tones above `zone_l` sink together, the tones below make room."""
    wanted = np.arange(0.0, 100.0 + _STEP_L / 2, _STEP_L)
    pull = strength * MOST_PULL_L
    width = min(max(_STEEPEST * pull / _YIELD, _NARROWEST_L), zone_l)
    sunk = pull * smooth((wanted - (zone_l - width)) / width)
    return ToneCurve(wanted, wanted - sunk, zone_l - width)
