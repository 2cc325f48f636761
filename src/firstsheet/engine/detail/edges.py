"""The response of a picture, measured on straight edges that happen to be in it.

Takes tiles of lightness; gives the profiles of the edges found, and from them MTF curves with
MTF50 and MTF10, per direction and pooled. Steps of ISO 12233 for slanted edges: rows, centroids,
straight line, four-fold oversampled profile, derivative, window, Fourier transform, correction.
Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_edges.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.lab import lightness_to_y
from firstsheet.engine.detail.findedges import LONG_ROWS, SHORT_ROWS, Candidate, edge_candidates
from firstsheet.engine.detail.survey import Plane, Tile
from firstsheet.engine.records.detail import EdgeFacts
from firstsheet.engine.sharpness.eye import F10_SIGMA, F50_SIGMA

__all__ = [
    "FREQUENCIES_CPP",
    "EdgeProfile",
    "edge_facts",
    "edge_profiles",
    "measure_edge",
    "mtf_of_profile",
    "read_crossing",
]

Floats = NDArray[np.float64]

OVERSAMPLING: Final = 4  # bins per pixel, as ISO 12233
REACH_PX: Final = 14  # of a profile to each side
_BINS: Final = 2 * REACH_PX * OVERSAMPLING
_DFT: Final = 1024
FREQUENCIES_CPP: Final[Floats] = np.linspace(0.0, 1.0, 65)  # where curves are kept, cycles/pixel
FREQUENCIES_CPP.setflags(write=False)
_LEAST_EDGES: Final = 3
_ENOUGH: Final = 12  # long edges; with fewer, short ones are taken too
_LEAST_CONTRAST_L: Final = 12.0
_UNEVEN: Final = 0.12  # share of the edge's height a plateau may stray
_LONGEST_TAIL: Final = 3.5  # MTF10 over MTF50; 1.82 for a Gaussian, 3.32 for an exponential
_NOISY: Final = 0.04  # of one bin, share of the edge's height in linear light
_FLAT: Final = 0.43  # share of the window that is 1: 6 px to each side
_TOP_QUANTILE: Final = 0.9  # of single MTF50s: where the system's limit is looked for ...
_NEAR_TOP: Final = (0.85, 1.15)  # ... and which edges, times that quantile, are pooled


@dataclass(frozen=True, slots=True, eq=False)
class EdgeProfile:
    """One edge: its profile across, dark side first, in linear light and in lightness."""

    upright: bool  # a nearly vertical edge: tells the response along x
    slope: float  # px sideways per px along
    contrast_l: float  # L* between the plateaus
    snr: float  # contrast over the noise of one bin, linear light
    linear: Floats  # (_BINS,) 0 and 1 on the plateaus
    lightness: Floats  # the same in L*
    half_cpp: float
    tenth_cpp: float


def mtf_of_profile(profile: ArrayLike, *, oversampling: int = OVERSAMPLING) -> Floats:
    """MTF of an oversampled edge profile at `FREQUENCIES_CPP`.

    Parameters
    ----------
    profile
        Evenly spaced, `oversampling` samples per pixel, the edge near the middle.

    Notes
    -----
    Derivative by central difference, Hamming window on the peak (held flat over its inner
    part, so that wide edges are not narrowed), magnitude of the transform over
    its value at 0, over the responses of the difference, sin(2 pi f h)/(2 pi f h), and of the
    bin, sinc(f h). Source: ISO 12233, slanted-edge method, after public implementations; the
    correction as commonly described.
    """
    edge = np.asarray(profile, dtype=np.float64)
    h = 1.0 / oversampling
    spread = np.zeros(edge.size)
    spread[1:-1] = 0.5 * (edge[2:] - edge[:-2])
    place = np.arange(edge.size, dtype=np.float64)
    weight = np.clip(spread, 0.0, None)
    centre = float((place * weight).sum() / max(float(weight.sum()), 1e-30))
    spread *= _window((place - centre) / (0.5 * edge.size))
    spectrum = np.abs(np.fft.rfft(spread, _DFT))
    frequency = np.arange(spectrum.size) * oversampling / _DFT
    correction = np.sinc(2.0 * frequency * h) * np.sinc(frequency * h)
    mtf = spectrum / max(float(spectrum[0]), 1e-30) / np.maximum(correction, 0.2)
    return np.interp(FREQUENCIES_CPP, frequency, mtf)


def _window(offset: Floats) -> Floats:
    """Flat over the inner part, Hamming's cosine outside; offset -1..1 over the profile."""
    outside = np.clip((np.abs(offset) - _FLAT) / (1.0 - _FLAT), 0.0, 1.0)
    return np.where(np.abs(offset) <= 1.0, 0.54 + 0.46 * np.cos(np.pi * outside), 0.0)


