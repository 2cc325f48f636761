"""The rhythm that interpolation leaves: was the picture enlarged, and by how much?

Takes a Survey; gives an EnlargedFacts, to which `enlargement` adds what JPEG leaves. The
differences between neighbouring pixels swing with the period of the old pixels. A factor is only
stated where rows and columns show the same rhythm and the spectrum is empty above what the old
pixels could hold.
Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_resampled.py.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.survey import Survey, Tile
from firstsheet.engine.records.detail import EnlargedFacts, Verdict

__all__ = ["by_rhythm", "lost_above"]

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_TREND_PX: Final = 33  # width of the running mean that is taken away
_LOWEST_RATE, _HIGHEST_RATE = 0.12, 0.94  # old pixels per new pixel that are looked for
_STRONG: Final = 22.0  # times the median strength; chance alone: exp(-22) * 23 per frequency
_AGREE: Final = 1.5  # bins within which rows and columns must agree
# The next are derived by tools/derive_enlarged.py from made pictures.
_COHERENT: Final = -0.9  # cosine between the two rhythms; -1 for every interpolation kernel
_STEPS_ONLY: Final = 0.8  # share of the step trace: above it the cosine is not to be trusted,
# except at a rate of exactly one half, where doubling moves the steps only
_DEPTH: Final = 0.10  # octaves; reductions to below 0.8 stayed under 0.075
# A many-lobed kernel on a soft picture turns the cosine round. It shows by a rhythm below this
# depth, a steep end of the spectrum, and a picture that falls well before that end:
_TURNED_DEPTH: Final = 0.18  # octaves
_TURNED_EMPTY: Final = 1.0  # decades across the end
_TURNED_FALL: Final = 1.5  # decades before it
# Either a deep rhythm, or a shallower one and decades of power lost above the old limit,
# beyond a natural fall: (least depth, least emptiness)
_DEEP: Final = ((0.20, -1.2), (0.125, -0.2))
_SHALLOW: Final = ((0.10, 0.2), (0.06, 1.6))  # only for factors above 2: reductions of soft
# pictures look like factors of 1.2 to 1.6, up to 0.12 octaves deep
# Bands of the spectrum, times the rate; the old pixels' limit is 0.5.
_WELL_BELOW_END, _JUST_BELOW_END = (0.12, 0.20), (0.36, 0.46)
_BELOW_END, _ABOVE_END = (0.30, 0.45), (0.64, 0.86)
_MOST_TESTABLE: Final = 0.74  # above this rate the emptied band lies beyond Nyquist
_BLOCKS: Final = 16.0  # strength at an odd eighth that gives a block grid away
_EXACT_PX: Final = 0.75  # bins within which an eighth is met exactly
_EIGHTHS_PX: Final = 4.0  # bins around k/8 that block grids occupy
_OVERTONE: Final = 0.2  # share of the found strength at which a lower rate is the true one
_LEAST_PX: Final = 160  # side below which nothing is said


@dataclass(frozen=True, slots=True)
class _Rhythm:
    """A rhythm that rows and columns share."""

    rate: float
    strength: float
    cosine: float
    step_share: float  # of the strength that the step trace holds
    depth: float  # swing of the log2 differences, octaves


@dataclass(frozen=True, slots=True)
class _Axis:
    """Strengths of the rhythm along one axis, at rates from 0 to 1 old pixels per pixel."""

    rate: Floats
    bend: Complexes  # spectrum of the bend trace, at pixel centres, background 1
    step: Complexes  # of the step trace, at the borders between pixels, background 1
    depth: Floats  # swing of bend or step trace, octaves
    bin_width: float

    @property
    def strength(self) -> Floats:
        """Power of both traces."""
        power: Floats = np.abs(self.bend) ** 2 + np.abs(self.step) ** 2
        return power


def by_rhythm(survey: Survey) -> EnlargedFacts:
    """Look for the rhythm of interpolation along both axes.

    Notes
    -----
    That the second difference of an interpolated signal is periodic: A. C. Gallagher, "Detection
    of linear and cubic interpolation in JPEG compressed images", Canadian Conference on Computer
    and Robot Vision, 2005. Using first and second differences together removes the ambiguity
    between rates r and 1 - r: their swings are opposed at the true rate (see the theory page).
    """
    if min(survey.width_px, survey.height_px) < _LEAST_PX:
        return _answer("cannot tell", None, 0.0, 0.0, None)
    across = _axis(survey.column_bend, survey.column_step)
    down = _axis(survey.row_bend, survey.row_step)
    found = _common_peak(across, down)
    if found is None:
        weaker = min(float(_without_eighths(axis).max()) for axis in (across, down))
        return _answer("no sign", None, 0.9, min(weaker, _STRONG), None)
    tiles = survey.busy_tiles + survey.edge_tiles[:16]
    if found.rate > _MOST_TESTABLE or not tiles:
        return _judge(found, None, False)
    power = _mean_power(tiles)
    turned = _steep_and_soft(power, min(found.rate, 1.0 - found.rate))
    return _judge(found, _fall(power, found.rate, _BELOW_END, _ABOVE_END), turned)


def _judge(rhythm: _Rhythm, emptiness: float | None, turned: bool) -> EnlargedFacts:
    """Weigh the rhythm against what reductions and colour filters leave, and the spectrum."""
    strength = rhythm.strength
    if emptiness is None:  # slight: a slight reduction leaves nearly the same rhythm
        verdict: Verdict = "maybe enlarged" if rhythm.depth >= _DEPTH else "no sign"
        return _answer(verdict, None, 0.4, strength, None)
    if abs(rhythm.rate - 0.5) < 0.002:
        # A colour filter pattern moves the bends only; doubling on pixel centres the steps only.
        clear = rhythm.step_share >= _STEPS_ONLY
    else:
        clear = rhythm.cosine <= _COHERENT and rhythm.step_share <= _STEPS_ONLY
    if turned and rhythm.depth < _TURNED_DEPTH:
        clear = False
    steps = _DEEP + (_SHALLOW if rhythm.rate < 0.5 else ())
    deep = any(rhythm.depth >= depth and emptiness >= empty for depth, empty in steps)
    if not (clear and deep):
        told: Verdict = "cannot tell"
        if clear and emptiness >= 0.0 and rhythm.depth >= _SHALLOW[-1][0]:
            told = "maybe enlarged"  # in a large picture, skirts of block lines stand out, shallow
        return _answer(told, None, 0.4, strength, emptiness)
    surplus = np.log2(rhythm.depth / _SHALLOW[-1][0]) + np.log2(strength / _STRONG)
    confidence = 0.8 + 0.19 * (1.0 - float(np.exp(-0.4 * float(surplus))))
    return _answer("enlarged", 1.0 / rhythm.rate, confidence, strength, emptiness)


def _answer(
    verdict: Verdict,
    factor: float | None,
    confidence: float,
    rhythm: float,
    emptiness: float | None,
) -> EnlargedFacts:
    """Round the figures."""
    return EnlargedFacts(
        verdict=verdict,
        factor=None if factor is None else round(factor, 3),
        confidence=round(confidence, 3),
        rhythm=round(rhythm, 1),
        emptiness=None if emptiness is None else round(emptiness, 2),
        told_by="rhythm" if verdict in ("enlarged", "maybe enlarged") else "neither",
    )


def lost_above(survey: Survey, rate: float) -> float:
    """Decades of power lost across the limit of old pixels of a rate, beyond the natural fall."""
    tiles = survey.busy_tiles + survey.edge_tiles[:16]
    return _fall(_mean_power(tiles), rate, _BELOW_END, _ABOVE_END) if tiles else 0.0


def _detrended(trace: Floats) -> Floats:
    """Take the running mean from each unbroken stretch, fade its ends; zero where unread."""
    out = np.zeros(trace.size)
    known = np.isfinite(trace)
    starts = np.flatnonzero(np.diff(known.astype(np.int8), prepend=0) == 1)
    ends = np.flatnonzero(np.diff(known.astype(np.int8), append=0) == -1) + 1
    for start, end in zip(starts, ends, strict=True):
        part = trace[start:end]
        if part.size <= _TREND_PX:
            continue
        half = _TREND_PX // 2
        padded = np.pad(part, half, mode="reflect")
        part = part - np.convolve(padded, np.full(_TREND_PX, 1.0 / _TREND_PX), "valid")
        spread = 4.0 * float(np.median(np.abs(part))) / 0.6745
        fade = np.minimum(
            1.0,
            (np.minimum(np.arange(part.size), part.size - 1.0 - np.arange(part.size)) + 0.5) / 16.0,
        )
        out[start:end] = np.clip(part, -spread, spread) * fade
    return out


def _axis(bend_trace: Floats, step_trace: Floats) -> _Axis:
    """Spectra of both traces with their background brought to 1."""
    size = bend_trace.size
    length = 4 * size
    rate = np.arange(length) / length
    keep = (rate >= _LOWEST_RATE) & (rate <= _HIGHEST_RATE)
    bend_known, step_known = bend_trace.copy(), step_trace.copy()
    bend_known[:1] = np.nan  # a trace begins one pixel in, and a step trace ends there
    bend_known[-1:] = np.nan
    step_known[:1] = np.nan
    spectra, depths = [], []
    for trace, shift in ((bend_known, 0.5), (step_known, 0.0)):
        spectrum = np.fft.fft(_detrended(trace), length) * np.exp(-2j * np.pi * rate * shift)
        background = _background(np.abs(spectrum) ** 2, rate)
        spectra.append((spectrum / np.sqrt(background))[keep])
        depths.append(2.0 / max(1, int(np.isfinite(trace).sum())) * np.abs(spectrum)[keep])
    return _Axis(rate[keep], spectra[0], spectra[1], np.maximum(*depths), 1.0 / size)


def _background(power: Floats, rate: Floats) -> Floats:
    """Running median of a power spectrum, over its exponential median; never zero."""
    blocks = 48
    edges = np.linspace(0, power.size, blocks + 1).astype(int)
    medians = np.array([np.median(power[a:b]) for a, b in pairwise(edges)])
    wide = np.array([np.median(medians[max(0, i - 2) : i + 3]) for i in range(blocks)])
    middles = 0.5 * (rate[edges[:-1]] + rate[np.minimum(edges[1:], power.size - 1)])
    smooth: Floats = np.interp(rate, middles, wide) / np.log(2.0)
    return smooth + 1e-12 * max(float(power.max()), 1e-300)


def _common_peak(across: _Axis, down: _Axis) -> _Rhythm | None:
    """The strongest rhythm that both axes share; None where it is not strong enough."""
    reach = _AGREE * max(across.bin_width, down.bin_width)
    across_strength, down_strength = _without_eighths(across), _without_eighths(down)
    best: tuple[float, int, int] | None = None
    for index in np.argsort(across_strength)[::-1][:200]:
        near = np.flatnonzero(np.abs(down.rate - across.rate[index]) <= reach)
        partner = int(near[np.argmax(down_strength[near])])
        both = min(float(across_strength[index]), float(down_strength[partner]))
        if both >= _STRONG and (best is None or both > best[0]):
            best = (both, int(index), partner)
    if best is None:
        return None
    found = _rhythm(across, down, best)
    for divisor in (3, 2):  # a kernel with kinks has overtones as strong as its own rate
        for rate in (found.rate / divisor, (1.0 - found.rate) / divisor):
            lower = _near(across, down, across.strength, down.strength, rate)
            if lower is None or lower[0] < max(_STRONG, _OVERTONE * found.strength):
                continue
            met = 0.5 * float(across.rate[lower[1]] + down.rate[lower[2]])
            if abs(met - rate) > _EXACT_PX * max(across.bin_width, down.bin_width):
                continue  # near by chance: another overtone
            rhythm = _rhythm(across, down, lower)
            if across_strength[lower[1]] == 0.0 or down_strength[lower[2]] == 0.0:
                return replace(rhythm, cosine=0.0, step_share=0.0)  # blocks, or hidden by them
            if rhythm.cosine > _COHERENT or abs(rhythm.rate - rate) <= reach:
                return rhythm  # where its cosine is unclear, nothing will be stated
    return found


def _near(
    across: _Axis, down: _Axis, across_strength: Floats, down_strength: Floats, rate: float
) -> tuple[float, int, int] | None:
    """The strongest common peak close to a rate: strength and both indices."""
    if not _LOWEST_RATE <= rate <= _HIGHEST_RATE:
        return None
    indices = []
    for axis, strength in ((across, across_strength), (down, down_strength)):
        near = np.flatnonzero(np.abs(axis.rate - rate) <= _AGREE * axis.bin_width)
        indices.append(int(near[np.argmax(strength[near])]))
    i, j = indices
    return min(float(across_strength[i]), float(down_strength[j])), i, j


def _rhythm(across: _Axis, down: _Axis, peak: tuple[float, int, int]) -> _Rhythm:
    """Everything about one common peak."""
    strength, i, j = peak
    cosine = 0.5 * (_cosine(across, i) + _cosine(down, j))
    rate = 0.5 * (float(across.rate[i]) + float(down.rate[j]))
    if cosine > 0.0:  # the mirror rate has the opposite cosine, and is the true one
        rate, cosine = 1.0 - rate, -cosine
    steps = 0.5 * (_step_share(across, i) + _step_share(down, j))
    depth = min(float(across.depth[i]), float(down.depth[j]))
    return _Rhythm(rate, strength, cosine, steps, depth)


def _cosine(axis: _Axis, index: int) -> float:
    """Cosine of the angle between the two traces' rhythms; 0 where one is silent."""
    product = axis.bend[index] * np.conj(axis.step[index])
    quiet = min(abs(axis.bend[index]), abs(axis.step[index])) < 2.0
    return 0.0 if quiet else float(product.real / abs(product))


