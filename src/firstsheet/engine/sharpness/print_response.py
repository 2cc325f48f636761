"""How sharp a print will look, and the output sharpening that brings it there.

Takes what the file resolves, the scale and raster of the print, the surface and the distance;
gives the response of the whole chain, its acutance with and without sharpening, the distances
from which it reads as sharp, and the strength that reaches a target under limits. Frequencies
are cycles/mm on paper unless a name says otherwise. Theory: docs/theory/acutance.md.
Tests: tests/engine/test_printmtf.py.

The steps between sharp and soft are our own choice; they are named constants below.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.records import Record
from firstsheet.engine.sharpness.edge import edge_spectrum
from firstsheet.engine.sharpness.eye import (
    acutance,
    cycles_per_degree,
    cycles_per_mm,
    gaussian_mtf,
    mannos_sakrison,
    pixel_mtf,
)
from firstsheet.engine.sharpness.print_chain import Chain, file_response

__all__ = [
    "SHARP_FROM",
    "SOFT_BELOW",
    "LookAnswer",
    "chain_acutance",
    "chain_response",
    "edge_profile",
    "look",
]

Floats = NDArray[np.float64]

# Steps of acutance (Mannos-Sakrison weight), our own choice, anchored in the trade's steps for
# an ideal file at 40 cm: 180 ppi, below which the trade warns, gives 0.762; 120 ppi gives 0.56.
SHARP_FROM = 0.76
SOFT_BELOW = 0.56

_NEAREST_MM, _FARTHEST_MM = 100.0, 20000.0


def chain_response(frequency_per_mm: ArrayLike, chain: Chain, *, sharpened: bool = True) -> Floats:
    """Response of file, resampling, sharpening, raster and ink together, at a frequency on paper.

    The eye is not in it. Sharpening is what the print's pixels do to an edge of middle height
    (`sharpness.edge`); with `limit_l` None it is the unlimited filter 1 + gain (1 - G(radius)).
    """
    f = np.asarray(frequency_per_mm, dtype=np.float64)
    per_pixel = f * chain.pitch_mm
    if sharpened and chain.gain > 0.0 and chain.limit_l is not None:
        response = np.interp(per_pixel, *edge_spectrum(chain.edge_key))
    else:
        response = file_response(per_pixel, chain)
        if sharpened:
            response = response * (1.0 + chain.gain * _detail_band(per_pixel, chain.radius_px))
    return response * pixel_mtf(per_pixel) * gaussian_mtf(f, chain.spread_mm)


def _detail_band(frequency_per_pixel: Floats, radius_px: float) -> Floats:
    """What sharpening adds per unit of gain."""
    return 1.0 - gaussian_mtf(frequency_per_pixel, radius_px)


def chain_acutance(chain: Chain, distance_mm: float, *, sharpened: bool = True) -> float:
    """Acutance of the print at a distance, Mannos-Sakrison weight; 1 is a perfect print.

    >>> ideal = Chain(ppi=300)
    >>> round(chain_acutance(ideal, 400.0), 2)  # squares of file and of raster, both
    0.87
    """
    return acutance(
        lambda f: chain_response(cycles_per_mm(f, distance_mm), chain, sharpened=sharpened),
        cut_off_per_degree=float(cycles_per_degree(chain.cut_off_per_mm, distance_mm)),
        weight=mannos_sakrison,
    )


def edge_profile(
    chain: Chain, x_mm: ArrayLike, *, sharpened: bool = True, detail_only: bool = False
) -> Floats:
    """Profile of a step of height 1 after the chain, at distances from the edge.

    Parameters
    ----------
    detail_only
        Give only what sharpening adds per unit of gain.

    Notes
    -----
    s(x) = 1/2 + integral_0^fN H(f) sin(2 pi f x) / (pi f) df: the step's Fourier integral.
    """
    x = np.asarray(x_mm, dtype=np.float64)
    step = chain.cut_off_per_mm / 512.0
    f: Floats = np.linspace(0.5 * step, chain.cut_off_per_mm - 0.5 * step, 512)
    plain = chain_response(f, chain, sharpened=sharpened and not detail_only)
    if detail_only:
        plain = plain * _detail_band(f * chain.pitch_mm, chain.radius_px)
    step = chain.cut_off_per_mm / 512.0
    swing: Floats = np.sin(2 * math.pi * x[..., None] * f) @ (plain / (math.pi * f)) * step
    return swing if detail_only else 0.5 + swing


class LookAnswer(Record):
    """How sharp a print reads."""

    distance_mm: float
    acutance_plain: float  # without output sharpening
    acutance_sharpened: float
    sharp_from_mm: float | None  # nearest distance at which it reads as sharp; None: nowhere near
    soft_below_mm: float | None  # nearer than this it is soft; None: never
    sentence: str


def _distance_at(chain: Chain, level: float) -> float | None:
    """Nearest distance whose acutance reaches a level, by halving; None beyond 20 m."""
    near, far = _NEAREST_MM, _FARTHEST_MM
    if chain_acutance(chain, far) < level:
        return None
    if chain_acutance(chain, near) >= level:
        return near
    for _ in range(24):
        middle = math.sqrt(near * far)
        near, far = (near, middle) if chain_acutance(chain, middle) >= level else (middle, far)
    return far


def look(chain: Chain, distance_mm: float) -> LookAnswer:
    """Say how sharp the print reads, at the stated distance and from where on.

    >>> look(Chain(ppi=360, spread_mm=0.025), 500.0).sentence
    'Looks sharp from 29 cm; softens below 18 cm.'
    """
    sharp, soft = _distance_at(chain, SHARP_FROM), _distance_at(chain, SOFT_BELOW)
    return LookAnswer(
        distance_mm=distance_mm,
        acutance_plain=round(chain_acutance(chain, distance_mm, sharpened=False), 4),
        acutance_sharpened=round(chain_acutance(chain, distance_mm), 4),
        sharp_from_mm=None if sharp is None else round(sharp, 1),
        soft_below_mm=None if soft is None or soft <= _NEAREST_MM else round(soft, 1),
        sentence=_look_sentence(sharp, soft),
    )


def _spoken(distance_mm: float) -> str:
    """A distance as people say it."""
    if distance_mm >= 1000.0:
        return f"{distance_mm / 1000.0:.1f} m"
    return f"{distance_mm / 10.0:.0f} cm"


def _look_sentence(sharp_mm: float | None, soft_mm: float | None) -> str:
    """Two distances in one sentence."""
    if sharp_mm is None:
        return "Looks soft from any distance within a room."
    if sharp_mm <= _NEAREST_MM:
        return "Looks sharp even closer than the eye can focus."
    first = f"Looks sharp from {_spoken(sharp_mm)}"
    if soft_mm is None or soft_mm <= _NEAREST_MM:
        return f"{first}."
    return f"{first}; softens below {_spoken(soft_mm)}."
