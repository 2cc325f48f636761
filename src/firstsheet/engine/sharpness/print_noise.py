"""Grain on the print: how large, how strong, and from how far it is seen.

Takes NoiseFacts, the scale and raster of the print; gives PrintNoise. The eye is Barten's
absolute contrast sensitivity, one channel per octave. Theory: docs/theory/true-detail.md.
Tests: tests/engine/detail/test_noise.py.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.grain import RADII_CPP
from firstsheet.engine.records.detail import NoiseFacts
from firstsheet.engine.records.sharpness import PrintNoise
from firstsheet.engine.sharpness.eye import (
    barten_sensitivity,
    cycles_per_degree,
    cycles_per_mm,
    gaussian_mtf,
    pixel_mtf,
    retinal_illuminance_trolands,
)
from firstsheet.engine.units import MM_PER_INCH

__all__ = ["print_noise", "visible_ratio"]

Floats = NDArray[np.float64]

_CHANNELS: Final = (1.0, 2.0, 4.0, 8.0, 16.0)  # c/deg, middles of one-octave channels
_MARGIN: Final = 2.0  # noise is called visible at this many thresholds; our own choice
_NEAREST_MM, _FARTHEST_MM = 150.0, 10000.0


def print_noise(
    facts: NoiseFacts,
    *,
    scale: float,
    ppi: float,
    distance_mm: float,
    spread_mm: float = 0.03,
    illuminance_lux: float = 500.0,
) -> PrintNoise | None:
    """Carry measured noise through reduction or enlargement onto paper, and look at it.

    Parameters
    ----------
    facts
        From `noise_facts`; None comes back where nothing was measured.
    scale
        Print pixels per file pixel; below 1 the noise above the new limit is lost.
    spread_mm
        Gaussian sigma of the ink, an assumption until measured.
    """
    if facts.sigma_l is None or facts.lightness is None or facts.size_px is None:
        return None
    print_mm = MM_PER_INCH / ppi
    file_mm = print_mm * scale
    limit_cpp = min(0.5, 0.5 * scale)
    power = np.asarray(facts.power)
    kept = _integral(power, RADII_CPP, 0.0, limit_cpp)
    whole = _integral(power, RADII_CPP, 0.0, 0.5)
    size_mm = max(facts.size_px * file_mm, print_mm)

    def ratio(at_mm: float) -> float:
        return visible_ratio(
            power,
            file_mm=file_mm,
            print_mm=print_mm,
            lightness=facts.lightness or 50.0,
            distance_mm=at_mm,
            spread_mm=spread_mm,
            illuminance_lux=illuminance_lux,
        )

    here = ratio(distance_mm)
    gone = _gone_from(ratio)
    return PrintNoise(
        sigma_l=round(facts.sigma_l * math.sqrt(kept / whole), 3),
        size_mm=round(size_mm, 3),
        distance_mm=distance_mm,
        visible=here >= _MARGIN,
        times_threshold=round(here, 2),
        gone_from_mm=None if gone is None else round(gone, 0),
        sentence=_sentence(size_mm, gone),
    )


def _integral(power: Floats, radii: Floats, low: float, high: float) -> float:
    """Variance between two frequencies: integral of 2 pi f P(f) df."""
    f = np.linspace(low, high, 257)
    return float(np.trapezoid(2 * math.pi * f * np.interp(f, radii, power), f))


def visible_ratio(
    power: Floats,
    *,
    file_mm: float,
    print_mm: float,
    lightness: float,
    distance_mm: float,
    spread_mm: float,
    illuminance_lux: float,
    channels_per_degree: tuple[float, ...] = _CHANNELS,
) -> float:
    """Contrast of the noise over the eye's threshold, in its most sensitive octave.

    Notes
    -----
    dL* = (L* + 16)/3 dlnY turns lightness into contrast. A sine of modulation m has an rms of
    m / sqrt 2, so the threshold of a channel is 1 / (sqrt 2 S(f)); S after Barten 1999 at the
    paper's luminance. Channels an octave wide: from memory, common in vision science.
    """
    luminance = illuminance_lux * ((lightness + 16.0) / 116.0) ** 3 / math.pi
    trolands = retinal_illuminance_trolands(max(luminance, 1.0), 2.5)
    contrast = 3.0 / (lightness + 16.0)
    limit_per_mm = 0.5 / max(file_mm, print_mm)
    best = 0.0
    for middle in channels_per_degree:
        edges = cycles_per_mm([middle / math.sqrt(2), middle * math.sqrt(2)], distance_mm)
        low, high = float(edges[0]), min(float(edges[1]), limit_per_mm)
        if low >= high:
            continue
        f = np.linspace(low, high, 33)
        density = np.interp(f * file_mm, RADII_CPP, power) * file_mm**2
        passed = (pixel_mtf(f * print_mm) * gaussian_mtf(f, spread_mm)) ** 2
        rms = math.sqrt(float(np.trapezoid(2 * math.pi * f * density * passed, f)))
        u = float(cycles_per_degree(math.sqrt(low * high), distance_mm))
        sensitivity = float(barten_sensitivity(u, retinal_trolands=trolands, pupil_mm=2.5))
        best = max(best, contrast * rms * math.sqrt(2.0) * sensitivity)
    return best


def _gone_from(ratio: object) -> float | None:
    """Distance beyond which the ratio stays below the margin."""
    assert callable(ratio)
    near, far = _NEAREST_MM, _FARTHEST_MM
    if ratio(far) >= _MARGIN:
        return None
    distances = np.geomspace(near, far, 40)
    seen = [float(at) for at in distances if ratio(float(at)) >= _MARGIN]
    if not seen:
        return near
    low, high = seen[-1], min(far, seen[-1] * float(distances[1] / distances[0]))
    for _ in range(16):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if ratio(middle) >= _MARGIN else (low, middle)
    return high


def _sentence(size_mm: float, gone_mm: float | None) -> str:
    """Say it."""
    kind = "fine" if size_mm < 0.15 else "medium" if size_mm < 0.4 else "coarse"
    said = f"{kind.capitalize()} grain, {size_mm:.2f} mm on the print"
    if gone_mm is None:
        return f"{said}, seen even from 10 m."
    if gone_mm <= _NEAREST_MM:
        return f"{said}, not seen at any distance."
    far = f"{gone_mm / 1000:.1f} m" if gone_mm >= 1000 else f"{gone_mm / 10:.0f} cm"
    return f"{said}, not visible beyond {far}."