def _step_share(axis: _Axis, index: int) -> float:
    """Share of the step trace in the strength of a rhythm."""
    return float(abs(axis.step[index]) ** 2 / axis.strength[index])


def _without_eighths(axis: _Axis) -> Floats:
    """Strength with the rhythm of 8-pixel blocks silenced.

    Blocks beat at every eighth exactly. An odd eighth (factors 8/7, 1.6, 2.67, 8) that is met
    exactly could always be theirs and is never believed; even ones (2, 4, 1.33) are, where no
    odd one stands out.
    """
    strength = axis.strength.copy()
    zones = [np.abs(axis.rate - k / 8.0) <= _EIGHTHS_PX * axis.bin_width for k in range(1, 8)]
    theirs = []
    for k, zone in enumerate(zones, start=1):
        peak = axis.rate[zone][int(strength[zone].argmax())]
        height = float(strength[zone].max())
        exact = abs(float(peak) - k / 8.0) <= _EXACT_PX * axis.bin_width
        theirs.append(height < 2.0 * _STRONG or (exact and k % 2 == 1))
    grid = any(theirs[k] and float(strength[zones[k]].max()) >= _BLOCKS for k in (0, 2, 4, 6))
    for zone, silenced in zip(zones, theirs, strict=True):
        if silenced or grid:
            strength[zone] = 0.0
    return strength


