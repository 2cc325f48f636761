"""What each kind of repair does to colours: maps of CIELAB at constant hue.

Takes a wish and what the paper shows; gives the map and which colours belong. All three work in
Oklab, where blue stays blue: chroma alone is changed, or lightness alone, never hue.
Theory: docs/theory/repairs.md. Tests: tests/engine/loss/repair/test_repair_colours.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.hue import lab_of_oklab, oklab_of_lab
from firstsheet.engine.colour.lab import D50_XYZ, lab_to_xyz, xyz_to_lab
from firstsheet.engine.loss.repair.reach import Paper, PaperReach
from firstsheet.engine.loss.repair.tones import ToneCurve, highlight_curve, shadow_curve, smooth
from firstsheet.engine.records.repair import RepairWish

__all__ = ["ColourRepair", "colour_repair", "knee"]

KNEE: Final = 0.6  # of the paper's reach: duller colours stay
_NARROWEST, _WIDEST = math.radians(8.0), math.radians(60.0)

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ColourRepair:
    """A wish on one paper, before it is laid on a grid."""

    wish: RepairWish
    reach: PaperReach | None
    curve: ToneCurve | None

    def mapped(self, lab: Floats) -> Floats:
        """Repaired colours, (..., 3)."""
        oklab = oklab_of_lab(lab)
        if self.curve is not None:
            repaired = _toned(oklab, self.curve)
        else:
            assert self.reach is not None
            repaired = _duller(oklab, self.wish, self.reach, self.belongs(lab))
        changed = np.any(repaired != oklab, axis=-1)
        out = np.array(lab, dtype=np.float64)
        out[changed] += lab_of_oklab(repaired[changed]) - lab_of_oklab(oklab[changed])
        return out

    def might_change(self, lab: Floats) -> NDArray[np.bool_]:
        """Where anything may change, by lightness alone: quick."""
        lightness, (middle, _, _), reach = lab[..., 0], self.wish.lab, self.wish.reach
        if self.wish.kind == "chroma":
            within: NDArray[np.bool_] = np.abs(lightness - middle) < 2.0 * reach
            return within
        return np.ones(lightness.shape, dtype=np.bool_)

    def belongs(self, lab: Floats) -> Floats:
        """How far colours belong to the repair, 0..1."""
        lightness, reach = np.asarray(lab)[..., 0], self.wish.reach
        if self.wish.kind == "shadow":
            assert self.curve is not None
            zone = self.wish.lab[0] + reach
            return 1.0 - smooth((lightness - zone) / max(self.curve.until_l - zone, 1.0))
        if self.wish.kind == "highlight":
            assert self.curve is not None
            zone = self.wish.lab[0] - reach
            return 1.0 - smooth((zone - lightness) / max(zone - self.curve.until_l, 1.0))
        centre = oklab_of_lab(self.wish.lab)
        oklab = oklab_of_lab(lab)
        across = oklab[..., 1] * centre[2] - oklab[..., 2] * centre[1]
        along = oklab[..., 1] * centre[1] + oklab[..., 2] * centre[2]
        away = np.abs(np.arctan2(across, along))
        half = _half_angle(self.wish)
        in_hue = 1.0 - smooth((away - half) / half)
        in_light = 1.0 - smooth((np.abs(lightness - self.wish.lab[0]) - reach) / reach)
        return in_hue * in_light


def colour_repair(wish: RepairWish, paper: Paper) -> ColourRepair:
    """Make a wish's map of colours for one paper."""
    light, reach = wish.lab[0], wish.reach
    if wish.kind == "shadow":
        zone = (max(light - reach, 0.0), min(light + reach, 80.0))
        curve = shadow_curve(paper, zone_l=zone, strength=wish.strength)
        return ColourRepair(wish, None, curve)
    if wish.kind == "highlight":
        sinks = highlight_curve(zone_l=max(light - reach, 40.0), strength=wish.strength)
        return ColourRepair(wish, None, sinks)
    return ColourRepair(wish, paper.reach, None)


def knee(chroma: Floats, *, start: Floats, most: Floats, to: Floats) -> Floats:
    """Chroma compressed so that `most` comes to `to`; below `start` nothing changes.

    Notes
    -----
    Past the start u = chroma - start becomes u / (1 + u k), k = 1 / (to - start) - 1 / (most -
    start): slope 1 where it begins, always rising, without a corner.
    """
    room, need = to - start, most - start
    bend = np.where(need > room, 1.0 / np.maximum(room, 1e-9) - 1.0 / np.maximum(need, 1e-9), 0.0)
    past = np.maximum(chroma - start, 0.0)
    bent: Floats = np.minimum(chroma, start) + past / (1.0 + past * np.maximum(bend, 0.0))
    return bent


def _half_angle(wish: RepairWish) -> float:
    chroma = max(math.hypot(wish.lab[1], wish.lab[2]), 1.0)
    return min(max(wish.reach / chroma, _NARROWEST), _WIDEST)


def _duller(oklab: Floats, wish: RepairWish, reach: PaperReach, belongs: Floats) -> Floats:
    chroma = np.hypot(oklab[..., 1], oklab[..., 2])
    hue = np.arctan2(oklab[..., 2], oklab[..., 1])
    centre = oklab_of_lab(wish.lab)
    given = max(math.hypot(wish.lab[1], wish.lab[2]), 1.0)
    most = math.hypot(centre[1], centre[2]) * (1.0 + wish.reach / given)
    to = np.minimum(reach.at(oklab[..., 0], hue), most)
    bent = knee(chroma, start=KNEE * to, most=np.full_like(to, most), to=to)
    part = 1.0 - wish.strength * belongs * (1.0 - bent / np.maximum(chroma, 1e-9))
    repaired = oklab.copy()
    repaired[..., 1:] *= part[..., None]
    return repaired


def _toned(oklab: Floats, curve: ToneCurve) -> Floats:
    """Oklab lightness as the curve moves the grey of the same lightness; a and b stay."""
    grey_l = _grey_l(oklab[..., 0])
    moved = curve.at(grey_l)
    repaired = oklab.copy()
    repaired[..., 0] += _grey_light(moved) - _grey_light(grey_l)
    return repaired


def _grey_l(light: Floats) -> Floats:
    """L* of the grey of an Oklab lightness."""
    xyz = np.clip(light, 0.0, 1.0)[..., None] ** 3 * D50_XYZ
    return xyz_to_lab(xyz)[..., 0]


def _grey_light(lightness: Floats) -> Floats:
    lab = np.zeros((*np.shape(lightness), 3))
    lab[..., 0] = lightness
    return np.cbrt(lab_to_xyz(lab)[..., 1])
