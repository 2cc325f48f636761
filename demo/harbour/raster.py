"""Which surface is seen at each pixel, and how high things stand towards a light.

Takes triangles and a camera; gives triangle numbers per pixel. Edges are handled in homogeneous
coordinates, so nothing needs clipping (M. Olano and T. Greer, "Triangle scan conversion using
2D homogeneous coordinates", Graphics Hardware 1997). Tests: tests/harbour/test_raster.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from harbour.compiled import compiled
from harbour.mesh import Mesh
from harbour.noise import four_chances

__all__ = ["Camera", "Edges", "edges_seen", "height_map", "seen"]


@dataclass(frozen=True, kw_only=True)
class Camera:
    """A camera held level, whose back can be shifted up or down so that verticals stay upright."""

    at: tuple[float, float, float]  # metres
    heading: float  # radians, 0 looks along +y, positive turns right
    focal: float  # in picture widths
    rise: float  # place of the horizon below the top, in picture heights
    width_px: int
    height_px: int

    def scaled(self, divisor: int) -> Camera:
        """The same view with fewer pixels."""
        return Camera(
            at=self.at,
            heading=self.heading,
            focal=self.focal,
            rise=self.rise,
            width_px=self.width_px // divisor,
            height_px=self.height_px // divisor,
        )

    def axes(self) -> NDArray[np.float64]:
        """Right, up and forward as rows."""
        c, s = math.cos(self.heading), math.sin(self.heading)
        return np.array([[c, -s, 0.0], [0.0, 0.0, 1.0], [s, c, 0.0]])

    def numbers(self) -> NDArray[np.float64]:
        """Focal length, horizon row and centre column in pixels."""
        f = self.focal * self.width_px
        return np.array([f, self.width_px / 2, self.rise * self.height_px])


@dataclass(frozen=True)
class Edges:
    """What the raster needs: edge functions, their box, and heights for clipping at the water."""

    edge: NDArray[np.float64]  # (n, 9)
    box: NDArray[np.int32]  # (n, 4) left top right bottom
    z: NDArray[np.float64]  # (n, 3)
    number: NDArray[np.int32]  # (n,) number of the triangle in the mesh


def edges_seen(mesh: Mesh, camera: Camera, *, mirrored: bool = False) -> Edges:
    """Edge functions of the triangles that can be seen; mirrored at the water if asked."""
    p = mesh.position.astype(np.float64)
    if mirrored:
        p = p * np.array([1.0, 1.0, -1.0])
    local = (p - np.asarray(camera.at)) @ camera.axes().T
    f, cx, cy = camera.numbers()
    w = local[..., 2]
    m = np.stack([f * local[..., 0] + cx * w, -f * local[..., 1] + cy * w, w], axis=-1)
    det = np.linalg.det(m)
    keep = (w.max(axis=1) > 0.05) & (np.abs(det) > 1e-9)
    whole = w.min(axis=1) > 0.05
    xy = m[..., :2] / np.maximum(w, 0.05)[..., None]
    low = np.floor(np.where(whole[:, None], xy.min(axis=1), 0) - 1)
    high = np.ceil(np.where(whole[:, None], xy.max(axis=1), 1e9) + 2)
    size = np.array([camera.width_px, camera.height_px])
    low, high = np.clip(low, 0, size), np.clip(high, 0, size)
    keep &= (high > low).all(axis=1)
    if mirrored:
        keep &= mesh.position[..., 2].max(axis=1) > 0.01
    number = np.flatnonzero(keep).astype(np.int32)
    inverse = np.linalg.inv(m[number])  # columns: one edge function per corner
    return Edges(
        np.ascontiguousarray(inverse.transpose(0, 2, 1).reshape(-1, 9)),
        np.concatenate([low, high], axis=1)[number].astype(np.int32),
        mesh.position[number][..., 2].astype(np.float64),
        number,
    )


@compiled
def _span(e: Any, t: int, k: int, y: float, low: float, high: float) -> tuple[float, float]:
    """Narrow a row's span to where one edge function is not negative."""
    a, rest = e[t, k], e[t, k + 1] * y + e[t, k + 2]
    if a > 0:
        low = max(low, -rest / a)
    elif a < 0:
        high = min(high, -rest / a)
    elif rest < 0:
        high = -1.0
    return low, high


