"""Separation: the steps a texture is drawn with, at the scales the eye sees from its distance.

Takes small pictures in CIELAB with their scale on paper; gives the size of their steps on a grid
of cells. Printed over wanted is the share of the modelling that is kept.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_separation.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.sharpness.eye import MANNOS_PEAK, cycles_per_degree, mannos_sakrison

__all__ = [
    "CELL",
    "EyeScales",
    "cell_means",
    "cell_steps",
    "eye_scales",
    "lightness_weight",
    "shrunk",
    "step_levels",
    "steps_seen",
]

CELL: Final = 8  # side of a cell, pixels of the shrunk picture
_LEVELS: Final = 3  # steps between 1, 2 and 4 pixels; all lie inside one cell
# The response of a step filter T pixels wide, sin^2(x)/x with x = pi f T / 2, is largest where
# tan(x) = 2 x, so x = 1.16556 and f T = 0.742.
_CYCLES_PER_STEP: Final = 0.742
_SEEN: Final = 0.3  # of the eye's peak; finer scales than this are averaged away
_SMALLEST_PX: Final = 256  # a picture is not shrunk below this
_BAND_PX: Final = 32_768  # so that the arrays of a band stay in the cache

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
    return tuple((mannos_sakrison(fineness) / MANNOS_PEAK).tolist())


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
    if values.ndim == 2:
        return _block_means(values, CELL)
    planes = [_block_means(values[..., one], CELL) for one in range(values.shape[2])]
    return np.stack(planes, axis=-1)


def _block_means(values: NDArray[Any], side: int) -> Floats:
    """Mean of each block of side x side, (h, w); sums along rows first, for they lie together."""
    rows = values.shape[0] // side
    down: Floats = values.reshape(rows, side, -1).sum(axis=1, dtype=np.float64)
    across: Floats = down.reshape(rows, -1, side) @ np.full(side, 1.0 / side**2)
    return across


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
    return steps_seen(step_levels(lab), weights)


def step_levels(lab: NDArray[np.float32]) -> Floats:
    """Size of the steps in each cell at each scale, finest first, (3, rows, columns).

    Rows of cells are worked through in bands that stay in the processor's cache, each colour
    coordinate in a plane of its own.
    """
    height, width = lab.shape[:2]
    levels = np.empty((_LEVELS, height // CELL, width // CELL))
    rows = CELL * max(1, _BAND_PX // (CELL * max(width, 1)))
    for top in range(0, height, rows):
        here = np.ascontiguousarray(np.moveaxis(lab[top : top + rows], -1, 0), dtype=np.float32)
        band = slice(top // CELL, (top + here.shape[1]) // CELL)
        for level in range(_LEVELS):
            parts = _parts(here)
            mean = 0.25 * (parts[0] + parts[1] + parts[2] + parts[3])
            levels[level, band] = _block_means(_block_steps(parts, mean), CELL >> (level + 1))
            here = mean
    return levels


def _parts(planes: NDArray[np.float32]) -> list[NDArray[np.float32]]:
    """The four pixels of each block of two by two, (3, h / 2, w / 2) each."""
    return [
        np.ascontiguousarray(planes[:, down::2, right::2]) for down in (0, 1) for right in (0, 1)
    ]


def steps_seen(levels: Floats, weights: ArrayLike) -> Floats:
    """The scales of `step_levels` joined, each by what the eye sees of it."""
    weight = np.asarray(weights, dtype=np.float64)[:, None, None]
    seen: Floats = np.sqrt(np.square(weight * levels).sum(axis=0))
    return seen


def lightness_weight(lightness: Any) -> Any:
    """S_L of CIEDE2000: 1 at L* 50, 1.75 at black and white.

    >>> round(float(lightness_weight(0.0)), 3)
    1.747
    """
    away = np.square(lightness - 50.0)
    return 1.0 + 0.015 * away / np.sqrt(20.0 + away)


def _block_steps(
    parts: list[NDArray[np.float32]], mean: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Root mean square weighted distance of four pixels from their mean."""
    light, a, b = mean
    chroma = np.sqrt(a * a + b * b)
    across = np.maximum(chroma, np.float32(1e-6))
    for_chroma = 1.0 / (across * (1.0 + 0.045 * chroma))
    for_hue = 1.0 / (across * (1.0 + 0.015 * chroma))
    along_a, along_b = a * for_chroma, b * for_chroma
    turned_a, turned_b = a * for_hue, b * for_hue
    for_light = 1.0 / lightness_weight(light)
    total = np.zeros_like(chroma)
    for part_light, part_a, part_b in parts:
        away_a, away_b = part_a - a, part_b - b
        total += np.square((part_light - light) * for_light)
        total += np.square(away_a * along_a + away_b * along_b)
        total += np.square(away_b * turned_a - away_a * turned_b)
    steps: NDArray[np.float32] = np.sqrt(0.25 * total)
    return steps
