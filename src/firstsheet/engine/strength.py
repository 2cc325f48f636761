"""The output sharpening that brings a print to a target sharpness, and what stops it.

Takes the chain of a print (engine.printmtf), the distance, the noise and the sharpening already
in the file; gives strength, radius, what is reached, and which limit bound it. The print's own
unsharpened chain and the eye decide; the manual strengths of engine.sharpness stay as they are.
Theory: docs/theory/acutance.md. Tests: tests/engine/test_strength.py.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.printmtf import Chain, chain_acutance, edge_profile
from firstsheet.engine.records import Record
from firstsheet.engine.sharpness import HALF_HEIGHT_WIDTH, sharpen_plan

__all__ = ["Limits", "StrengthAnswer", "solve_strength"]

Floats = NDArray[np.float64]
Bound = Literal["target", "nothing needed", "halo", "overshoot", "noise", "highest strength"]

_SURPLUS = 0.10  # beyond the unspread original: "a little too crisp on screen", our own choice
_WIDER = (1.0, 1.25, 1.6, 2.0, 2.5)  # radii tried, times the surface's usual one
_HIGHEST = 3.0  # strength, as sharpen_plan holds it


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What sharpening may not exceed. Our own choices, to be put right by printed ladders."""

    halo_arc_minutes: float = 2.9  # the halo pair: 0.25 mm at 30 cm, common practice, no source
    overshoot_l: float = 5.0  # L* beyond the edge, on an edge of `edge_l`
    edge_l: float = 40.0
    noise_gain: float = 1.25  # of the noise in flat areas

    def halo_mm(self, distance_mm: float) -> float:
        """Width of halo that stays below notice at a distance, mm."""
        return float(distance_mm * np.tan(np.radians(self.halo_arc_minutes / 60.0)))


class StrengthAnswer(Record):
    """Output sharpening solved for a print."""

    strength: float  # as engine.sharpness.sharpen_plan takes it
    gain: float
    radius_mm: float
    radius_px: float
    target: float  # acutance wanted
    unsharpened: float  # acutance of the print without output sharpening
    reached: float
    bound_by: Bound
    halo_width_mm: float
    halo_limit_mm: float
    overshoot_l: float
    noise_gain: float
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Try:
    """One radius with the most gain it may have."""

    chain: Chain
    reached: float
    bound_by: Bound
    overshoot_l: float
    noise_gain: float


def solve_strength(
    chain: Chain,
    distance_mm: float,
    *,
    surface: str = "other",
    target: float | None = None,
    noise_l: float = 0.0,
    present_overshoot_share: float = 0.0,
    limits: Limits | None = None,
) -> StrengthAnswer:
    """Find the strength and radius that bring the print's acutance to the target.

    Parameters
    ----------
    chain
        The print without output sharpening; its gain and radius are ignored.
    distance_mm
        From where the print is judged.
    surface
        A surface class of `engine.sharpness`; decides radius and what strength 1 means.
    target
        Acutance wanted; None takes that of the unspread original (the same print without ink
        spread), plus a tenth.
    noise_l
        Standard deviation of the noise in flat areas, L*, on the print's pixels.
    present_overshoot_share
        Overshoot already in the file, share of an edge's height; it eats from the limit.

    Notes
    -----
    Acutance is linear in the gain, so each radius is solved in closed form; of the radii that
    reach the target the narrowest is taken, else the one that comes nearest. What strength
    means, and what edge height opens the gate, is read from `sharpen_plan`.

    Examples
    --------
    >>> answer = solve_strength(Chain(ppi=360, spread_mm=0.045), 500.0, surface="matte")
    >>> answer.bound_by, answer.reached >= answer.target
    ('target', True)
    """
    limits = limits or Limits()
    bare = replace(chain, gain=0.0)
    unsharpened = chain_acutance(bare, distance_mm)
    wanted = target if target is not None else _unspread(bare, distance_mm) * (1.0 + _SURPLUS)
    usual = sharpen_plan(
        wish=1.0, radius_mm=None, surface=surface, distance_mm=distance_mm, ppi=chain.ppi
    )
    halo_mm = limits.halo_mm(distance_mm)
    widest_px = max(halo_mm / HALF_HEIGHT_WIDTH / chain.pitch_mm, 0.5)
    radii = sorted({min(usual.radius_px * wider, widest_px, 8.0) for wider in _WIDER})
    budget_l = max(0.0, limits.overshoot_l - present_overshoot_share * limits.edge_l)
    leak = min(
        max((3.0 * noise_l - usual.edge_low_l) / (usual.edge_high_l - usual.edge_low_l), 0), 1
    )
    tries = [
        _most(
            replace(bare, radius_px=radius),
            distance_mm,
            unsharpened,
            wanted,
            budget_l,
            limits,
            leak,
            _HIGHEST * usual.gain,
        )
        for radius in radii
    ]
    best = next((one for one in tries if one.reached >= wanted - 1e-9), None)
    if best is None:
        best = max(tries, key=lambda one: one.reached)
        if best.chain.radius_px >= widest_px - 1e-9 and best.bound_by == "overshoot":
            best = replace(best, bound_by="halo" if len(radii) < len(_WIDER) else "overshoot")
    return _answer(best, usual.gain, wanted, unsharpened, halo_mm, distance_mm)


