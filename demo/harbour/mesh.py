"""Surfaces in space, all made of grids of points.

Takes grids (rows, columns, 3) in metres, x right, y away, z up, water at z = 0; gives triangles
with smooth normals, surface coordinates in metres, a material, a tint and a few parameters.
Tests: tests/harbour/test_mesh.py.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Mesh", "MeshBuilder", "frame_along"]

Floats = NDArray[np.float64]
NO_PARAMETERS = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


class Mesh(NamedTuple):
    """Triangles ready for the light; every array has one entry per triangle."""

    position: NDArray[np.float32]  # (n, 3, 3) metres
    normal: NDArray[np.float32]  # (n, 3, 3)
    uv: NDArray[np.float32]  # (n, 3, 2) metres along the surface
    tangent: NDArray[np.float32]  # (n, 2, 3) directions of u and v
    material: NDArray[np.int32]
    tint: NDArray[np.float32]  # (n, 3) linear
    parameters: NDArray[np.float32]  # (n, 6)


def _unit(vectors: Floats) -> Floats:
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    result: Floats = vectors / np.maximum(length, 1e-12)
    return result


def frame_along(direction: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Two directions across, and the unit direction itself."""
    d = _unit(np.asarray(direction, dtype=np.float64))
    helper = np.array([0.0, 0.0, 1.0]) if abs(d[2]) < 0.95 else np.array([1.0, 0.0, 0.0])
    a = _unit(np.cross(helper, d))
    return a, np.cross(d, a), d


class MeshBuilder:
    """Collects grids and turns them into one mesh."""

    def __init__(self) -> None:
        self._grids: dict[tuple[int, int, bool], list[tuple[Floats, Floats | None, Floats]]] = {}
        self._turn: Floats = np.eye(3)
        self._shift: Floats = np.zeros(3)
        self._lift = 0.0

    def place(self, at: ArrayLike = (0, 0, 0), heading: float = 0.0, heel: float = 0.0) -> None:
        """Put what follows at a point, turned about the vertical and heeled, radians."""
        c, s = np.cos(heading), np.sin(heading)
        ch, sh = np.cos(heel), np.sin(heel)
        turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])
        self._turn = turn @ np.array([[1, 0, 0], [0, ch, -sh], [0, sh, ch]])
        self._shift = np.asarray(at, dtype=np.float64) + np.array([0, 0, self._lift])

    def lifted(self, height: float) -> float:
        """Lift whatever is placed from now on; gives the lift before."""
        before, self._lift = self._lift, height
        self.place()
        return before

    def grid(
        self,
        points: ArrayLike,
        material: int,
        tint: ArrayLike,
        parameters: ArrayLike = NO_PARAMETERS,
        uv: Floats | None = None,
    ) -> None:
        """Add a smooth surface through a grid of points."""
        p = np.asarray(points, dtype=np.float64) @ self._turn.T + self._shift
        look = np.array([material, *tint, *parameters], dtype=np.float64)  # type: ignore[misc]
        self._grids.setdefault((p.shape[0], p.shape[1], uv is None), []).append((p, uv, look))

    def quad(
        self,
        corner: ArrayLike,
        along: ArrayLike,
        up: ArrayLike,
        material: int,
        tint: ArrayLike,
        parameters: ArrayLike = NO_PARAMETERS,
    ) -> None:
        """Add a flat parallelogram from a corner and two edges."""
        o, a, b = (np.asarray(v, dtype=np.float64) for v in (corner, along, up))
        self.grid(np.array([[o, o + a], [o + b, o + a + b]]), material, tint, parameters)

    def box(self, low: ArrayLike, high: ArrayLike, material: int, tint: ArrayLike) -> None:
        """Add the six sides of a box."""
        lo, hi = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
        x, y, z = np.diag(hi - lo)
        self.quad(lo, x, z, material, tint)
        self.quad(lo + y, x, z, material, tint)
        self.quad(lo, y, z, material, tint)
        self.quad(lo + x, y, z, material, tint)
        self.quad(lo, x, y, material, tint)
        self.quad(lo + z, x, y, material, tint)

    def tube(
        self,
        path: ArrayLike,
        radius: ArrayLike,
        material: int,
        tint: ArrayLike,
        sides: int = 4,
    ) -> None:
        """Add a round bar along a path of points; the radius may change along it."""
        p = np.asarray(path, dtype=np.float64)
        a, b, _ = frame_along(p[-1] - p[0])
        angle = np.linspace(0, 2 * np.pi, sides + 1)
        ring = np.cos(angle)[:, None] * a + np.sin(angle)[:, None] * b
        r = np.broadcast_to(np.asarray(radius, dtype=np.float64), len(p))
        points = p[:, None, :] + r[:, None, None] * ring[None, :, :]
        around = np.linspace(0, 2 * np.pi * max(float(r.mean()), 1e-4), sides + 1)
        u, v = np.meshgrid(around, np.r_[0, np.cumsum(np.linalg.norm(np.diff(p, axis=0), axis=1))])
        self.grid(points, material, tint, uv=np.stack([v, u], axis=-1))

    def rope(
        self, start: ArrayLike, end: ArrayLike, radius: float, sag: float, tint: ArrayLike
    ) -> None:
        """Add a rope that hangs through by `sag` metres."""
        t = np.linspace(0, 1, 9 if sag else 5)[:, None]
        a, b = np.asarray(start, dtype=np.float64), np.asarray(end, dtype=np.float64)
        path = a + (b - a) * t
        path[:, 2] -= (4 * sag * t * (1 - t))[:, 0]
        self.tube(path, radius, 10, tint)

    def lathe(
        self,
        at: ArrayLike,
        profile: ArrayLike,
        material: int,
        tint: ArrayLike,
        sides: int = 20,
        squash: float = 1.0,
    ) -> None:
        """Add a turned shape: `profile` holds (radius, height) pairs, standing upright."""
        rz = np.asarray(profile, dtype=np.float64)
        angle = np.linspace(0, 2 * np.pi, sides + 1)
        ring = np.stack([np.cos(angle), squash * np.sin(angle), np.zeros_like(angle)], axis=-1)
        points = rz[:, :1, None] * ring[None] + rz[:, 1][:, None, None] * np.array([0, 0, 1.0])
        self.grid(points + np.asarray(at, dtype=np.float64), material, tint)

    def build(self) -> Mesh:
        """Everything collected so far as one mesh; grids of one shape are worked together."""
        parts = []
        for (_, _, measured), grids in self._grids.items():
            points = np.stack([g[0] for g in grids])
            uv = _measured_uv(points) if measured else np.stack([g[1] for g in grids])  # type: ignore[misc]
            du, dv = _differences(points, 2), _differences(points, 1)
            normal = _unit(np.cross(du, dv))
            position, texture = _corners(points), _corners(uv)
            each = len(position) // len(grids)
            look = np.repeat(np.stack([g[2] for g in grids]), each, axis=0)
            parts.append(
                (
                    position.astype(np.float32),
                    _corners(normal).astype(np.float32),
                    texture.astype(np.float32),
                    _tangents(position, texture),
                    look[:, 0].astype(np.int32),
                    look[:, 1:4].astype(np.float32),
                    look[:, 4:].astype(np.float32),
                )
            )
        joined = [
            np.ascontiguousarray(np.concatenate(column)) for column in zip(*parts, strict=True)
        ]
        return Mesh(*joined)


