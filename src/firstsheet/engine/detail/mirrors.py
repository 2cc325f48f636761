"""Mirror images above the old pixels' limit: the trace of an enlargement that outlives JPEG.

Takes strips of lightness; gives, per axis, how closely what lies above a supposed limit follows
what lies below it, for all limits at once, and the rate that both axes share.
Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_mirrors.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.survey import Plane, Tile

__all__ = ["Mirror", "MirrorTrace", "mirror_of", "mirror_trace"]

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Singles = NDArray[np.float32]

LOWEST_RATE, HIGHEST_RATE = 0.10, 0.78  # old pixels per new pixel that are looked for
_HALF: Final = 0.1  # cycles/pixel to each side of a limit that are compared, at most
_SHARE: Final = 0.4  # the same, of the rate
_HOP: Final = 0.4  # between the middles of bands compared at once, times the half
_FLOOR_L: Final = 1.0  # L*; steps below this count less, for JPEG leaves only its own there
_REACH_PX: Final = 9  # over which the strength of the steps is made even
_FADE_PX: Final = 12  # at the ends of a strip
_GRID_PX: Final = 8  # side of JPEG's blocks
_WHITE: Final = 0.012  # cycles/pixel over which the spectrum is made even
_NEAR_BINS: Final = 1.5  # within which rows and columns must agree
_EIGHTH_BINS: Final = 3.0  # around k/8, where the blocks hide everything
_BACKWARD: Final = 0.25  # share of the likeness at a lower rate from which that is the true one
_LEAST_LOWER: Final = 0.2  # rate below which edges alone look alike by that much
_LEAST_TEETH: Final = 3
_PEER_BINS: Final = 6.0  # around a peak that are its own


@dataclass(frozen=True, slots=True, eq=False)
class MirrorTrace:
    """How closely both sides of a limit go together, at each rate (twice the limit)."""

    rate: Floats  # old pixels per new pixel
    likeness: Floats  # 0 for independent sides, towards 1 for exact mirror images
    strength: Floats  # its square over the usual one at near rates; chance alone: exp(-strength)
    bin_width: float
    eighths: Complexes  # likeness at 0/8 .. 7/8, where JPEG's blocks speak too; as steps lie


@dataclass(frozen=True, slots=True)
class Mirror:
    """A rate that rows and columns share."""

    rate: float
    strength: float  # of the weaker axis
    likeness: float  # of the weaker axis
    peer: float  # strength of the strongest other rate that is none of its side lines
    comb: float  # strength of the other teeth, were it one tooth of a comb: blocks resampled along


def mirror_trace(strips: tuple[Tile, ...], length_px: int, *, down: bool) -> MirrorTrace:
    """Compare both sides of every supposed limit, along x or, with `down`, along y.

    Notes
    -----
    Interpolation repeats the spectrum of the old pixels around every multiple of their rate r:
    X(r/2 + d) is the mirror image of X(r/2 - d), weakened by the kernel. Their product has the
    same phase in every line, and turns with the place by r; in an untouched picture it has none.
    """
    trace = np.zeros(length_px, np.complex128)
    lines = np.zeros(length_px)
    for strip in strips:
        plane = strip.lightness.T if down else strip.lightness
        start = strip.top if down else strip.left
        part = _strip_trace(plane)
        trace[start : start + part.size] += part * plane.shape[0]
        lines[start : start + part.size] += plane.shape[0]
    whole = max(float(lines.sum()), 1.0)
    turn = np.exp(-2j * np.pi * np.outer(np.arange(_GRID_PX), np.arange(_GRID_PX)) / _GRID_PX)
    phases = np.array([trace[phase::_GRID_PX].sum() for phase in range(_GRID_PX)])
    for phase in range(_GRID_PX):  # what repeats with the blocks is theirs
        share = lines[phase::_GRID_PX] / max(float(lines[phase::_GRID_PX].sum()), 1.0)
        trace[phase::_GRID_PX] -= share * phases[phase]
    size = 2 * length_px
    spectrum = np.abs(np.fft.fft(trace, size)) / whole
    rate = np.arange(size) / size
    keep = (rate >= LOWEST_RATE) & (rate <= HIGHEST_RATE)
    rate, likeness = rate[keep], spectrum[keep]
    strength = likeness**2 / (_usual(likeness**2) / np.log(2.0) + 1e-30)
    return MirrorTrace(rate, likeness, strength, 1.0 / length_px, turn @ phases / whole)


def mirror_of(across: MirrorTrace, down: MirrorTrace) -> Mirror | None:
    """The rate that both axes share most strongly, away from the blocks' own."""
    first, second = _quiet(across), _near_most(down, _quiet(down), across.rate)
    both = np.minimum(first, second)
    if both.size == 0 or both.max() <= 0.0:
        return None
    # where several bins share the weaker axis' height, the stronger axis says which
    best = int(np.argmax(both + 1e-3 * both.max() * first / max(float(first.max()), 1e-30)))
    rate = float(across.rate[best])
    # Overtones of a kernel with kinks: the lowest strong rate is the true one.
    enough = max(10.0, 0.2 * float(both[best]))
    best = _first_high((rate / 3.0, rate / 2.0), both, across, enough, best)
    rate = float(across.rate[best])
    there = _near_most(down, down.likeness, across.rate)
    least = np.minimum(across.likeness, there)
    # Images of images go together too, at 1 - r; and overtones may pass a rate that blocks hide.
    lower = (rate / 3.0, rate / 2.0, 1.0 - rate if rate > 0.5 else 0.0)
    enough = _BACKWARD * float(least[best])
    best = _first_high(lower, least, across, enough, best, least_rate=_LEAST_LOWER)
    rate = float(across.rate[best])
    own = np.zeros(both.size, np.bool_)
    for side in range(_GRID_PX):  # blocks repeat every line at eighths from it, and its mirror
        for line in ((rate + side / 8.0) % 1.0, (side / 8.0 - rate) % 1.0):
            own |= np.abs(across.rate - line) <= _PEER_BINS * across.bin_width
    for times in (2, 3, 4, 5):
        own |= np.abs(across.rate - times * rate) <= _PEER_BINS * across.bin_width
    return Mirror(
        rate=_middle_of(rate, across, down),
        strength=float(both[best]),
        likeness=float(least[best]),
        peer=float(both[~own].max()) if (~own).any() else 0.0,
        comb=_comb(rate, across, both),
    )


