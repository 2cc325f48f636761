"""Enlarging the way a careless person does: no detail is gained.

Takes developed 16-bit rows; gives more of them. Cubic convolution with a = -0.5 (R. Keys, IEEE
Trans. ASSP 29, 1981). Tests: tests/harbour/test_film.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from harbour.compiled import compiled

__all__ = ["enlarge"]

Bands = Callable[[int, Callable[[int, int], None], Callable[[float], None]], None]


@compiled
def _weights(t: float) -> tuple[float, float, float, float]:
    """Keys' four weights at a share 0..1 between the second and third sample."""
    return (
        -0.5 * t + t * t - 0.5 * t * t * t,
        1.0 - 2.5 * t * t + 1.5 * t * t * t,
        0.5 * t + 2.0 * t * t - 1.5 * t * t * t,
        -0.5 * t * t + 0.5 * t * t * t,
    )


@compiled
def _rows(source: Any, ratio: float, top: int, out: Any) -> None:
    height, width, channels = source.shape
    line = np.empty((width, channels), np.float32)
    for y in range(out.shape[0]):
        at = (y + top + 0.5) / ratio - 0.5
        first = math.floor(at)
        w = _weights(at - first)
        line[:] = 0
        for k in range(4):
            row = min(max(first - 1 + k, 0), height - 1)
            for x in range(width):
                for c in range(channels):
                    line[x, c] += np.float32(w[k]) * source[row, x, c]
        for x in range(out.shape[1]):
            at = (x + 0.5) / ratio - 0.5
            first = math.floor(at)
            w = _weights(at - first)
            for c in range(channels):
                total = 0.5
                for k in range(4):
                    total += w[k] * line[min(max(first - 1 + k, 0), width - 1), c]
                out[y, x, c] = np.uint16(min(max(total, 0.0), 65535.0))


def enlarge(picture: NDArray[np.uint16], ratio: float, in_bands: Bands) -> NDArray[np.uint16]:
    """More pixels of the same detail, `ratio` times on each side."""
    height, width = round(picture.shape[0] * ratio), round(picture.shape[1] * ratio)
    out = np.empty((height, width, picture.shape[2]), np.uint16)
    in_bands(
        height, lambda top, bottom: _rows(picture, ratio, top, out[top:bottom]), lambda _: None
    )
    return out