def _measured_uv(points: Floats) -> Floats:
    """Metres along rows and columns, for (grids, rows, columns, 3)."""
    result = np.zeros((*points.shape[:3], 2))
    across = np.linalg.norm(np.diff(points, axis=2), axis=-1).mean(axis=1)
    down = np.linalg.norm(np.diff(points, axis=1), axis=-1).mean(axis=2)
    result[:, :, 1:, 0] = np.cumsum(across, axis=1)[:, None, :]
    result[:, 1:, :, 1] = np.cumsum(down, axis=1)[:, :, None]
    return result


def _differences(points: Floats, axis: int) -> Floats:
    """Central differences inside, one-sided at the ends."""
    count = points.shape[axis]
    after = np.minimum(np.arange(count) + 1, count - 1)
    before = np.maximum(np.arange(count) - 1, 0)
    result: Floats = points.take(after, axis=axis) - points.take(before, axis=axis)
    return result


def _corners(a: Floats) -> Floats:
    """The two triangles of every cell, (triangles, 3, values)."""
    w, x, y, z = a[:, :-1, :-1], a[:, :-1, 1:], a[:, 1:, 1:], a[:, 1:, :-1]
    both = np.stack([np.stack([w, x, y], -2), np.stack([w, y, z], -2)], axis=3)
    return both.reshape(-1, 3, a.shape[-1])


def _tangents(position: Floats, uv: Floats) -> NDArray[np.float32]:
    """Directions in space in which u and v grow, per triangle."""
    e1, e2 = position[:, 1] - position[:, 0], position[:, 2] - position[:, 0]
    t1, t2 = uv[:, 1] - uv[:, 0], uv[:, 2] - uv[:, 0]
    det = t1[:, 0] * t2[:, 1] - t1[:, 1] * t2[:, 0]
    safe = np.where(np.abs(det) < 1e-12, 1e-12, det)[:, None]
    along_u = (e1 * t2[:, 1:2] - e2 * t1[:, 1:2]) / safe
    along_v = (e2 * t1[:, 0:1] - e1 * t2[:, 0:1]) / safe
    return np.stack([_unit(along_u), _unit(along_v)], axis=1).astype(np.float32)
