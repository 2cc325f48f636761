"""Makes pictures full of thin things that are no dust: rigging, seams, ripples, mast tops.

Takes a seed; gives encoded values. Every line ends where the scene ends it: behind something,
at a mast, where its tone meets the tone behind it, or by fading. Used by tests and tools only.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scanmaker import blur, encode  # type: ignore[import-not-found]

Floats = NDArray[np.float64]
_MARGIN_PX = 16  # cut off at the end: blur wraps around


def make_rigging(seed: int, size_px: int = 768) -> Floats:
    """One picture of encoded values 0..1, everything by chance, without any dust."""
    rng = np.random.default_rng(seed)
    plane = _ground(rng, size_px + 2 * _MARGIN_PX)
    for part in rng.permutation(4)[: int(rng.integers(2, 5))]:
        (_seams, _rigging, _ripples, _ropes)[part](plane, rng)
    plane = blur(plane, float(rng.uniform(0.5, 1.1)))
    grain = float(rng.choice([0.0, 0.004, 0.01, 0.025]))
    density = blur(grain * 2 * rng.standard_normal(plane.shape), float(rng.uniform(0.4, 0.9)))
    whole = encode(plane * 10.0**-density)[_MARGIN_PX:-_MARGIN_PX, _MARGIN_PX:-_MARGIN_PX]
    return np.asarray(np.round(whole * 65535) / 65535)


def _soft(rng: np.random.Generator, size: int, width_px: float) -> Floats:
    """Smooth chance along a line, standard deviation 1."""
    reach = np.fft.rfftfreq(size) * width_px
    waves = np.fft.rfft(rng.standard_normal(size)) * np.exp(-18 * reach**2)
    waves[0] = 0
    line = np.fft.irfft(waves, size)
    return np.asarray(line / max(float(line.std()), 1e-9))


def _ground(rng: np.random.Generator, size: int) -> Floats:
    """Sky, a hull or a shed's wall: a slope with soft waves, some large things before it."""
    low, high = sorted(rng.uniform(0.05, 0.6, 2))
    plane = np.linspace(high, low, size)[:, None] * np.ones(size)
    plane *= np.exp(0.05 * _soft(rng, size, 150.0)[:, None] + 0.05 * _soft(rng, size, 150.0))
    for _ in range(int(rng.integers(0, 4))):
        top, left = rng.integers(0, size, 2)
        plane[top : top + rng.integers(60, 300), left : left + rng.integers(60, 300)] = float(
            rng.uniform(0.02, 0.7)
        )
    return plane


def _line(
    plane: Floats, points: Floats, width: Floats | float, tone: Floats, strength: Floats
) -> None:
    """Draw a course of points (y, x), half a pixel apart, in tones and strengths along it."""
    size = plane.shape[0]
    wide = np.broadcast_to(np.asarray(width, dtype=np.float64), tone.shape)
    reach = math.ceil(float(wide.max()) / 2) + 1
    steps = np.arange(-reach, reach + 1)
    near_y = np.floor(points[:, 0]).astype(int)[:, None, None] + steps[:, None]
    near_x = np.floor(points[:, 1]).astype(int)[:, None, None] + steps
    far = np.hypot(near_y - points[:, 0, None, None], near_x - points[:, 1, None, None])
    cover = np.clip(0.5 + wide[:, None, None] / 2 - far, 0.0, 1.0) * strength[:, None, None]
    inside = (near_y >= 0) & (near_y < size) & (near_x >= 0) & (near_x < size) & (cover > 0)
    shape = cover.shape
    y, x = np.broadcast_to(near_y, shape)[inside], np.broadcast_to(near_x, shape)[inside]
    most = np.zeros_like(plane)
    np.maximum.at(most, (y, x), cover[inside])
    drawn = np.zeros_like(plane)
    drawn[y, x] = np.broadcast_to(tone[:, None, None], shape)[inside]
    plane[:] = np.where(most > 0, plane * (1 - most) + drawn * most, plane)


def _course(start: Floats, end: Floats, sag: float) -> Floats:
    """From start to end, hanging through by `sag` px."""
    count = max(8, int(2 * math.hypot(*(end - start))))
    t = np.linspace(0, 1, count)
    points = start + t[:, None] * (end - start)
    points[:, 0] += sag * 4 * t * (1 - t)
    return np.asarray(points)


def _tones(
    plane: Floats, points: Floats, rng: np.random.Generator, contrast: float
) -> tuple[Floats, Floats]:
    """Tones along a line, and how strongly it is seen there (some fade, some are broken)."""
    count = len(points)
    tone = float(rng.uniform(0.02, 0.9)) * np.exp(0.5 * _soft(rng, count, count / 2))
    if rng.random() < 0.5:  # relative to what is behind, and crossing it
        y, x = (np.clip(points[:, n].astype(int), 0, plane.shape[0] - 1) for n in (0, 1))
        tone = plane[y, x] * np.exp(
            contrast * (float(rng.uniform(-1, 1)) + _soft(rng, count, count / 3))
        )
    strength = np.ones(count)
    kind = rng.random()
    if kind < 0.35:
        strength = np.clip(0.4 + 0.8 * _soft(rng, count, count / 3), 0.0, 1.0)
    elif kind < 0.5:  # stitched, or hidden behind things
        wave = np.sin(np.arange(count) / rng.uniform(6, 60) + _soft(rng, count, 80))
        strength = np.where(wave > 0, 1.0, 0.0)
    return np.clip(tone, 0.005, 0.95), strength