def _fall(
    power: Floats, rate: float, first: tuple[float, float], second: tuple[float, float]
) -> float:
    """Decades of power lost between two bands, beyond the natural 1/f^2; bands times the rate."""
    f = np.arange(power.size) / (2.0 * (power.size - 1))
    below = (f >= first[0] * rate) & (f <= first[1] * rate)
    above = (f >= second[0] * rate) & (f <= min(second[1] * rate, 0.49))
    if not (below.any() and above.any()):
        return 0.0
    fall = float(np.log10(power[below]).mean() - np.log10(power[above]).mean())
    natural = 2.0 * float(np.log10(f[above]).mean() - np.log10(f[below]).mean())
    return fall - natural


def _steep_and_soft(power: Floats, rate: float) -> bool:
    """True where a picture falls before the end that old pixels of this rate would have."""
    if not _LOWEST_RATE <= rate <= _MOST_TESTABLE:
        return False
    steep = _fall(power, rate, _BELOW_END, _ABOVE_END) >= _TURNED_EMPTY
    return steep and _fall(power, rate, _WELL_BELOW_END, _JUST_BELOW_END) >= _TURNED_FALL


def _mean_power(tiles: tuple[Tile, ...]) -> Floats:
    """Median over tiles of the power along rows and along columns."""
    spectra = []
    side = min(min(tile.lightness.shape) for tile in tiles)
    window = np.hanning(side)
    for tile in tiles:
        square = tile.lightness[:side, :side].astype(np.float64)
        for plane in (square, square.T):
            level = plane - plane.mean(axis=1, keepdims=True)
            spectra.append((np.abs(np.fft.rfft(level * window, axis=1)) ** 2).mean(axis=0))
    middle: Floats = np.median(np.array(spectra), axis=0)
    return np.maximum(middle, 1e-12)
