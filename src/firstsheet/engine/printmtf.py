"""How sharp a print will look, and the output sharpening that brings it there.

Takes what the file resolves, the scale and raster of the print, the surface and the distance;
gives the response of the whole chain, its acutance with and without sharpening, the distances
from which it reads as sharp, and the strength that reaches a target under limits. Frequencies
are cycles/mm on paper unless a name says otherwise. Theory: docs/theory/acutance.md.
Tests: tests/engine/test_printmtf.py.

The ink spread of each surface is an assumption until a print was measured, and the steps
between sharp and soft are our own choice; both are parameters or named constants below.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.edgesharp import edge_spectrum
from firstsheet.engine.eye import (
    acutance,
    cycles_per_degree,
    cycles_per_mm,
    gaussian_mtf,
    mannos_sakrison,
    pixel_mtf,
)
from firstsheet.engine.records import Record
from firstsheet.engine.resampling import KERNELS
from firstsheet.engine.units import MM_PER_INCH

__all__ = [
    "INK_SPREAD_MM",
    "SHARP_FROM",
    "SOFT_BELOW",
    "Chain",
    "LookAnswer",
    "MtfShape",
    "chain_acutance",
    "chain_response",
    "edge_profile",
    "file_response",
    "kernel_response",
    "look",
    "shape_response",
]

Floats = NDArray[np.float64]

# Gaussian sigma of the spread of ink in the coating, mm: an assumption, no source; a printed
# target will replace it. Ordered as the trade orders papers: gloss holds most, canvas least.
INK_SPREAD_MM: Mapping[str, float] = MappingProxyType(
    {
        "gloss": 0.025,
        "baryta": 0.028,
        "satin": 0.030,
        "matte": 0.045,
        "canvas": 0.070,
        "newsprint": 0.080,
        "other": 0.040,
    }
)

# Steps of acutance (Mannos-Sakrison weight), our own choice, anchored in the trade's steps for
# an ideal file at 40 cm: 180 ppi, below which the trade warns, gives 0.762; 120 ppi gives 0.56.
SHARP_FROM = 0.76
SOFT_BELOW = 0.56

_NEAREST_MM, _FARTHEST_MM = 100.0, 20000.0


class MtfShape(Record):
    """How a response falls: where it is a half and a tenth, in cycles per file pixel."""

    half_cpp: float
    tenth_cpp: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Everything between the file's pixels and the eye, except the distance."""

    shape: MtfShape | None = None  # None: an ideal file, limited by its square pixels
    scale: float = 1.0  # print pixels per file pixel
    ppi: float = 360.0  # raster of the print file
    kernel: str = "catmull-rom"  # a name from engine.resampling.KERNELS
    spread_mm: float = 0.0  # Gaussian sigma of the ink
    gain: float = 0.0  # of the detail band, as in SharpenPlan
    radius_px: float = 2.0  # Gaussian sigma on the print raster
    limit_l: float | None = None  # of overshoot, L*, as in SharpenPlan; None: an unlimited filter
    gate_l: tuple[float, float] = (3.0, 9.0)  # height of an edge: none below, all above

    @property
    def pitch_mm(self) -> float:
        """Side of a print pixel."""
        return MM_PER_INCH / self.ppi

    @property
    def edge_key(self) -> Chain:
        """What a sharpened edge depends on: without ink, and without the raster's fineness."""
        return replace(self, spread_mm=0.0, ppi=360.0)

    @property
    def cut_off_per_mm(self) -> float:
        """The lower of the two Nyquist frequencies, of file and of raster."""
        return 0.5 / (self.pitch_mm * max(1.0, self.scale))


def shape_response(frequency_cpp: ArrayLike, shape: MtfShape | None) -> Floats:
    """Response of a file at a frequency in cycles per file pixel.

    Notes
    -----
    exp(-(f/fc)^p) through the two measured points; a Gaussian has p = 2. None gives the sinc
    of a square pixel. Where both points agree with no finite p, p is held to 1..8.

    Examples
    --------
    >>> shape_response([0.0, 0.1, 0.2], MtfShape(half_cpp=0.1, tenth_cpp=0.2)).round(3)
    array([1. , 0.5, 0.1])
    """
    f = np.asarray(frequency_cpp, dtype=np.float64)
    if shape is None:
        return pixel_mtf(f)
    ratio = max(shape.tenth_cpp / shape.half_cpp, 1.01)
    power = min(max(math.log(math.log(10.0) / math.log(2.0)) / math.log(ratio), 1.0), 8.0)
    fc = shape.half_cpp / math.log(2.0) ** (1.0 / power)
    response: Floats = np.exp(-((f / fc) ** power))
    return response


@lru_cache(maxsize=16)
def _kernel_table(name: str) -> Floats:
    """Response of a kernel at 0, 1/256 ... 1 cycles/sample, by numerical integration."""
    kernel = KERNELS[name]
    count = int(kernel.support * 256)
    middles = np.linspace(0.0, kernel.support, count, endpoint=False) + 0.5 / 256.0
    heights = kernel.function(middles)
    f = np.linspace(0.0, 1.0, 257)
    table: Floats = np.cos(2 * math.pi * np.outer(f, middles)) @ heights
    table /= table[0]
    table.setflags(write=False)
    return table


def kernel_response(frequency_per_sample: ArrayLike, kernel: str = "catmull-rom") -> Floats:
    """Response of an interpolation kernel, 0 to 1 cycles/sample (held beyond).

    >>> kernel_response([0.25, 0.5]).round(3)
    array([0.939, 0.493])
    """
    f = np.asarray(frequency_per_sample, dtype=np.float64)
    return np.interp(f, np.linspace(0.0, 1.0, 257), _kernel_table(kernel))


def chain_response(frequency_per_mm: ArrayLike, chain: Chain, *, sharpened: bool = True) -> Floats:
    """Response of file, resampling, sharpening, raster and ink together, at a frequency on paper.

    The eye is not in it. Sharpening is what the print's pixels do to an edge of middle height
    (engine.edgesharp); with `limit_l` None it is the unlimited filter 1 + gain (1 - G(radius)).
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


def file_response(frequency_per_pixel: ArrayLike, chain: Chain) -> Floats:
    """Response of file and resampling, at a frequency in cycles per print pixel."""
    per_pixel = np.asarray(frequency_per_pixel, dtype=np.float64)
    response = shape_response(per_pixel * chain.scale, chain.shape)
    if chain.scale != 1.0:
        response = response * kernel_response(per_pixel * max(1.0, chain.scale), chain.kernel)
    return response


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
    'Reads as sharp from 29 cm on; soft closer than 18 cm.'
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
        return "Reads as soft from any distance within a room."
    if sharp_mm <= _NEAREST_MM:
        return "Reads as sharp even when held closer than the eye can focus."
    first = f"Reads as sharp from {_spoken(sharp_mm)} on"
    if soft_mm is None or soft_mm <= _NEAREST_MM:
        return f"{first}."
    return f"{first}; soft closer than {_spoken(soft_mm)}."
