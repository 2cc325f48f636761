"""Grain and noise: how strong, how coarse, and what their spectrum says of scanner and resampling.

Takes even tiles of lightness; gives NoiseFacts. Grain is nearly white before the scanner sees
it, so the spectrum of an even area shows the response of what came after: scanner, reduction,
enlargement. Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_grain.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.survey import Tile
from firstsheet.engine.records.detail import NoiseFacts

__all__ = ["RADII_CPP", "SpectrumFit", "fit_spectrum", "noise_facts", "radial_power"]

Floats = NDArray[np.float64]

_STEP: Final = 1.0 / 64.0
RADII_CPP: Final[Floats] = np.linspace(_STEP, 31 * _STEP, 31)  # middles of the rings, cycles/pixel
RADII_CPP.setflags(write=False)

_LEAST_SIGMA_L: Final = 0.05  # below: nothing to measure
_LEAST_LEVELS: Final = 8  # different values in a tile; fewer is quantisation, not noise
_MOST_EQUAL: Final = 0.6  # share of neighbours with the very same value; above: flat runs
_LEAST_TILES: Final = 3
_TEXTURE: Final = 3.5  # power at 0.04 over that at 0.09 cycles/pixel: more is drawing, not noise
_ALIKE: Final = 1.5  # times the quieter tiles' sigma ...
_PASSING: Final = 0.35  # ... of such tiles at least this share must be noise
_UNLIKE: Final = 2.5  # times the quieter tiles' sigma: more is drawing too
_WHITE: Final = 0.5  # floor share above which the noise is as fine as the pixels
_PATCHY: Final = 2.4  # ratio of the noise between quarters of a tile
_MOST_SIGMA_L: Final = 7.0  # more is drawing: pushed fast film scanned fine gives about 6
_HEAVY: Final = 0.6  # excess kurtosis; grain is near 0, drawing has rare strong marks
_SKEW: Final = 0.35  # likewise
_POWERS: Final = (1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 6.0)
_RADII_FITTED: Final[Floats] = np.geomspace(0.04, 1.5, 146)


@dataclass(frozen=True, slots=True)
class SpectrumFit:
    """P(f) = height exp(-2 (f / fc)^power) + floor."""

    height: float
    fc_cpp: float
    power: float
    floor: float
    misfit: float  # rms of ln(measured / fitted)

    def crossing_cpp(self, level: float) -> float:
        """Frequency at which the response, the root of the power, falls to a level."""
        return float(self.fc_cpp * math.log(1.0 / level) ** (1.0 / self.power))


def radial_power(square: NDArray[np.floating]) -> Floats:
    """Noise power of a square at `RADII_CPP`, after taking a curved surface away.

    Notes
    -----
    Hann window; scaled so that the integral over the frequency plane is the variance (white
    noise of variance v has power v everywhere, in units of value^2 pixel^2).
    """
    plane = np.asarray(square, dtype=np.float64)
    side = plane.shape[0]
    plane = plane - _surface(plane)
    window = np.hanning(side)[:, None] * np.hanning(side)[None, :]
    power = np.abs(np.fft.rfft2(plane * window)) ** 2 / (window**2).sum()
    radius = np.hypot(np.fft.fftfreq(side)[:, None], np.fft.rfftfreq(side)[None, :])
    ring = np.rint(radius / _STEP).astype(int)
    inside = (ring >= 1) & (ring <= RADII_CPP.size)
    total = np.bincount(ring[inside], power[inside], RADII_CPP.size + 1)
    count = np.bincount(ring[inside], minlength=RADII_CPP.size + 1)
    return np.asarray((total / np.maximum(count, 1))[1:], dtype=np.float64)


def _surface(plane: Floats) -> Floats:
    """Least-squares surface of second degree."""
    ramp = np.linspace(-1.0, 1.0, plane.shape[0])
    y, x = np.meshgrid(ramp, ramp, indexing="ij")
    terms = np.stack([np.ones_like(x), x, y, x * y, x * x, y * y]).reshape(6, -1)
    fitted = np.linalg.solve(terms @ terms.T, terms @ plane.ravel())
    return np.asarray((fitted @ terms).reshape(plane.shape), dtype=np.float64)


def fit_spectrum(power: Floats) -> SpectrumFit:
    """Fit a falling response and a white floor to a noise spectrum.

    Notes
    -----
    Every pair of fc and exponent of a grid is tried; height and floor follow by weighted least
    squares, neither below zero; the best by squared logarithm wins. exponent 2 is a Gaussian.
    """
    values = np.maximum(np.asarray(power, dtype=np.float64), 1e-12)
    rings = np.sqrt(RADII_CPP)  # a ring holds the more samples the larger it is
    rings = rings / rings.sum()
    exponents, fcs = (grid.ravel() for grid in np.meshgrid(_POWERS, _RADII_FITTED, indexing="ij"))
    shapes = np.exp(-2.0 * (RADII_CPP[None, :] / fcs[:, None]) ** exponents[:, None])
    heights, floors = _two_parts(shapes / values, 1.0 / values, rings)
    fitted = heights[:, None] * shapes + floors[:, None]
    misfits = np.sqrt(np.log(values / np.maximum(fitted, 1e-30)) ** 2 @ rings)
    best = int(misfits.argmin())
    return SpectrumFit(
        float(heights[best]),
        float(fcs[best]),
        float(exponents[best]),
        float(floors[best]),
        float(misfits[best]),
    )


def _two_parts(first: Floats, second: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Non-negative a, b per row with a * first + b * second nearest to 1."""
    aa, ab, bb = (first * first) @ weight, (first * second) @ weight, float(second**2 @ weight)
    a1, b1 = first @ weight, float(second @ weight)
    determinant = aa * bb - ab * ab
    usable = determinant > 1e-12 * aa * bb
    safe = np.where(usable, determinant, 1.0)
    a = np.where(usable, (a1 * bb - b1 * ab) / safe, a1 / aa)
    b = np.where(usable, (b1 * aa - a1 * ab) / safe, 0.0)
    only_b, only_a = a < 0.0, b < 0.0
    a, b = np.where(only_b, 0.0, a), np.where(only_b, b1 / bb, b)
    return np.where(only_a, a1 / aa, a), np.where(only_a, 0.0, b)