@compiled
def seen(
    edge: Any, box: Any, z: Any, number: Any, top: int, above_water: bool, index: Any, near: Any
) -> None:
    """Fill `index` (rows, width) with triangle numbers and `near` with 1 / distance.

    Each pixel looks through its own random point, so that edges turn into grain instead of
    stairs. With `above_water`, parts under the water are left out.
    """
    rows = index.shape[0]
    for t in range(edge.shape[0]):
        e0, e1, e2, e3, e4, e5, e6, e7, e8 = (
            edge[t, 0], edge[t, 1], edge[t, 2], edge[t, 3], edge[t, 4], edge[t, 5],
            edge[t, 6], edge[t, 7], edge[t, 8],
        )  # fmt: skip
        y0, y1 = max(box[t, 1], top), min(box[t, 3], top + rows)
        for y in range(y0, y1):
            low, high = float(box[t, 0]), float(box[t, 2])
            first_low, first_high = low, high
            # the span of the row's two edges, widened by the jitter
            for k in (0, 3, 6):
                a_low, a_high = _span(edge, t, k, y + 0.0, low, high)
                b_low, b_high = _span(edge, t, k, y + 1.0, low, high)
                first_low = max(first_low, min(a_low, b_low))
                first_high = min(first_high, max(a_high, b_high))
            # an edge all but level meets the row far outside of what a whole number holds
            x0 = max(math.floor(min(first_low, high)) - 1, int(low))
            x1 = min(math.ceil(max(first_high, low)) + 1, int(high))
            for x in range(x0, x1):
                jx, jy, _, _ = four_chances(x, y, 901)
                px, py = x + jx, y + jy
                b0 = e0 * px + e1 * py + e2
                b1 = e3 * px + e4 * py + e5
                b2 = e6 * px + e7 * py + e8
                if b0 < 0 or b1 < 0 or b2 < 0:
                    continue
                closeness = b0 + b1 + b2
                if closeness <= near[y - top, x]:
                    continue
                if above_water and b0 * z[t, 0] + b1 * z[t, 1] + b2 * z[t, 2] < 0:
                    continue
                near[y - top, x] = closeness
                index[y - top, x] = number[t]


@compiled
def height_map(position: Any, frame: Any, centre: Any, scale: float, height: Any) -> None:
    """Highest surface towards a light, seen along its direction; `height` is filled in place.

    `frame` holds the directions of columns, rows and height; `scale` is cells per metre.
    """
    rows, columns = height.shape
    corner = np.empty((3, 3))
    for t in range(position.shape[0]):
        for i in range(3):
            for k in range(3):
                corner[i, k] = (
                    (position[t, i, 0] - centre[0]) * frame[k, 0]
                    + (position[t, i, 1] - centre[1]) * frame[k, 1]
                    + (position[t, i, 2] - centre[2]) * frame[k, 2]
                )
        x0, y0 = corner[0, 0] * scale + columns / 2 - 0.5, corner[0, 1] * scale + rows / 2 - 0.5
        x1, y1 = corner[1, 0] * scale + columns / 2 - 0.5, corner[1, 1] * scale + rows / 2 - 0.5
        x2, y2 = corner[2, 0] * scale + columns / 2 - 0.5, corner[2, 1] * scale + rows / 2 - 0.5
        h0, h1, h2 = corner[0, 2], corner[1, 2], corner[2, 2]
        area = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
        if abs(area) < 1e-9:
            continue
        top = max(math.ceil(min(y0, y1, y2)), 0)
        bottom = min(math.floor(max(y0, y1, y2)) + 1, rows)
        left = max(math.ceil(min(x0, x1, x2)), 0)
        right = min(math.floor(max(x0, x1, x2)) + 1, columns)
        for y in range(top, bottom):
            for x in range(left, right):
                a = ((x1 - x) * (y2 - y) - (x2 - x) * (y1 - y)) / area
                b = ((x2 - x) * (y0 - y) - (x0 - x) * (y2 - y)) / area
                if a < 0 or b < 0 or a + b > 1:
                    continue
                h = a * h0 + b * h1 + (1 - a - b) * h2
                if h > height[y, x]:
                    height[y, x] = h