def read_crossing(curve: ArrayLike, level: float) -> float:
    """First frequency at which a curve on `FREQUENCIES_CPP` falls to a level; 1 if never."""
    values = np.asarray(curve, dtype=np.float64)
    below = np.flatnonzero(values < level)
    if below.size == 0:
        return float(FREQUENCIES_CPP[-1])
    after = int(below[0])
    if after == 0:
        return 0.0
    high, low = values[after - 1], values[after]
    share = (high - level) / (high - low)
    step = FREQUENCIES_CPP[after] - FREQUENCIES_CPP[after - 1]
    return float(FREQUENCIES_CPP[after - 1] + share * step)


def edge_profiles(tiles: tuple[Tile, ...]) -> list[EdgeProfile]:
    """Find and measure the edges of all tiles, upright and lying; short ones only in need."""
    profiles = _profiles(tiles, LONG_ROWS)
    return profiles if len(profiles) >= _ENOUGH else profiles + _profiles(tiles, SHORT_ROWS)


def _profiles(tiles: tuple[Tile, ...], rows: int) -> list[EdgeProfile]:
    """Measure every edge that can be followed over so many rows."""
    profiles = []
    for tile in tiles:
        for upright, plane in ((True, tile.lightness), (False, tile.lightness.T)):
            for candidate in edge_candidates(np.ascontiguousarray(plane), rows=rows):
                profile = measure_edge(plane, candidate, upright=upright)
                if profile is not None:
                    profiles.append(profile)
    return profiles


def measure_edge(plane: Plane, candidate: Candidate, *, upright: bool) -> EdgeProfile | None:
    """Profile of one edge; None where its sides are not even, clipped, or its line is crooked."""
    rows = np.arange(candidate.top, candidate.bottom)
    middle = candidate.start + candidate.slope * (rows - candidate.top)
    left = max(0, int(np.floor(middle.min())) - REACH_PX)
    right = min(plane.shape[1], int(np.ceil(middle.max())) + REACH_PX + 1)
    patch = plane[candidate.top : candidate.bottom, left:right].astype(np.float64)
    across = np.arange(left, right) - middle[:, None]
    distance = across / np.hypot(1.0, candidate.slope)
    if candidate.falling:
        distance = -distance
    index = np.floor((distance + REACH_PX) * OVERSAMPLING).astype(int)
    inside = (index >= 0) & (index < _BINS)
    count = np.bincount(index[inside], minlength=_BINS)
    light = lightness_to_y(patch)
    counts = np.maximum(count, 1)
    lightness = np.bincount(index[inside], patch[inside], _BINS) / counts
    linear = np.bincount(index[inside], light[inside], _BINS) / counts
    for plateaus in (_FAR, _NEAR):
        used = plateaus.reach_bins
        if count[used].min() == 0:
            continue
        profile = _normalised(linear, lightness, plateaus, candidate.slope, upright)
        if profile is not None:
            return profile
    return None


@dataclass(frozen=True, slots=True)
class _Plateaus:
    """Where, in px from the edge, the two sides must be even."""

    inner: float
    outer: float
    widest_rise_px: float  # of the edge, 10 to 90 %, that these plateaus can tell

    @property
    def dark(self) -> slice:
        """Bins on the dark side."""
        return slice(
            round((REACH_PX - self.outer) * OVERSAMPLING),
            round((REACH_PX - self.inner) * OVERSAMPLING),
        )

    @property
    def bright(self) -> slice:
        """Bins on the bright side."""
        return slice(_BINS - self.dark.stop, _BINS - self.dark.start)

    @property
    def reach_bins(self) -> slice:
        """All bins between the outer ends."""
        return slice(self.dark.start, self.bright.stop)


_FAR: Final = _Plateaus(8.0, 13.0, 9.0)
_NEAR: Final = _Plateaus(5.0, 8.0, 4.0)  # in crowded pictures; only for sharp edges