def _rigging(plane: Floats, rng: np.random.Generator) -> None:
    """Masts with caps, stays and shrouds."""
    size = plane.shape[0]
    for _ in range(int(rng.integers(1, 5))):
        x, top = float(rng.uniform(30, size - 30)), float(rng.uniform(10, size * 0.6))
        foot = float(rng.uniform(top + 80, size + 100))
        tone = float(rng.uniform(0.02, 0.8))
        for _ in range(int(rng.integers(1, 7))):
            start = np.array([top + rng.uniform(0, 0.5) * (foot - top), x])
            end = np.array([foot, x + float(rng.uniform(-1.2, 1.2)) * (foot - top)])
            course = _course(start, end, float(rng.uniform(0, 12)))
            seen, strength = _tones(plane, course, rng, 0.5)
            _line(plane, course, float(rng.uniform(0.5, 3.0)), seen, strength)
        mast = _course(np.array([top, x]), np.array([foot, x + rng.uniform(-20, 20)]), 0.0)
        wide = np.linspace(rng.uniform(2, 8), rng.uniform(6, 16), len(mast))
        _line(plane, mast, wide, np.full(len(mast), tone), np.ones(len(mast)))
        cap = _course(np.array([top - 2, x - 2]), np.array([top - 2, x + 2]), 0.0)
        bright = float(rng.uniform(0.02, 0.95))
        _line(plane, cap, float(rng.uniform(3, 9)), np.full(len(cap), bright), np.ones(len(cap)))


def _ropes(plane: Floats, rng: np.random.Generator) -> None:
    """Ropes with sag, between any two places, some behind things painted afterwards."""
    size = plane.shape[0]
    for _ in range(int(rng.integers(4, 16))):
        start, end = rng.uniform(-0.1 * size, 1.1 * size, (2, 2))
        course = _course(start, end, float(rng.uniform(0, 0.3)) * float(np.hypot(*(end - start))))
        seen, strength = _tones(plane, course, rng, 0.4)
        _line(plane, course, float(rng.uniform(0.6, 4.0)), seen, strength)
        if rng.random() < 0.3:
            top, left = rng.integers(0, size, 2)
            tone = float(rng.uniform(0.02, 0.7))
            plane[top : top + rng.integers(20, 120), left : left + rng.integers(20, 120)] = tone


def _seams(plane: Floats, rng: np.random.Generator) -> None:
    """Parallel seams of planks or cloth, weak, each fading and coming back; eyelets along some."""
    size = plane.shape[0]
    for _ in range(int(rng.integers(1, 3))):
        angle = float(rng.uniform(0, math.pi))
        along = np.array([math.sin(angle), math.cos(angle)])
        across = np.array([along[1], -along[0]])
        middle = rng.uniform(0, size, 2)
        apart, reach = float(rng.uniform(18, 110)), float(rng.uniform(150, size))
        sag = float(rng.uniform(-0.08, 0.08)) * reach
        for number in range(int(rng.integers(2, 9))):
            at = middle + across * apart * number + along * rng.uniform(-40, 40)
            course = _course(at - along * reach / 2, at + along * reach / 2, sag)
            y, x = (np.clip(course[:, n].astype(int), 0, size - 1) for n in (0, 1))
            tone = plane[y, x] * float(rng.choice([0.5, 0.7, 0.8, 1.2, 1.5]))
            strength = np.clip(
                float(rng.uniform(-0.3, 1)) + 0.8 * _soft(rng, len(course), len(course) / 4), 0, 1
            )
            _line(plane, course, float(rng.uniform(0.7, 3.0)), np.clip(tone, 0, 0.95), strength)
            if rng.random() < 0.3:
                for dot in course[:: int(rng.integers(40, 100))]:
                    spot = _course(dot + 4 * across, dot + 4 * across + 1, 0.0)
                    _line(plane, spot, 3.0, np.full(len(spot), 0.03), np.ones(len(spot)))


def _ripples(plane: Floats, rng: np.random.Generator) -> None:
    """Short lying strokes of reflected light, thick in the middle of a patch, thin at its rim."""
    size = plane.shape[0]
    middle, spread = rng.uniform(0.2 * size, 0.8 * size, 2), rng.uniform(30, 140, 2)
    tone = float(rng.uniform(0.03, 0.9))
    for _ in range(int(rng.integers(15, 120))):
        at = middle + rng.normal(0, 1, 2) * spread
        length = float(rng.uniform(4, 50))
        course = _course(at, at + np.array([rng.uniform(-2, 2), length]), float(rng.uniform(-3, 3)))
        t = np.linspace(-1, 1, len(course))
        wide = np.maximum(float(rng.uniform(1.0, 4.0)) * (1 - t**2), 0.3)
        _line(plane, course, wide, np.full(len(course), tone), np.ones(len(course)))
