"""Light on the paper, and what an eye resolves at a distance.

Takes illuminance in lux, reflectance 0 to 1, distances in mm; gives cd/m2, ppi and cycles per
degree. Theory: docs/theory/viewing.md. Tests: tests/engine/test_viewing.py.
"""

from __future__ import annotations

import math

from firstsheet.engine.units import MM_PER_INCH

__all__ = [
    "cycles_per_degree",
    "illuminance_for_luminance",
    "paper_white_luminance",
    "ppi_one_arc_minute",
    "shown_share",
    "stops_between",
]

_ARC_MINUTE_RADIANS = math.radians(1.0 / 60.0)


def paper_white_luminance(illuminance_lux: float, reflectance: float) -> float:
    """Luminance of unprinted matt paper under even light, cd/m2.

    Parameters
    ----------
    illuminance_lux
        Light falling on the sheet, lux.
    reflectance
        Luminous reflectance, 0 to 1 (not per cent).

    Notes
    -----
    L = E * rho / pi, the definition of a Lambertian reflector; gloss is ignored.

    Examples
    --------
    >>> round(paper_white_luminance(500, 0.8762), 1)
    139.5
    """
    _check_above_or_at_zero(illuminance_lux, "illuminance_lux")
    _check_reflectance(reflectance)
    return illuminance_lux * reflectance / math.pi


def illuminance_for_luminance(luminance_cd_m2: float, reflectance: float) -> float:
    """Light, in lux, under which matt paper reaches a luminance such as a screen's white.

    >>> round(illuminance_for_luminance(120, 0.8762), 1)
    430.3
    """
    _check_above_or_at_zero(luminance_cd_m2, "luminance_cd_m2")
    _check_reflectance(reflectance)
    if reflectance == 0.0:
        raise ValueError("a surface without reflectance reaches no luminance")
    return luminance_cd_m2 * math.pi / reflectance


def shown_share(illuminance_lux: float, screen_white_cd_m2: float) -> float:
    """How bright a print in that light is to be shown, as a share of a screen that proofs it.

    Notes
    -----
    A proof shows a surface of reflectance rho at rho times the screen's white. Under light the
    same surface has E * rho / pi, so whatever rho is, the share is E / (pi * white): 1 where a
    perfect white is as bright as the screen's. Above 1 the screen cannot follow.

    Examples
    --------
    >>> round(shown_share(200, 120), 3)
    0.531
    """
    _check_above_or_at_zero(illuminance_lux, "illuminance_lux")
    if not screen_white_cd_m2 > 0.0:
        raise ValueError(f"screen_white_cd_m2 must be above 0, got {screen_white_cd_m2}")
    return illuminance_lux / (math.pi * screen_white_cd_m2)


def stops_between(first_luminance_cd_m2: float, second_luminance_cd_m2: float) -> float:
    """How many times the first must be doubled to reach the second; negative where brighter.

    >>> round(stops_between(42.5, 250.0), 1)
    2.6
    """
    if not (first_luminance_cd_m2 > 0.0 and second_luminance_cd_m2 > 0.0):
        raise ValueError("stops need two luminances above 0")
    return math.log2(second_luminance_cd_m2 / first_luminance_cd_m2)


def ppi_one_arc_minute(distance_mm: float) -> float:
    """Pixels per inch at which one pixel covers one arc minute, the norm of good eyesight.

    Keen eyes see up to twice that on fine line work.

    >>> round(ppi_one_arc_minute(500), 1)
    174.6
    """
    if not distance_mm > 0.0:
        raise ValueError(f"distance_mm must be above 0, got {distance_mm}")
    return MM_PER_INCH / (distance_mm * math.tan(_ARC_MINUTE_RADIANS))


def cycles_per_degree(cycles_per_mm: float, distance_mm: float) -> float:
    """Spatial frequency at the eye, small-angle form: f * d * pi / 180.

    >>> round(cycles_per_degree(5.9055, 250), 2)
    25.77
    """
    if not distance_mm > 0.0:
        raise ValueError(f"distance_mm must be above 0, got {distance_mm}")
    return cycles_per_mm * distance_mm * math.pi / 180.0


def _check_reflectance(reflectance: float) -> None:
    if not 0.0 <= reflectance <= 1.0:
        raise ValueError(f"reflectance must be 0 to 1, got {reflectance}")


def _check_above_or_at_zero(value: float, name: str) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise ValueError(f"{name} must be 0 or more, got {value}")
