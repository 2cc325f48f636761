"""What the sharpening kernel needs, from the numbers of a plan.

Takes radius, gain and limits; gives weights and scales. Theory: docs/theory/sharpening.md.
Tests: tests/pixels/test_sharpening_pixels.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firstsheet.pixels.job import Sharpening

__all__ = ["SharpenTables", "sharpen_tables"]

Singles = NDArray[np.float32]
_EDGE_ROWS = 3  # beyond the blur: gradient 1, its smoothing 2; as in kernels/sharpen.py
_SOFT = np.array([1.0, 4.0, 6.0, 4.0, 1.0]) / 16.0


@dataclass(frozen=True, slots=True, eq=False)
class SharpenTables:
    """Numbers for the kernel `sharpen`."""

    radius: int  # taps of the blur on each side
    bell: Singles  # (2 * radius + 1,)
    soft: Singles  # (5,)
    numbers: Singles  # gain, limit, edge low, 1 / (high - low), edge scale

    @property
    def margin(self) -> int:
        """Rows needed above and below the rows that are sharpened."""
        return self.radius + _EDGE_ROWS

    def scratch(self, rows: int, tile: int) -> int:
        """Single-precision numbers the kernel works in."""
        return 7 * (rows + 2 * self.margin) * (tile + 2 * self.margin)


def sharpen_tables(plan: Sharpening | None) -> SharpenTables | None:
    """Tables for a plan; None where it adds nothing."""
    if plan is None or plan.gain <= 0:
        return None
    sigma = plan.radius_px
    radius = max(1, math.ceil(3 * sigma))
    bell = np.exp(-0.5 * (np.arange(-radius, radius + 1) / sigma) ** 2)
    bell /= bell.sum()
    numbers = [
        plan.gain,
        max(plan.overshoot_limit_l, 1e-3),
        plan.edge_low_l,
        1.0 / max(plan.edge_high_l - plan.edge_low_l, 1e-3),
        _height_scale(bell),
    ]
    return SharpenTables(
        radius=radius,
        bell=bell.astype(np.float32),
        soft=_SOFT.astype(np.float32),
        numbers=np.array(numbers, dtype=np.float32),
    )


def _height_scale(bell: NDArray[np.float64]) -> float:
    """Factor from the root of smoothed gradient energy to the height of a straight edge, L*."""
    step = np.concatenate([np.zeros(64), np.ones(64)])
    blurred = np.convolve(step, bell, mode="same")[16:-16]
    gradient = blurred[2:] - blurred[:-2]
    energy = np.convolve(gradient**2, _SOFT, mode="same")
    return float(1.0 / np.sqrt(energy.max()))