def noise_facts(tiles: tuple[Tile, ...]) -> NoiseFacts:
    """Measure the noise of even tiles that hold nothing else."""
    found: list[tuple[float, float, Floats]] = []  # sigma, mean, power
    sigmas = []
    for tile in tiles:
        square = tile.lightness.astype(np.float64)
        rest = square - _surface(square)
        sigma = float(rest.std())
        if (
            not _LEAST_SIGMA_L <= sigma <= _MOST_SIGMA_L
            or np.unique(tile.lightness).size < _LEAST_LEVELS
        ):
            continue
        if float((np.diff(square, axis=1) == 0.0).mean()) > _MOST_EQUAL:
            continue
        sigmas.append(sigma)
        power = radial_power(square)
        if _is_noise(power, rest):
            found.append((sigma, float(square.mean()), power))
    if found:
        quiet = float(np.quantile([sigma for sigma, _, _ in found], 0.25))
        found = [one for one in found if one[0] <= _UNLIKE * quiet]
        alike = sum(sigma <= _ALIKE * quiet for sigma in sigmas)
        if sum(one[0] <= _ALIKE * quiet for one in found) < _PASSING * alike:
            found = []  # most tiles as quiet as these hold drawing: so do these
    if len(found) < _LEAST_TILES:
        return NoiseFacts(
            tiles=len(found),
            sigma_l=None,
            lightness=None,
            half_cpp=None,
            tenth_cpp=None,
            floor_share=None,
            size_px=None,
            confidence=0.0,
            told="cannot tell",
        )
    return _summary(found)


def _summary(found: list[tuple[float, float, Floats]]) -> NoiseFacts:
    """Pool the tiles' spectra, each brought to variance 1, and fit them."""
    shapes = np.array([power / sigma**2 for sigma, _, power in found])
    shape = np.exp(np.median(np.log(np.maximum(shapes, 1e-12)), axis=0))
    sigma = float(np.median([one[0] for one in found]))
    fit = fit_spectrum(shape)
    floor_share = fit.floor / (fit.floor + fit.height)
    white = floor_share > _WHITE
    confidence = (1.0 - math.exp(-len(found) / 6.0)) * math.exp(-2.0 * fit.misfit)
    return NoiseFacts(
        tiles=len(found),
        sigma_l=round(sigma, 3),
        lightness=round(float(np.mean([one[1] for one in found])), 1),
        half_cpp=1.0 if white else round(min(fit.crossing_cpp(0.5), 1.0), 4),
        tenth_cpp=1.0 if white else round(min(fit.crossing_cpp(0.1), 1.0), 4),
        floor_share=round(floor_share, 4),
        size_px=1.0 if white else round(max(1.0, 0.5 / fit.crossing_cpp(math.sqrt(0.5))), 2),
        power=tuple(float(f"{value:.5g}") for value in shape * sigma**2),
        confidence=round(confidence, 3),
        told="few even areas" if len(found) < 8 else "measured",
    )


def _is_noise(power: Floats, rest: Floats) -> bool:
    """True where the spectrum flattens towards zero, values are near normal, all parts alike."""
    slow = float(power[1:3].mean())  # 2/64 and 3/64 cycles/pixel
    less_slow = float(power[4:7].mean())  # 5/64 to 7/64
    if slow > _TEXTURE * less_slow:
        return False
    normal = rest / max(float(rest.std()), 1e-12)
    if abs(float((normal**4).mean()) - 3.0) > _HEAVY or abs(float((normal**3).mean())) > _SKEW:
        return False
    quarter = rest.shape[0] // 4
    blocks = rest[: 4 * quarter, : 4 * quarter].reshape(4, quarter, 4, quarter)
    spread = np.sort(blocks.std(axis=(1, 3)), axis=None)
    return float(spread[-2]) <= _PATCHY * float(spread[1])
