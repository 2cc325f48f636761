"""Halos already in a file, as they will lie on paper.

Takes HaloFacts, the scale and raster of the print; gives HaloOnPrint.
Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_halo.py.
"""

from __future__ import annotations

import math
from typing import Final

from firstsheet.engine.records.detail import HaloFacts
from firstsheet.engine.records.sharpness import HaloOnPrint
from firstsheet.engine.units import MM_PER_INCH

__all__ = ["halo_on_print"]

_PAIR_ARC_MINUTES: Final = 2.9


def halo_on_print(
    facts: HaloFacts, *, scale: float, ppi: float, distance_mm: float
) -> HaloOnPrint | None:
    """Carry the rims onto paper; None where there are none.

    A pair of rims wider than about 2.9 arc minutes (0.25 mm at 30 cm) is told from its edge:
    common practice, no source.
    """
    if facts.width_px is None or facts.overshoot_percent is None:
        return None
    width_mm = facts.width_px * scale * MM_PER_INCH / ppi
    visible_mm = width_mm / math.tan(math.radians(_PAIR_ARC_MINUTES / 60.0))
    seen = "visible" if visible_mm >= distance_mm else "not visible"
    advice = "; use less output sharpening or get an unsharpened scan" if seen == "visible" else ""
    return HaloOnPrint(
        width_mm=round(width_mm, 3),
        visible_from_mm=round(visible_mm, 0),
        sentence=(
            f"Sharpened already: {facts.overshoot_percent:.0f} % overshoot, {width_mm:.2f} mm at "
            f"this size, {seen} from {distance_mm / 10:.0f} cm{advice}."
        ),
    )