def _normalised(
    linear: Floats, lightness: Floats, plateaus: _Plateaus, slope: float, upright: bool
) -> EdgeProfile | None:
    """Bring the plateaus to 0 and 1, judge them, and hold the profile flat beyond them."""
    low, high = plateaus.dark, plateaus.bright
    dark_l, bright_l = float(np.median(lightness[low])), float(np.median(lightness[high]))
    if dark_l < 1.5 or bright_l > 98.5 or bright_l - dark_l < _LEAST_CONTRAST_L:
        return None
    lightness = (lightness - dark_l) / (bright_l - dark_l)
    dark, bright = float(np.median(linear[low])), float(np.median(linear[high]))
    linear = (linear - dark) / (bright - dark)
    uneven = max(
        float(np.abs(lightness[low]).max()),
        float(np.abs(lightness[high] - 1.0).max()),
    )
    rough = np.concatenate([np.diff(linear[low]), np.diff(linear[high])])
    noise = max(float(np.sqrt((rough**2).mean() / 2.0)), 1e-6)
    if uneven > _UNEVEN or noise > _NOISY:
        return None
    for curve in (linear, lightness):
        curve[: low.start], curve[high.stop :] = 0.0, 1.0
    inside = linear[plateaus.reach_bins]
    rise = int(((inside > 0.1) & (inside < 0.9)).sum()) / OVERSAMPLING
    mtf = mtf_of_profile(linear)
    half, tenth = read_crossing(mtf, 0.5), read_crossing(mtf, 0.1)
    if half < 0.02 or rise > plateaus.widest_rise_px:
        return None
    return EdgeProfile(
        upright, slope, bright_l - dark_l, 1.0 / noise, linear, lightness, half, tenth
    )


def _pooled(profiles: list[EdgeProfile]) -> Floats | None:
    """Mean MTF of the edges near the sharpest; None for too few."""
    if len(profiles) < _LEAST_EDGES:
        return None
    top = float(np.quantile([profile.half_cpp for profile in profiles], _TOP_QUANTILE))
    low, high = (share * top for share in _NEAR_TOP)
    kept = [profile for profile in profiles if low <= profile.half_cpp <= high]
    if not kept:  # the quantile fell between two kinds of edges, and none is like it
        return None
    weights = np.array([min(profile.snr, 200.0) for profile in kept])
    curves = np.array([mtf_of_profile(profile.linear) for profile in kept])
    pooled: Floats = (curves * weights[:, None]).sum(axis=0) / weights.sum()
    return pooled


def _read(curve: Floats, level: float) -> float:
    """Crossing of a level, taken of the peak where sharpening lifted the curve above 1."""
    return read_crossing(curve, level * max(1.0, float(curve.max())))


def _crossing(curve: Floats, level: float) -> float:
    """The same; a tail that never falls is noise, and a Gaussian's crossing stands for it."""
    found, half = _read(curve, level), _read(curve, 0.5)
    if level < 0.5 and found > _LONGEST_TAIL * half:
        return half * F10_SIGMA / F50_SIGMA
    return found


def edge_facts(profiles: list[EdgeProfile]) -> EdgeFacts:
    """What the sharpest edges say of the whole chain before the file.

    Notes
    -----
    Levels are taken of the curve's peak where sharpening has lifted it above 1.
    Many natural edges are soft by nature (round things, things out of focus), none is sharper
    than lens, film and scanner together let it be: so the sharpest bound the system.
    """
    everything = _pooled(profiles)
    if everything is None:
        return EdgeFacts(
            edges=len(profiles),
            half_cpp=None,
            tenth_cpp=None,
            half_x_cpp=None,
            tenth_x_cpp=None,
            half_y_cpp=None,
            tenth_y_cpp=None,
            spread=None,
            confidence=0.0,
            told="cannot tell",
        )
    along_x = _pooled([profile for profile in profiles if profile.upright])
    along_y = _pooled([profile for profile in profiles if not profile.upright])
    halves = np.array([profile.half_cpp for profile in profiles])
    median = float(np.median(halves))
    spread = (float(np.quantile(halves, 0.75)) - median) / median
    few = len(profiles) < 8
    confidence = (1.0 - np.exp(-len(profiles) / 8.0)) * (1.0 / (1.0 + spread))
    if _read(everything, 0.1) > _LONGEST_TAIL * _read(everything, 0.5):
        confidence *= 0.5  # the tail is noise

    def at(curve: Floats | None, level: float) -> float | None:
        return None if curve is None else round(_crossing(curve, level), 4)

    return EdgeFacts(
        edges=len(profiles),
        half_cpp=at(everything, 0.5),
        tenth_cpp=at(everything, 0.1),
        half_x_cpp=at(along_x, 0.5),
        tenth_x_cpp=at(along_x, 0.1),
        half_y_cpp=at(along_y, 0.5),
        tenth_y_cpp=at(along_y, 0.1),
        spread=round(spread, 3),
        curve=tuple(round(float(value), 4) for value in everything),
        confidence=round(float(confidence), 3),
        told="few edges" if few else "measured",
    )
