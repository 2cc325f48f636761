"""A plan's look in labelled lines, for the command line and the job sheet.

Takes LookPlan and SharpenPlan; gives pairs of label and words. Tests:
tests/engine/test_explain_look.py.
"""

from __future__ import annotations

from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.engine.records.sharpness import LookPlan
from firstsheet.engine.sharpness.findings import BOUND_WORDS
from firstsheet.engine.sharpness.output import FITTED
from firstsheet.engine.units import distance_words

__all__ = ["look_rows"]


def look_rows(look: LookPlan, sharp: SharpenPlan) -> tuple[tuple[str, str], ...]:
    """How sharp it looks first, then the sharpening that fits, grain, and halos in the file."""
    away = distance_words(look.distance_mm)
    rows = [
        (
            "Looks",
            f"{look.sentence} From {away}: {look.acutance_sharpened:.2f} of a perfect print, "
            f"{look.acutance_plain:.2f} without sharpening, {look.target:.2f} wanted",
        ),
        (
            "Halos",
            f"{look.halo_mm:.2f} mm along edges, noticed from there above "
            f"{look.halo_limit_mm:.2f} mm; {look.overshoot_l:.1f} L* high",
        ),
    ]
    fitted = look.fitted
    if fitted is not None and sharp.name == FITTED:
        rows.append(("Fitted", f"to {fitted.reached:.2f}: {BOUND_WORDS[fitted.bound_by]}"))
    elif fitted is not None:
        rows.append(
            (
                "Fitted would be",
                f"strength {fitted.strength:.2f}, radius {fitted.radius_mm:.3f} mm: "
                f"{fitted.reached:.2f}; {BOUND_WORDS[fitted.bound_by]}",
            )
        )
    if look.grain is not None:
        rows.append(("Grain", look.grain.sentence))
    if look.file_halo is not None:
        rows.append(("In the file", look.file_halo.sentence))
    return tuple(rows)
