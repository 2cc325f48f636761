"""Output sharpening in numbers: how much, how wide, and where it may not act.

Takes a wish, a surface, a distance and a raster; gives a SharpenPlan. The pixels are
sharpened in pixels/. Theory: docs/theory/sharpening.md. Tests: tests/engine/test_sharpness.py.

The amounts are common practice, no source: a start, to be put right by printed ladders.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.engine.units import MM_PER_INCH

__all__ = ["FITTED", "HALF_HEIGHT_WIDTH", "SURFACES", "sharpen_plan"]

FITTED = "fitted"  # the wish that lets engine.sharpness.strength find strength and radius

# surface: (share of gain, share of radius); ink spreads more on matte paper and canvas
SURFACES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "gloss": (1.0, 1.0),
        "baryta": (1.0, 1.0),
        "satin": (1.05, 1.0),
        "matte": (1.25, 1.1),
        "canvas": (1.5, 1.3),
        "newsprint": (1.4, 1.2),
        "other": (1.1, 1.0),
    }
)

HALF_HEIGHT_WIDTH = 1.3490  # of the halo pair, in sigma: 2 * 0.6745, the normal quartile

_RADIUS_MM = 2.0 * MM_PER_INCH / 360.0  # two pixels at 360 ppi: 0.1411 mm
_RADIUS_PX = (0.5, 8.0)
_STRENGTH_MAX = 3.0
_GAIN = 0.9  # of the detail band, at strength 1 on gloss at half a metre
_OVERSHOOT_L = 5.0  # L* beyond the local range, likewise
_EDGE_L = (3.0, 9.0)  # height of an edge, L*: none below, all above
_REFERENCE_MM = 500.0


def sharpen_plan(
    *,
    wish: float | Literal["off"],
    radius_mm: float | None,
    surface: str,
    distance_mm: float,
    ppi: float,
) -> SharpenPlan:
    """Decide the output sharpening.

    Parameters
    ----------
    wish
        The strength, 1 being normal, held to 0..3; or off.
    radius_mm
        Gaussian radius on paper, mm; None takes about two pixels at 360 ppi, a little more
        on matte paper and canvas.
    surface
        A surface class of a stock; an unknown one counts as `other`.
    distance_mm
        From where the print is judged or hangs, mm.
    ppi
        Raster of the print, pixels per inch.

    Returns
    -------
    SharpenPlan
        All numbers the pixels need, and one sentence that says why.

    Raises
    ------
    ValueError
        If distance or raster are not above zero.

    Notes
    -----
    gain = 0.9 * strength * surface share * (distance / 500 mm)^(1/4), the last held to
    0.85..1.3. Common practice, no source; see docs/theory/sharpening.md.

    Examples
    --------
    >>> plan = sharpen_plan(
    ...     wish=1, radius_mm=None, surface="gloss", distance_mm=500, ppi=360
    ... )
    >>> plan.radius_px, plan.gain
    (2.0, 0.9)
    """
    if not (ppi > 0 and distance_mm > 0):
        raise ValueError("distance and ppi must be above zero")
    strength = 0.0 if wish == "off" else min(max(float(wish), 0.0), _STRENGTH_MAX)
    more, wider = SURFACES.get(surface, SURFACES["other"])
    wanted_mm = _RADIUS_MM * wider if radius_mm is None else radius_mm
    radius_px = min(max(wanted_mm * ppi / MM_PER_INCH, _RADIUS_PX[0]), _RADIUS_PX[1])
    used_mm = radius_px * MM_PER_INCH / ppi
    farther = min(max((distance_mm / _REFERENCE_MM) ** 0.25, 0.85), 1.3)
    gain = _GAIN * strength * more * farther
    return SharpenPlan(
        strength=strength,
        name="off" if wish == "off" else f"{float(wish):g}",
        radius_mm=round(used_mm, 6),
        radius_px=round(radius_px, 6),
        gain=round(gain, 6),
        halo_width_mm=round(HALF_HEIGHT_WIDTH * used_mm, 4) if strength else 0.0,
        overshoot_limit_l=round(_OVERSHOOT_L * math.sqrt(strength * more * farther), 4),
        edge_low_l=_EDGE_L[0],
        edge_high_l=_EDGE_L[1],
        reason=_reason(strength, surface, distance_mm, used_mm, wanted_mm),
    )


def _reason(
    strength: float, surface: str, distance_mm: float, used_mm: float, wanted_mm: float
) -> str:
    """Say in one sentence what was decided, and from what."""
    if strength == 0:
        return "No output sharpening was wished for."
    held = ""
    if not math.isclose(used_mm, wanted_mm, rel_tol=1e-6):
        held = f", held to {used_mm:.3f} mm because this raster can show no other"
    return (
        f"Lightness only, along edges, radius {wanted_mm:.3f} mm on paper{held}, for a "
        f"{surface} surface seen from {distance_mm:.0f} mm; it looks a little too crisp on "
        "screen and right on paper (common practice, no source)."
    )