def _first_high(
    rates: tuple[float, ...],
    values: Floats,
    axis: MirrorTrace,
    enough: float,
    otherwise: int,
    least_rate: float = 0.0,
) -> int:
    """Where the values peak near the first of some rates at which they are high enough."""
    for rate in rates:
        near = np.abs(axis.rate - rate) <= _NEAR_BINS * axis.bin_width
        near &= axis.rate >= least_rate
        if near.any() and float(values[near].max()) >= enough:
            return int(np.flatnonzero(near)[values[near].argmax()])
    return otherwise


def _comb(rate: float, axis: MirrorTrace, both: Floats) -> float:
    """Median strength of the other teeth of the strongest comb that has a tooth at this rate.

    Blocks of an earlier JPEG, resampled with the picture, speak at all multiples of their own rate.
    """
    strongest = 0.0
    reach = _NEAR_BINS * axis.bin_width
    for tooth in range(1, _GRID_PX):
        others = rate / tooth * np.array([n for n in range(1, 2 * _GRID_PX) if n % tooth])
        hidden = np.abs(others * _GRID_PX - np.rint(others * _GRID_PX)) / _GRID_PX
        clear = hidden > _EIGHTH_BINS * axis.bin_width + reach
        seen = clear & (others >= LOWEST_RATE) & (others <= HIGHEST_RATE)
        heights = [float(both[np.abs(axis.rate - one) <= reach].max()) for one in others[seen]]
        if len(heights) >= _LEAST_TEETH:
            strongest = max(strongest, float(np.median(heights)))
    return strongest


def _middle_of(rate: float, *axes: MirrorTrace) -> float:
    """Middle of the peak at a rate, weighed by power over both axes."""
    weight = moment = 0.0
    for axis in axes:
        near = np.abs(axis.rate - rate) <= _NEAR_BINS * axis.bin_width
        power = axis.likeness[near] ** 2
        share = 1.0 / max(float(power.sum()), 1e-30)
        weight += 1.0
        moment += share * float((power * axis.rate[near]).sum())
    return moment / weight if weight else rate


