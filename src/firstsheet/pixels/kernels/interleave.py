"""Pixels to planes and back: what lies between stored codes and the kernels of colour.

Tests: tests/pixels/test_colours.py.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import carray

from firstsheet.pixels.kernels.common import f32

__all__ = ["interleave", "measure", "spread"]


def spread(codes: Any, count: int, channels: int, lut: Any, curves: int, planes: Any) -> None:
    """Codes of 16 bits, (count, channels), to planes: shares 0..1, or through curves to light.

    curves: 0 for none, 1 where all channels have the first, else one for each channel.
    """
    source = carray(codes, (channels * count,))
    goal = carray(planes, (channels * count,))
    for c in range(channels):
        plane = goal[c * count : (c + 1) * count]
        own = source[c:]
        if curves == 0:
            for i in range(count):
                plane[i] = f32(own[i * channels]) * f32(1.0 / 65535.0)
        else:
            own_curve = 0 if curves == 1 else c * 65536
            table = carray(lut, (own_curve + 65536,))[own_curve:]
            for i in range(count):
                plane[i] = table[np.uint64(own[i * channels])]


def interleave(planes: Any, count: int, out: Any) -> None:
    """Three planes to (count, 3)."""
    source = carray(planes, (3 * count,))
    goal = carray(out, (3 * count,))
    first, second, third = source[:count], source[count : 2 * count], source[2 * count :]
    for i in range(count):
        goal[3 * i] = first[i]
        goal[3 * i + 1] = second[i]
        goal[3 * i + 2] = third[i]


def measure(codes: Any, count: int, numbers: Any, out: Any) -> None:
    """Codes of 16 bits, (count, 3), to numbers; `numbers` holds three scales, three offsets."""
    source = carray(codes, (3 * count,))
    goal = carray(out, (3 * count,))
    n = carray(numbers, (6,))
    a, b, c = n[0], n[1], n[2]
    d, e, f = n[3], n[4], n[5]
    for i in range(count):
        goal[3 * i] = f32(source[3 * i]) * a + d
        goal[3 * i + 1] = f32(source[3 * i + 1]) * b + e
        goal[3 * i + 2] = f32(source[3 * i + 2]) * c + f