def _unspread(chain: Chain, distance_mm: float) -> float:
    """Acutance of the same print if ink did not spread."""
    return chain_acutance(replace(chain, spread_mm=0.0), distance_mm)


def _most(
    chain: Chain,
    distance_mm: float,
    unsharpened: float,
    wanted: float,
    budget_l: float,
    limits: Limits,
    leak: float,
    highest_gain: float,
) -> _Try:
    """The gain that reaches the target at one radius, or the first limit below it."""
    per_gain = chain_acutance(replace(chain, gain=1.0), distance_mm) - unsharpened
    profiles = _profiles(chain)
    needed = max(0.0, (wanted - unsharpened) / per_gain)
    allowed: dict[Bound, float] = {
        "nothing needed" if needed == 0.0 else "target": needed,
        "overshoot": _gain_for_overshoot(profiles, budget_l / limits.edge_l),
        "noise": (limits.noise_gain - 1.0) / leak if leak > 0.0 else np.inf,
        "highest strength": highest_gain,
    }
    bound_by = min(allowed, key=lambda name: allowed[name])
    gain = allowed[bound_by]
    return _Try(
        chain=replace(chain, gain=gain),
        reached=unsharpened + gain * per_gain,
        bound_by=bound_by,
        overshoot_l=limits.edge_l * _overshoot(profiles, gain),
        noise_gain=1.0 + gain * leak,
    )


def _profiles(chain: Chain) -> tuple[Floats, Floats]:
    """The unsharpened step beside its edge, and what sharpening adds per unit of gain."""
    x_mm = np.linspace(0.0, 8.0 * max(chain.radius_px, chain.scale) * chain.pitch_mm, 97)
    plain = edge_profile(chain, x_mm, sharpened=False)
    return plain, edge_profile(chain, x_mm, detail_only=True)


def _overshoot(profiles: tuple[Floats, Floats], gain: float) -> float:
    """Overshoot that a gain adds to a step, share of its height."""
    plain, added = profiles
    return max(0.0, float((plain + gain * added).max() - max(1.0, float(plain.max()))))


def _gain_for_overshoot(profiles: tuple[Floats, Floats], share: float) -> float:
    """Largest gain whose overshoot stays within a share of the edge's height, by halving."""
    low, high = 0.0, 16.0
    if _overshoot(profiles, high) <= share:
        return np.inf
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _overshoot(profiles, middle) <= share else (low, middle)
    return low


_BECAUSE: dict[str, str] = {
    "target": "the target is reached",
    "nothing needed": "the print is already as sharp as the original",
    "halo": "a wider halo would show at this distance",
    "overshoot": "more would put bright and dark rims along edges",
    "noise": "more would roughen flat, noisy areas",
    "highest strength": "more than the highest strength is not offered",
}


def _answer(
    best: _Try,
    usual_gain: float,
    wanted: float,
    unsharpened: float,
    halo_limit_mm: float,
    distance_mm: float,
) -> StrengthAnswer:
    """Round everything and say it."""
    chain = best.chain
    radius_mm = chain.radius_px * chain.pitch_mm
    strength = chain.gain / usual_gain
    halo_mm = HALF_HEIGHT_WIDTH * radius_mm if chain.gain > 0 else 0.0
    sentence = (
        f"Strength {strength:.2f} at a radius of {radius_mm:.2f} mm brings acutance at "
        f"{distance_mm / 10:.0f} cm from {unsharpened:.2f} to {best.reached:.2f} "
        f"(wanted {wanted:.2f}): {_BECAUSE[best.bound_by]}."
    )
    return StrengthAnswer(
        strength=round(strength, 4),
        gain=round(chain.gain, 6),
        radius_mm=round(radius_mm, 6),
        radius_px=round(chain.radius_px, 6),
        target=round(wanted, 6),
        unsharpened=round(unsharpened, 6),
        reached=round(best.reached, 6),
        bound_by=best.bound_by,
        halo_width_mm=round(halo_mm, 4),
        halo_limit_mm=round(halo_limit_mm, 4),
        overshoot_l=round(best.overshoot_l, 4),
        noise_gain=round(best.noise_gain, 4),
        sentence=sentence,
    )
