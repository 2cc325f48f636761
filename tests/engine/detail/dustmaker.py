"""Plants dust of known place, size and kind on a made scan.

Takes encoded values and a random source; gives the spoiled picture and the truth. Dust is drawn
with three samples per pixel, blurred as a scanner would, and lies over the picture like a light
or dark veil. Used by tests and tools only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scanmaker import blur  # type: ignore[import-not-found]

Floats = NDArray[np.float64]
_OVER = 3


@dataclass(frozen=True, kw_only=True)
class Planted:
    """One piece of dust."""

    kind: str  # speck, hair, line
    x_px: float
    y_px: float
    left: float
    top: float
    right: float
    bottom: float
    bright: bool


def _course(kind: str, rng: np.random.Generator) -> Floats:
    """Points along a piece, px from its middle."""
    if kind == "speck":
        return rng.normal(0, 0.9, (4, 2))
    length = float(rng.uniform(24, 90))
    t = np.linspace(-0.5, 0.5, int(length * _OVER))
    angle = float(rng.uniform(0, math.pi))
    bend = float(rng.uniform(0.8, 2.5) * rng.choice([-1, 1])) if kind == "hair" else 0.0
    heading = angle + bend * t * 2
    steps = np.stack([np.sin(heading), np.cos(heading)], axis=1) * (length / t.size)
    course = np.cumsum(steps, axis=0)
    return np.asarray(course - course.mean(axis=0))


def plant(
    encoded: Floats,
    rng: np.random.Generator,
    pieces: int,
    *,
    bright: bool,
    depth: float = 0.8,
    sigma_px: float = 0.7,
) -> tuple[Floats, list[Planted]]:
    """Lay dust on a picture.

    Parameters
    ----------
    bright
        True: white, as on a negative; False: dark, as on a slide, a print or a sensor.
    depth
        How opaque, 0..1.
    """
    height, width = encoded.shape
    cover = np.zeros((height, width))
    planted = []
    for _ in range(pieces):
        kind = str(rng.choice(["speck", "hair", "line"], p=[0.6, 0.25, 0.15]))
        course = _course(kind, rng)
        radius = float(rng.uniform(1.3, 3.5) if kind == "speck" else rng.uniform(0.8, 1.6))
        middle = rng.uniform(70, [height - 70, width - 70])
        points = course + middle
        low, high = points.min(axis=0) - radius, points.max(axis=0) + radius
        top, left = (int(side) - 1 for side in low)
        bottom, right = (int(side) + 2 for side in high)
        top, left, bottom, right = max(top, 0), max(left, 0), min(bottom, height), min(right, width)
        fine_y, fine_x = np.mgrid[0 : (bottom - top) * _OVER, 0 : (right - left) * _OVER] / _OVER
        inside = np.zeros(fine_y.shape, np.bool_)
        for y, x in points:
            inside |= (fine_y - (y - top)) ** 2 + (fine_x - (x - left)) ** 2 <= radius**2
        share = inside.reshape(bottom - top, _OVER, right - left, _OVER).mean(axis=(1, 3))
        here = cover[top:bottom, left:right]
        np.maximum(here, share, out=here)
        y, x = points.mean(axis=0)
        planted.append(
            Planted(
                kind=kind, x_px=x, y_px=y, left=low[1], top=low[0], right=high[1], bottom=high[0],
                bright=bright,
            )
        )  # fmt: skip
    cover = depth * np.clip(blur(cover, sigma_px), 0.0, 1.0)
    return encoded * (1 - cover) + cover * (0.97 if bright else 0.03), planted
