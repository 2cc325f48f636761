"""The output sharpening that brings a print to a target sharpness, and what stops it.

Takes the chain of a print (`sharpness.print_response`), the distance, the noise and the
sharpening already in the file; gives strength, radius, what is reached, and which limit bound it.
The edge is the one the print's pixels make (`sharpness.edge`), with its gate and held overshoot.
Theory: docs/theory/acutance.md. Tests: tests/engine/test_strength.py.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.engine.records.sharpness import Bound, StrengthAnswer
from firstsheet.engine.sharpness.edge import edge_after
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.print_chain import Chain
from firstsheet.engine.sharpness.print_response import SHARP_FROM, chain_acutance
from firstsheet.engine.units import distance_words

__all__ = ["Limits", "StrengthAnswer", "sharpened_chain", "solve_strength", "wanted"]

_SURPLUS = 0.10  # beyond the unspread original: "a little too crisp on screen", our own choice
_MOST_MORE = 0.50  # what sharpening may ask beyond the original's own detail, our own choice
_WIDER: tuple[float, ...] = (1.25, 1.6, 2.0)  # radii tried, times the surface's usual one
_NARROWER: tuple[float, ...] = (0.8, 0.64, 0.5)
_STEPS = 60  # of strength, 0.05 each, up to the highest manual strength
_STEP = 3.0 / _STEPS


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What sharpening may not exceed. Our own choices, to be put right by printed ladders."""

    halo_arc_minutes: float = 2.9  # the halo pair: 0.25 mm at 30 cm, common practice, no source
    overshoot_l: float = 5.0  # L* beyond an edge of 40 L*, each side
    edge_l: float = 40.0
    noise_gain: float = 1.25  # of the noise in flat areas

    def halo_mm(self, distance_mm: float) -> float:
        """Width of halo that stays below notice at a distance, mm."""
        return float(distance_mm * np.tan(np.radians(self.halo_arc_minutes / 60.0)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Aim:
    """What is wanted, and what is allowed."""

    chain: Chain
    distance_mm: float
    surface: str
    target: float
    halo_mm: float
    overshoot_l: float
    noise_l: float
    noise_gain: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Try:
    """One radius with the most strength it may have."""

    chain: Chain
    strength: float
    reached: float
    bound_by: Bound


def sharpened_chain(chain: Chain, plan: SharpenPlan) -> Chain:
    """The chain with the sharpening of a plan in it."""
    return replace(
        chain,
        gain=plan.gain,
        radius_px=plan.radius_px,
        limit_l=plan.overshoot_limit_l,
        gate_l=(plan.edge_low_l, plan.edge_high_l),
    )


def wanted(chain: Chain, distance_mm: float) -> float:
    """Acutance a print is to have: its unspread original's and a tenth, or simply sharp.

    Notes
    -----
    max(1.1 A, min(0.76, 1.5 A)), A being the acutance of the same print if ink did not spread.
    The second part asks a soft file to read as sharp, but never for more than half as much
    again as it holds: sharpening brings out detail, it does not make any.

    Examples
    --------
    >>> round(wanted(Chain(ppi=360), 400.0), 2)  # an ideal file: a tenth more
    0.99
    """
    unspread = chain_acutance(replace(chain, gain=0.0, spread_mm=0.0), distance_mm)
    sharp = min(SHARP_FROM, (1.0 + _MOST_MORE) * unspread)
    return max((1.0 + _SURPLUS) * unspread, sharp)


@lru_cache(maxsize=256)
def solve_strength(
    chain: Chain,
    distance_mm: float,
    *,
    surface: str = "other",
    target: float | None = None,
    noise_l: float = 0.0,
    present_overshoot_share: float = 0.0,
    radius_mm: float | None = None,
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
        A surface class of `engine.sharpness.output`; decides radius and what strength 1 means.
    target
        Acutance wanted; None takes `wanted`.
    noise_l
        Standard deviation of the noise in flat areas, L*, on the print's pixels.
    present_overshoot_share
        Overshoot already in the file, share of an edge's height; it eats from the limit.
    radius_mm
        Keep this radius; None lets it be found.

    Notes
    -----
    Strengths in steps of 0.05, by halving. The surface's usual radius first; where it does not
    reach, wider ones, or narrower ones where the width of its halo was what stopped it.

    Examples
    --------
    >>> answer = solve_strength(Chain(ppi=360, spread_mm=0.045), 600.0, surface="matte")
    >>> answer.bound_by, answer.reached >= answer.target
    ('target', True)
    """
    limits = limits or Limits()
    bare = replace(chain, gain=0.0)
    aim = _Aim(
        chain=bare,
        distance_mm=distance_mm,
        surface=surface,
        target=target if target is not None else wanted(bare, distance_mm),
        halo_mm=limits.halo_mm(distance_mm),
        overshoot_l=max(0.0, limits.overshoot_l - present_overshoot_share * limits.edge_l),
        noise_l=noise_l,
        noise_gain=limits.noise_gain,
    )
    unsharpened = chain_acutance(bare, distance_mm)
    usual_mm = _plan(aim, 1.0, radius_mm).radius_mm
    best = _most(aim, usual_mm)
    more = _NARROWER if best.bound_by == "halo" else _WIDER
    if radius_mm is not None:
        more = ()
    for times in more:
        if best.bound_by in ("target", "nothing needed"):
            break
        one = _most(aim, usual_mm * times)
        better = one.reached > best.reached + 1e-4
        if better:
            best = one
        elif one.bound_by != "halo":
            break
    return _answer(aim, best, unsharpened)


def _plan(aim: _Aim, strength: float, radius_mm: float | None) -> SharpenPlan:
    return sharpen_plan(
        wish=strength,
        radius_mm=radius_mm,
        surface=aim.surface,
        distance_mm=aim.distance_mm,
        ppi=aim.chain.ppi,
    )


def _chain(aim: _Aim, steps: int, radius_mm: float) -> Chain:
    return sharpened_chain(aim.chain, _plan(aim, steps * _STEP, radius_mm))


def _noise_gain(aim: _Aim, chain: Chain) -> float:
    """Growth of noise in flat areas: three sigma of it against the gate for edges."""
    low, high = chain.gate_l
    leak = min(max((3.0 * aim.noise_l - low) / (high - low), 0.0), 1.0)
    return 1.0 + chain.gain * leak


def _stopped_by(aim: _Aim, chain: Chain) -> Bound | None:
    """The first limit a sharpening breaks; None where it keeps them all."""
    if _noise_gain(aim, chain) > aim.noise_gain:
        return "noise"
    after = edge_after(chain.edge_key)
    if after.overshoot_l > aim.overshoot_l:
        return "overshoot"
    if after.halo_px * chain.pitch_mm > aim.halo_mm:
        return "halo"
    return None


def _most(aim: _Aim, radius_mm: float) -> _Try:
    """The least strength that reaches the target at one radius, or the most that is allowed."""

    def reached(steps: int) -> float:
        return chain_acutance(_chain(aim, steps, radius_mm), aim.distance_mm)

    allowed, broken = 0, _STEPS + 1
    bound: Bound = "highest strength"
    while broken - allowed > 1:
        middle = (allowed + broken) // 2
        stop = _stopped_by(aim, _chain(aim, middle, radius_mm))
        allowed, broken, bound = (
            (middle, broken, bound) if stop is None else (allowed, middle, stop)
        )
    steps = allowed
    if reached(0) >= aim.target:
        steps, bound = 0, "nothing needed"
    elif reached(allowed) >= aim.target:
        bound, low = "target", 0
        while steps - low > 1:
            middle = (low + steps) // 2
            low, steps = (low, middle) if reached(middle) >= aim.target else (middle, steps)
    return _Try(
        chain=_chain(aim, steps, radius_mm),
        strength=steps * _STEP,
        reached=reached(steps),
        bound_by=bound,
    )


_BECAUSE: dict[str, str] = {
    "target": "as wanted",
    "nothing needed": "the print is as sharp as wanted without any",
    "halo": "rims wider than that would show from there",
    "overshoot": "more would put bright and dark rims along edges",
    "noise": "more would roughen flat, noisy areas",
    "highest strength": "more than the highest strength is not offered",
}


def _answer(aim: _Aim, best: _Try, unsharpened: float) -> StrengthAnswer:
    """Round everything and say it."""
    chain = best.chain
    radius_mm = chain.radius_px * chain.pitch_mm
    after = edge_after(chain.edge_key) if chain.gain > 0.0 else None
    halo_mm = after.halo_px * chain.pitch_mm if after else 0.0
    sentence = (
        f"Strength {best.strength:.2f} at a radius of {radius_mm:.2f} mm brings sharpness from "
        f"{distance_words(aim.distance_mm)} from {unsharpened:.2f} to {best.reached:.2f} "
        f"({aim.target:.2f} wanted): {_BECAUSE[best.bound_by]}."
    )
    return StrengthAnswer(
        strength=round(best.strength, 4),
        gain=round(chain.gain, 6),
        radius_mm=round(radius_mm, 6),
        radius_px=round(chain.radius_px, 6),
        target=round(aim.target, 6),
        unsharpened=round(unsharpened, 6),
        reached=round(best.reached, 6),
        bound_by=best.bound_by,
        halo_width_mm=round(halo_mm, 4),
        halo_limit_mm=round(aim.halo_mm, 4),
        overshoot_l=round(after.overshoot_l, 4) if after else 0.0,
        noise_gain=round(_noise_gain(aim, chain), 4),
        sentence=sentence,
    )
