"""Separation: the steps a texture is drawn with, at the scales the eye sees from its distance.

Takes small pictures in CIELAB with their scale on paper; gives the size of their steps on a grid
of cells. Printed over wanted is the share of the modelling that is kept.
Theory: docs/theory/regions.md. Tests: tests/engine/regions/test_separation.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.eye import cycles_per_degree, mannos_sakrison

__all__ = [
    "CELL",
    "EyeScales",
    "cell_means",
    "cell_steps",
    "eye_scales",
    "lightness_weight",
    "shrunk",
]

CELL: Final = 8  # side of a cell, pixels of the shrunk picture
_LEVELS: Final = 3  # steps between 1, 2 and 4 pixels; all lie inside one cell
_PEAK: Final = 0.980878  # of the contrast sensitivity, at 7.89 cycles/degree
# The response of a step filter T pixels wide, sin^2(x)/x with x = pi f T / 2, is largest where
# tan(x) = 2 x, so x = 1.16556 and f T = 0.742.
_CYCLES_PER_STEP: Final = 0.742
_SEEN: Final = 0.3  # of the eye's peak; finer scales than this are averaged away
_SMALLEST_PX: Final = 256  # a picture is not shrunk below this

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class EyeScales:
    """How far a picture is shrunk before its steps are measured, and what each scale weighs."""

    shrink: int  # 1, 2, 4 ...: pixels averaged into one
    mm_per_px: float  # after shrinking
    weights: tuple[float, ...]  # share of the eye's peak sensitivity, finest scale first

    @property
    def cell_mm(self) -> float:
        """Side of a cell on paper."""
        return CELL * self.mm_per_px

    @property
    def finest_mm(self) -> float:
        """Period of the finest modelling that is judged."""
        return 2.0 * self.mm_per_px / _CYCLES_PER_STEP


def eye_scales(*, mm_per_px: float, distance_mm: float, long_side_px: int) -> EyeScales:
    """Choose the scales at which the eye sees modelling from a distance.

    Pixels are averaged in twos until the finest step reaches 0.3 of the eye's peak sensitivity
    (Mannos and Sakrison 1974), and not below 256 pixels on the long side.

    Examples
    --------
    >>> eye_scales(mm_per_px=0.25, distance_mm=500, long_side_px=1500).shrink
    1
    >>> eye_scales(mm_per_px=0.25, distance_mm=3000, long_side_px=1500).shrink
    4
    """
    if not (mm_per_px > 0.0 and distance_mm > 0.0):
        raise ValueError(f"scale and distance must be above 0, got {mm_per_px}, {distance_mm}")
    shrink = 1
    while long_side_px // (2 * shrink) >= _SMALLEST_PX:
        if _weights(shrink * mm_per_px, distance_mm)[0] >= _SEEN:
            break
        if _fineness(shrink * mm_per_px, distance_mm) < 8.0:  # coarser than the peak already
            break
        shrink *= 2
    scale = shrink * mm_per_px
    return EyeScales(shrink=shrink, mm_per_px=scale, weights=_weights(scale, distance_mm))


def _fineness(mm_per_px: float, distance_mm: float, level: int = 0) -> float:
    """Cycles/degree of the steps of one level."""
    per_mm = _CYCLES_PER_STEP / (2 ** (level + 1) * mm_per_px)
    return float(cycles_per_degree(per_mm, distance_mm))


def _weights(mm_per_px: float, distance_mm: float) -> tuple[float, ...]:
    fineness = [_fineness(mm_per_px, distance_mm, level) for level in range(_LEVELS)]
    return tuple((mannos_sakrison(fineness) / _PEAK).tolist())


def shrunk(picture: NDArray[Any], factor: int) -> NDArray[np.float32]:
    """Means of factor x factor pixels, filled up to whole cells by repeating the last pixels."""
    side = factor * CELL
    height, width = picture.shape[:2]
    below, beside = -height % side, -width % side
    whole = np.pad(
        np.asarray(picture, dtype=np.float32), ((0, below), (0, beside), (0, 0)), mode="edge"
    )
    return whole if factor == 1 else _halved(whole, factor)


def _halved(picture: NDArray[np.float32], factor: int = 2) -> NDArray[np.float32]:
    rows = picture[::factor].copy()
    for at in range(1, factor):
        rows += picture[at::factor]
    columns = rows[:, ::factor].copy()
    for at in range(1, factor):
        columns += rows[:, at::factor]
    columns *= np.float32(1.0 / factor**2)
    return columns


def cell_means(values: NDArray[Any]) -> Floats:
    """Mean of each cell of a shrunk picture, (h, w) or (h, w, c)."""
    height, width = values.shape[:2]
    cells = values.reshape(height // CELL, CELL, width // CELL, CELL, -1)
    means: Floats = cells.mean(axis=(1, 3), dtype=np.float64)
    return means[..., 0] if values.ndim == 2 else means


def cell_steps(lab: NDArray[np.float32], weights: ArrayLike) -> Floats:
    """Size of the steps in each cell, Delta E.

    At each scale a block of two by two is compared with its own mean: the root mean square
    distance is the step. Distances carry the weights of CIEDE2000 for lightness and of CIE94 for
    chroma and hue, at the mean, so that a step among vivid or very dark colours counts as it is
    seen. Scales add as squares, each weighted by what the eye sees of it. Pixels alternating
    between +d and -d give d.

    Parameters
    ----------
    lab
        (h, w, 3) from `shrunk`, sides whole numbers of cells.
    weights
        From `eye_scales`.
    """
    total = np.zeros((lab.shape[0] // CELL, lab.shape[1] // CELL))
    here = lab
    for level, weight in enumerate(np.asarray(weights, dtype=np.float64)):
        mean = _halved(here)
        sizes = _block_steps(here, mean)
        across = CELL >> (level + 1)
        rows, columns = total.shape
        cells = sizes.reshape(rows, across, columns, across).mean(axis=(1, 3), dtype=np.float64)
        total += np.square(weight * cells)
        here = mean
    return np.sqrt(total)


def lightness_weight(lightness: Any) -> Any:
    """S_L of CIEDE2000: 1 at L* 50, 1.75 at black and white.

    >>> round(float(lightness_weight(0.0)), 3)
    1.747
    """
    away = np.square(lightness - 50.0)
    return 1.0 + 0.015 * away / np.sqrt(20.0 + away)


def _block_steps(lab: NDArray[np.float32], mean: NDArray[np.float32]) -> NDArray[np.float32]:
    """Root mean square weighted distance of four pixels from their mean."""
    chroma = np.hypot(mean[..., 1], mean[..., 2])
    across = np.maximum(chroma, np.float32(1e-6))
    cosine, sine = mean[..., 1] / across, mean[..., 2] / across
    for_chroma = 1.0 / np.square(1.0 + 0.045 * chroma)
    for_hue = 1.0 / np.square(1.0 + 0.015 * chroma)
    for_light = 1.0 / np.square(lightness_weight(mean[..., 0]))
    total = np.zeros_like(chroma)
    for down in (0, 1):
        for right in (0, 1):
            away = lab[down::2, right::2] - mean
            along = away[..., 1] * cosine + away[..., 2] * sine
            turned = away[..., 2] * cosine - away[..., 1] * sine
            total += np.square(away[..., 0]) * for_light
            total += np.square(along) * for_chroma + np.square(turned) * for_hue
    return np.sqrt(0.25 * total, dtype=np.float32)
