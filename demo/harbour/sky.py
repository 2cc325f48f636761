"""The sky over the harbour as one wide picture: gradient, sun glow and clouds.

Takes a recipe; gives a table over azimuth and height that rays look up.
Theory: docs/theory/harbour.md. Tests: tests/harbour/test_light.py.
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from harbour.compiled import THREADS, compiled
from harbour.noise import fbm, smooth_step

__all__ = ["SkyDome", "SkyRecipe", "look_up", "paint_sky"]

ROWS, COLUMNS = 900, 2400


@dataclass(frozen=True, kw_only=True)
class SkyRecipe:
    """Colours linear, angles in radians, azimuth 0 is +y and grows to the right."""

    zenith: tuple[float, float, float]
    horizon: tuple[float, float, float]
    glow: tuple[float, float, float]  # around the sun
    cloud_light: tuple[float, float, float]
    cloud_dark: tuple[float, float, float]
    cover: float  # 0 none, 1 closed
    cloud_size: float = 1.0
    middle: float = 0.0  # azimuth in the middle of the table
    half_width: float = 1.5
    sun_azimuth: float = 0.0
    sun_height: float = 0.5
    field: int = 200  # which clouds


@dataclass(frozen=True)
class SkyDome:
    """The table and its range: azimuth of the left edge, width, and the curve of heights."""

    picture: NDArray[np.float32]
    range: NDArray[np.float64]

    def mean_towards(self, to: NDArray[np.float64]) -> NDArray[np.float64]:
        """Smoothed colour of the sky in a direction, for lighting."""
        row = int(np.clip(math.sqrt(max(to[2], 0.0)) * ROWS, 0, ROWS - 1))
        low, high = max(row - 60, 0), min(row + 60, ROWS)
        mean: NDArray[np.float64] = self.picture[low:high:6, ::12].mean(
            axis=(0, 1), dtype=np.float64
        )
        return mean


@compiled
def look_up(table: Any, limits: Any, x: float, y: float, z: float) -> tuple[float, float, float]:
    """Colour of the sky in a unit direction; beyond the sides it is mirrored."""
    azimuth = math.atan2(x, y)
    a = (azimuth - limits[0]) / limits[1]
    a = a - math.floor(a / 2.0) * 2.0
    a = 2.0 - a if a > 1 else a
    rows, columns = table.shape[0], table.shape[1]
    fx = a * (columns - 1.001)
    fy = math.sqrt(min(max(z, 0.0), 1.0)) * (rows - 1.001)
    ix, iy = int(fx), int(fy)
    fx, fy = fx - ix, fy - iy
    w00, w01, w10, w11 = (1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy
    return (
        table[iy, ix, 0] * w00
        + table[iy, ix + 1, 0] * w01
        + table[iy + 1, ix, 0] * w10
        + table[iy + 1, ix + 1, 0] * w11,
        table[iy, ix, 1] * w00
        + table[iy, ix + 1, 1] * w01
        + table[iy + 1, ix, 1] * w10
        + table[iy + 1, ix + 1, 1] * w11,
        table[iy, ix, 2] * w00
        + table[iy, ix + 1, 2] * w01
        + table[iy + 1, ix, 2] * w10
        + table[iy + 1, ix + 1, 2] * w11,
    )


@compiled
def _cloud(x: float, y: float, cover: float, field: int) -> float:
    """Thickness of the clouds over a place, 0..1."""
    warp = 0.5 * fbm(x * 0.7, y * 0.7, 3, field + 40)
    shape = fbm(x + warp, y - warp, 7, field)
    billow = 1 - 2.2 * abs(fbm(x * 2.3 + 5.0, y * 2.3, 4, field + 20))
    value = shape + 0.16 * billow - 0.08 + 0.95 * (cover - 0.5)
    return smooth_step(0.0, 0.42, value)


@compiled
def _paint(colours: Any, numbers: Any, field: int, first: int, table: Any) -> None:
    """Fill some rows of the table."""
    sun_azimuth, sun_height, cover, size, left, wide, rows_all = (
        numbers[0], numbers[1], numbers[2], numbers[3], numbers[4], numbers[5], numbers[6],
    )  # fmt: skip
    sx = math.sin(sun_azimuth) * math.cos(sun_height)
    sy, sz = math.cos(sun_azimuth) * math.cos(sun_height), math.sin(sun_height)
    rows, columns = table.shape[0], table.shape[1]
    for i in range(rows):
        z = ((first + i) / (rows_all - 1)) ** 2
        flat = math.sqrt(max(1 - z * z, 0.0))
        low = math.exp(-z * 5.5)
        for j in range(columns):
            azimuth = left + wide * j / (columns - 1)
            x, y = math.sin(azimuth) * flat, math.cos(azimuth) * flat
            near = max(x * sx + y * sy + z * sz, 0.0)
            halo = 0.25 * near**6 + 0.8 * near**40 + 6.0 * near**900
            stretch = 1.0 / (z + 0.09) / size
            thick, lit = 0.0, 0.0
            u, v = x * stretch, y * stretch
            if cover > 0:
                fade = smooth_step(0.0, 0.10, z)
                thick = _cloud(u, v, cover, field) * (0.35 + 0.65 * fade)
                if thick > 0:
                    ahead = _cloud(u + 0.22 * sx, v + 0.22 * sy, cover, field)
                    lit = min(max(0.62 + 0.9 * (thick - ahead) - 0.42 * thick, 0.0), 1.0)
                    lit = lit + 0.6 * near**8 * (1 - thick)
            for c in range(3):
                clear = colours[0, c] + (colours[1, c] - colours[0, c]) * low + colours[2, c] * halo
                cloud = colours[4, c] + (colours[3, c] - colours[4, c]) * lit
                cloud += 0.45 * colours[2, c] * (0.25 * near**6 + 0.8 * near**40) * (1 - thick)
                cloud += (clear - cloud) * 0.55 * low
                table[i, j, c] = clear + (cloud - clear) * thick


def paint_sky(recipe: SkyRecipe) -> SkyDome:
    """Paint the whole dome once; rays then look it up."""
    colours = np.array(
        [recipe.zenith, recipe.horizon, recipe.glow, recipe.cloud_light, recipe.cloud_dark]
    )
    left, wide = recipe.middle - recipe.half_width, 2 * recipe.half_width
    numbers = np.array(
        [recipe.sun_azimuth, recipe.sun_height, recipe.cover, recipe.cloud_size, left, wide, ROWS]
    )
    table = np.empty((ROWS, COLUMNS, 3), np.float32)
    tops = range(0, ROWS, 50)
    with ThreadPoolExecutor(THREADS) as pool:
        list(
            pool.map(
                lambda top: _paint(colours, numbers, recipe.field, top, table[top : top + 50]), tops
            )
        )
    return SkyDome(table, np.array([left, wide]))