def _quiet(trace: MirrorTrace) -> Floats:
    """Strength, silenced around every eighth."""
    strength = trace.strength.copy()
    off = np.abs(trace.rate * _GRID_PX - np.rint(trace.rate * _GRID_PX)) / _GRID_PX
    strength[off <= _EIGHTH_BINS * trace.bin_width] = 0.0
    return strength


def _near_most(trace: MirrorTrace, values: Floats, rate: Floats) -> Floats:
    """Largest value near each of some rates."""
    reach = _NEAR_BINS * max(trace.bin_width, float(rate[1] - rate[0]) * 2.0)
    low = np.searchsorted(trace.rate, rate - reach)
    high = np.searchsorted(trace.rate, rate + reach, side="right")
    return np.array([values[a:b].max() if b > a else 0.0 for a, b in zip(low, high, strict=True)])


def _strip_trace(plane: Plane) -> Complexes:
    """Mean over lines of the product of both sides, as a trace along the strip."""
    lines = _evened(plane)
    length = lines.shape[1]
    size = 1 << int(np.ceil(np.log2(2 * length)))
    spectra = np.fft.rfft(lines, size, axis=1)
    power = (spectra.real**2 + spectra.imag**2).mean(axis=0, dtype=np.float64)
    wide = max(3, int(_WHITE * size)) | 1
    smooth = np.convolve(np.pad(power, wide // 2, mode="reflect"), np.full(wide, 1 / wide), "valid")
    spectra /= np.sqrt(np.maximum(smooth, 1e-9 * smooth.max() + 1e-30)).astype(np.float32)
    product = np.zeros(size, np.complex128)
    pairs = np.zeros(size)
    rate = LOWEST_RATE
    while rate <= HIGHEST_RATE:
        half = max(4, round(min(_HALF, _SHARE * rate) * size))
        middle = round(0.5 * rate * size)
        low, high = max(1, middle - half), min(middle + half, size // 2)
        width = 1 << int(np.ceil(np.log2(2 * (high - low))))
        band = np.fft.ifft(spectra[:, low:high], width, axis=1)
        square = np.fft.fft((band * band).mean(axis=0, dtype=np.complex128)) * width
        span = high - low
        inner = np.arange(span // 2, 2 * span - 1 - span // 2)  # the rest has too few pairs
        product[2 * low + inner] += square[inner]
        pairs[2 * low + inner] += span - np.abs(inner - (span - 1))
        rate += 2.0 * _HOP * half / size
    # As a trace, a mirror image in all lines is a wave of height 1 at its rate.
    likeness = np.where(pairs > 0, product / np.maximum(pairs, 1.0), 0.0)
    out: Complexes = np.fft.ifft(likeness)[:length] * (size / 2.0)
    return out


def _evened(plane: Plane) -> Singles:
    """First differences along the lines, of even strength everywhere, faded at the ends."""
    step = np.diff(plane, axis=1, prepend=plane[:, :1]).astype(np.float32)
    local = _running_mean(_running_mean(step * step).T).T
    step /= np.sqrt(local) + np.float32(_FLOOR_L)
    place = np.arange(step.shape[1])
    nearest = np.minimum(place, step.shape[1] - 1 - place)
    fade = np.sin(0.5 * np.pi * np.clip((nearest + 0.5) / _FADE_PX, 0, 1)) ** 2
    step *= fade.astype(np.float32)
    return step


def _running_mean(plane: Singles) -> Singles:
    """Mean over `_REACH_PX` along the last axis."""
    reach = min(_REACH_PX, (plane.shape[1] - 1) // 2 * 2 + 1)
    padded = np.pad(plane, ((0, 0), (reach // 2 + 1, reach // 2)), mode="edge")
    total = padded.cumsum(axis=1, dtype=np.float64)
    mean = (total[:, reach:] - total[:, :-reach]) / reach
    return np.asarray(np.maximum(mean, 0.0), dtype=np.float32)


def _usual(power: Floats) -> Floats:
    """Running median over rates."""
    blocks = 24
    edges = np.linspace(0, power.size, blocks + 1).astype(int)
    medians = np.array([np.median(power[a:b]) for a, b in pairwise(edges)])
    wide = np.array([np.median(medians[max(0, i - 3) : i + 4]) for i in range(blocks)])
    middles = 0.5 * (edges[:-1] + edges[1:])
    return np.asarray(np.interp(np.arange(power.size), middles, wide))
