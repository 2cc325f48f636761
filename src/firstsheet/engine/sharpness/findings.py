"""What is said of how sharp a print will look: from where, of grain, of rims already there.

Takes the look and the sharpening of a plan; gives findings. Theory: docs/theory/acutance.md.
Tests: tests/engine/test_looks.py.
"""

from __future__ import annotations

import math

from firstsheet.engine.findings import PRACTICE, choice, finding, shown
from firstsheet.engine.records import Choice, Finding, Ticket
from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.engine.records.sharpness import LookPlan
from firstsheet.engine.sharpness.output import FITTED
from firstsheet.engine.sharpness.print_response import SHARP_FROM, SOFT_BELOW
from firstsheet.engine.units import distance_words, plain_number

__all__ = ["BOUND_WORDS", "look_findings"]

BOUND_WORDS = {
    "target": "the sharpness wanted is reached",
    "nothing needed": "none is needed",
    "halo": "wider halos would show from there",
    "overshoot": "more would put bright and dark halos along edges",
    "noise": "more would roughen flat areas",
    "highest strength": "more than the highest strength is not offered",
}
_FARTHEST_MM = 10_000.0  # to stand farther off is no advice
_WORTH = 0.05  # of acutance: less is not worth a choice
_GRAIN_PLAIN = 4.0  # times the eye's threshold from which grain is plain, not only seen
_SOURCE = (
    "acutance with the eye after Mannos and Sakrison (1974); ink spread assumed from the surface; "
    "docs/theory/acutance.md"
)


def look_findings(
    ticket: Ticket, sharp: SharpenPlan, look: LookPlan | None, detail: DetailFacts | None
) -> tuple[Finding, ...]:
    """How sharp it will look, and what stands in the way."""
    if look is None or detail is None:
        return ()
    return (
        *_sharpness(ticket, sharp, look),
        *_not_told(ticket, look),
        *_already_sharpened(sharp, look, detail),
        *_grain(look),
    )


def _sharpness(ticket: Ticket, sharp: SharpenPlan, look: LookPlan) -> tuple[Finding, ...]:
    here = look.acutance_sharpened
    if look.basis == "pixels" and here >= SOFT_BELOW:
        return ()
    soft = here < SOFT_BELOW
    away = distance_words(look.distance_mm)
    word = "sharp" if here >= SHARP_FROM else "soft" if soft else "neither sharp nor soft"
    said = (
        f"From {away} it looks {word}: sharpness {shown('sharpness', f'{here:.2f}')}, target "
        f"{shown('sharpness-wanted', f'{look.target:.2f}')}, 1 being a perfect print."
    )
    return (
        finding(
            "look-soft" if soft else "look",
            "caution" if soft else "fine",
            look.sentence,
            said,
            *_ways(ticket, sharp, look, soft=soft),
            source=_SOURCE,
            figures={
                "acutance_plain": look.acutance_plain,
                "acutance_sharpened": here,
                "acutance_wanted": look.target,
                "ink_spread_mm": look.spread_mm,
            },
        ),
    )


def _ways(ticket: Ticket, sharp: SharpenPlan, look: LookPlan, *, soft: bool) -> list[Choice]:
    """What can be chosen."""
    choices: list[Choice] = []
    fitted = look.fitted
    if fitted is not None and ticket.detail.sharpen not in (FITTED, "off"):
        gain = fitted.reached - look.acutance_sharpened
        if abs(gain) >= _WORTH and not _alike(fitted.strength, sharp.strength):
            stronger = "stronger" if fitted.strength > sharp.strength else "weaker"
            choices.append(
                choice(
                    f"Use fitted sharpening: {stronger}, strength {fitted.strength:.2f} "
                    f"(sharpness {fitted.reached:.2f}; {BOUND_WORDS[fitted.bound_by]}).",
                    {"detail.sharpen": FITTED},
                )
            )
    if soft and look.sharp_from_mm is not None and look.sharp_from_mm <= _FARTHEST_MM:
        from_cm = math.ceil(look.sharp_from_mm / 50.0) * 5.0
        choices.append(
            choice(
                f"Hang it where one stands {distance_words(10 * from_cm)} away.",
                {"place.distance": f"{plain_number(from_cm)} cm"},
            )
        )
    if soft:
        choices.append(choice("Print it smaller."))
    return choices


def _alike(one: float, other: float) -> bool:
    return abs(one - other) < 0.1


def _not_told(ticket: Ticket, look: LookPlan) -> tuple[Finding, ...]:
    if ticket.detail.sharpen != FITTED or look.fitted is not None:
        return ()
    return (
        finding(
            "fitted-cannot-be-told",
            "caution",
            "The picture shows too few clear edges to tell how sharp it is.",
            "The sharpening cannot be fitted to it; the usual one is taken.",
            "Leave it so.",
            choice("Print five strengths side by side and choose by eye.", goes_to="test-strips"),
            source="docs/theory/acutance.md",
        ),
    )


def _already_sharpened(
    sharp: SharpenPlan, look: LookPlan, detail: DetailFacts
) -> tuple[Finding, ...]:
    halo = look.file_halo
    if halo is None or detail.halo.told not in ("slight", "clear"):
        return ()
    visible = halo.visible_from_mm >= look.distance_mm
    if detail.halo.told == "slight" and not look.eased and not visible:
        return ()
    over = 0.5 * ((detail.halo.overshoot_percent or 0.0) + (detail.halo.undershoot_percent or 0.0))
    seen = "visible" if visible else "not visible"
    kept = sharp.strength
    if look.eased:
        follows = (
            f"Halos add up, so the output sharpening is eased from {look.wished_strength:.2f} to "
            f"{kept:.2f}."
        )
    elif kept == 0.0:
        follows = "No output sharpening is added to it."
    else:
        follows = f"Output sharpening of {kept:.2f} comes on top of it."
    choices = [choice("Get a scan or an export without sharpening.")]
    if look.eased:
        strength = plain_number(look.wished_strength, 2)
        choices.append(choice(f"Keep the full strength, {strength}.", {"detail.sharpen": strength}))
    elif kept > 0.0 and visible:
        choices.append(choice("Turn output sharpening off.", {"detail.sharpen": "off"}))
    return (
        finding(
            "sharpened-already",
            "caution" if visible or look.eased else "fine",
            f"The file is sharpened already: {over:.0f} % overshoot along its edges, halos of "
            f"{halo.width_mm:.2f} mm at this size, {seen} from "
            f"{distance_words(look.distance_mm)}.",
            follows,
            *choices,
            source=f"measured from edges of the picture; halos wider than 2.9 arc minutes are "
            f"noticed ({PRACTICE})",
            figures={
                "overshoot_percent": over,
                "halo_mm": halo.width_mm,
                "visible_from_mm": halo.visible_from_mm,
                "strength": kept,
            },
        ),
    )


def _grain(look: LookPlan) -> tuple[Finding, ...]:
    grain = look.grain
    if grain is None or not grain.visible:
        return ()
    plain = grain.times_threshold >= _GRAIN_PLAIN
    word = "plainly seen" if plain else "just seen"
    return (
        finding(
            "grain-seen",
            "fine",
            grain.sentence,
            f"From {distance_words(look.distance_mm)} it is {word}: {grain.sigma_l:.1f} L* on the "
            f"print, {grain.times_threshold:.1f} times what the eye can just see.",
            source="Barten's contrast sensitivity (1999); docs/theory/true-detail.md",
            figures={
                "sigma_l": grain.sigma_l,
                "size_mm": grain.size_mm,
                "times_threshold": grain.times_threshold,
            },
        ),
    )
