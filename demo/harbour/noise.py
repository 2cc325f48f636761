"""Repeatable noise for textures, clouds, waves and grain.

Takes positions and a number that names the field; gives values about -1..1. Gradient noise on
a square grid (K. Perlin, "An image synthesizer", SIGGRAPH 1985), summed over octaves.
Theory: docs/theory/harbour.md. Tests: tests/harbour/test_harbour_noise.py.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from harbour.compiled import compiled_as

__all__ = ["chance", "fbm", "fbm_grid", "four_chances", "gradient_noise", "smooth_step"]

_A = np.uint64(0x9E3779B97F4A7C15)
_B = np.uint64(0xC2B2AE3D27D4EB4F)
_C = np.uint64(0x165667B19E3779F9)
_S16, _S29, _S32, _S40 = np.uint64(16), np.uint64(29), np.uint64(32), np.uint64(40)
_S48, _S61, _LOW16 = np.uint64(48), np.uint64(61), np.uint64(0xFFFF)
_PER24, _PER16 = 1.0 / 16777216.0, 1.0 / 65536.0
_RAMP_X = np.array([1.0, -1.0, 0.0, 0.0, 0.7071, -0.7071, 0.7071, -0.7071])
_RAMP_Y = np.array([0.0, 0.0, 1.0, -1.0, 0.7071, 0.7071, -0.7071, -0.7071])


@compiled_as("uint64(uint64)")
def _finish(h: Any) -> Any:
    """Spread the bits of a sum over the whole number."""
    h = (h ^ (h >> _S32)) * _B
    return h ^ (h >> _S29)


@compiled_as("uint64(int64, int64, int64)")
def _mix(ix: int, iy: int, field: int) -> Any:
    """Scramble two whole numbers and a field number into 64 bits."""
    return _finish(np.uint64(ix) * _A + np.uint64(iy) * _B + np.uint64(field) * _C)


@compiled_as("float64(int64, int64, int64)")
def chance(ix: int, iy: int, field: int) -> float:
    """An even random number 0..1 that belongs to this place."""
    return float(np.int32(_mix(ix, iy, field) >> _S40) * _PER24)


@compiled_as("UniTuple(float64, 4)(int64, int64, int64)")
def four_chances(ix: int, iy: int, field: int) -> tuple[float, float, float, float]:
    """Four of them at the price of one, in steps of 1/65536."""
    h = _mix(ix, iy, field)
    return (
        np.int32(h & _LOW16) * _PER16,
        np.int32((h >> _S16) & _LOW16) * _PER16,
        np.int32((h >> _S32) & _LOW16) * _PER16,
        np.int32(h >> _S48) * _PER16,
    )


@compiled_as("float64(float64, float64, float64)")
def smooth_step(low: float, high: float, x: float) -> float:
    """0 below `low`, 1 above `high`, smooth between."""
    t = min(max((x - low) / (high - low), 0.0), 1.0)
    return t * t * (3.0 - 2.0 * t)


@compiled_as("float64(uint64, float64, float64)")
def _ramp(h: Any, fx: float, fy: float) -> float:
    """The ramp of one grid corner at an offset from it: one of eight directions."""
    h = (h ^ (h >> _S32)) * _B
    which = h >> _S61
    return float(_RAMP_X[which] * fx + _RAMP_Y[which] * fy)


@compiled_as("float64(float64, float64, int64)")
def gradient_noise(x: float, y: float, field: int) -> float:
    """One octave of noise, about -1..1, with period 1 between bumps."""
    x0, y0 = math.floor(x), math.floor(y)
    fx, fy = x - x0, y - y0
    sx = fx * fx * fx * (fx * (fx * 6.0 - 15.0) + 10.0)
    sy = fy * fy * fy * (fy * (fy * 6.0 - 15.0) + 10.0)
    h = np.uint64(int(x0)) * _A + np.uint64(int(y0)) * _C + np.uint64(field) * _B
    a, b = _ramp(h, fx, fy), _ramp(h + _A, fx - 1.0, fy)
    c, d = _ramp(h + _C, fx, fy - 1.0), _ramp(h + _A + _C, fx - 1.0, fy - 1.0)
    top = a + sx * (b - a)
    return 1.5 * (top + sy * (c + sx * (d - c) - top))


@compiled_as("float64(float64, float64, int64, int64)")
def fbm(x: float, y: float, octaves: int, field: int) -> float:
    """Sum of octaves, each half as strong and about twice as fine, turned a little."""
    total, strength = 0.0, 0.5
    for octave in range(octaves):
        total += strength * gradient_noise(x, y, field + octave)
        x, y = 1.62 * x + 1.19 * y + 3.1, -1.19 * x + 1.62 * y + 7.7
        strength *= 0.5
    return total


def fbm_grid(
    x: NDArray[np.float64], y: NDArray[np.float64], octaves: int, field: int
) -> NDArray[np.float64]:
    """Fbm at every point of two equal grids."""
    values = [fbm(a, b, octaves, field) for a, b in zip(x.flat, y.flat, strict=True)]
    return np.array(values).reshape(x.shape)
