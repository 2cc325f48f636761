"""The boundary of a gamut, hue by hue: how far it reaches along lines from the grey axis.

Takes triangles in CIELAB, of a device's whole cube or of a picture's segment maxima; gives cusps
and reaches. A leaf is the cut through a gamut at one hue, chroma across and lightness up.
Theory: docs/theory/repairs.md. Tests: tests/benchmarks/test_sgck.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "HUES",
    "Chromas",
    "Reaches",
    "chromas",
    "cube_surface",
    "cusps",
    "grey_ends",
    "leaf",
    "reaches",
    "segment_maxima",
]

HUES: Final = 180  # 2 degrees
_ANGLES: Final = 361  # half a degree
_LIGHTS: Final = 101
_STEEPEST: Final = np.radians(89.99)
_SECTORS: Final = 16  # of hue and of height, as the method is published
_MIDDLE_L: Final = 50.0
_SMALL: Final = 1e-9
_ASIDE: Final = 1e-6  # radians, so that no corner lies in the plane of a cut

Floats = NDArray[np.float64]


def cube_surface(shown: Callable[[Floats], NDArray[Any]], steps: int = 33) -> Floats:
    """Triangles of the surface of a three-channel device's gamut, (n, 3, 3) CIELAB.

    Parameters
    ----------
    shown
        CIELAB of device values 0..1.
    steps
        Places along each edge of the cube.
    """
    axis = np.linspace(0.0, 1.0, steps)
    one, two = np.meshgrid(axis, axis, indexing="ij")
    faces = []
    for channel in range(3):
        for level in (0.0, 1.0):
            device = np.full((steps, steps, 3), level)
            device[..., (channel + 1) % 3] = one
            device[..., (channel + 2) % 3] = two
            faces.append(_triangles(np.asarray(shown(device), dtype=np.float64)))
    return np.concatenate(faces)


def _triangles(grid: Floats) -> Floats:
    """Two triangles for each mesh of a grid of points, (rows, columns, 3)."""
    here, right, below, across = grid[:-1, :-1], grid[:-1, 1:], grid[1:, :-1], grid[1:, 1:]
    halves = [np.stack(three, axis=-2) for three in ((here, right, below), (right, across, below))]
    return np.concatenate([half.reshape(-1, 3, 3) for half in halves])


def segment_maxima(lab: NDArray[Any]) -> Floats:
    """Triangles around a picture's colours, by segment maxima.

    Notes
    -----
    Seen from L* 50 on the grey axis, 16 hues times 16 heights; of each segment the colour
    furthest out is kept (Morovic and Luo). Empty segments take the mean reach of their
    neighbours, ring after ring: our own filling, they hold no colour of the picture.
    """
    colours = np.asarray(lab, dtype=np.float64).reshape(-1, 3)
    away = colours - (_MIDDLE_L, 0.0, 0.0)
    radius = np.linalg.norm(away, axis=1)
    chroma = np.hypot(away[:, 1], away[:, 2])
    turn = np.mod(np.arctan2(away[:, 2], away[:, 1]) / (2.0 * np.pi), 1.0)
    fall = np.arctan2(chroma, away[:, 0]) / np.pi  # 0 at white, 1 at black
    column = np.minimum((turn * _SECTORS).astype(np.int64), _SECTORS - 1)
    row = np.minimum((fall * _SECTORS).astype(np.int64), _SECTORS - 1)
    order = np.argsort(radius, kind="stable")  # the furthest is written last
    furthest = np.full((_SECTORS, _SECTORS), -1)
    furthest[row[order], column[order]] = order
    points = _filled(colours, radius, furthest)
    ends = [np.full((1, _SECTORS, 3), 0.0) for _ in range(2)]
    ends[0][..., 0], ends[1][..., 0] = colours[:, 0].max(), colours[:, 0].min()
    rings = np.concatenate([ends[0], points, ends[1]])
    return _triangles(np.concatenate([rings, rings[:, :1]], axis=1))


def _filled(colours: Floats, radius: Floats, furthest: NDArray[Any]) -> Floats:
    held = furthest >= 0
    reach = np.where(held, radius[furthest], 0.0)
    known = held.copy()
    while not known.all():
        total, count = np.zeros(reach.shape), np.zeros(reach.shape)
        for up, along in ((-1, 0), (1, 0), (0, -1), (0, 1)):
            beside, there = (np.roll(one, along, axis=1) for one in (reach * known, known * 1.0))
            beside, there = (np.roll(one, up, axis=0) for one in (beside, there))
            if up:  # heights do not go round
                edge = 0 if up > 0 else -1
                beside[edge], there[edge] = 0.0, 0.0
            total, count = total + beside, count + there
        new = ~known & (count > 0)
        reach[new] = total[new] / count[new]
        known |= new
    fall = (np.arange(_SECTORS) + 0.5)[:, None] * np.pi / _SECTORS
    turn = (np.arange(_SECTORS) + 0.5)[None, :] * 2.0 * np.pi / _SECTORS
    middle = np.stack(
        [
            _MIDDLE_L + reach * np.cos(fall),
            reach * np.sin(fall) * np.cos(turn),
            reach * np.sin(fall) * np.sin(turn),
        ],
        axis=-1,
    )
    return np.where(held[..., None], colours[furthest], middle)


def leaf(triangles: Floats, hue: float) -> Floats:
    """Segments of the cut at one hue in radians, (n, 2, 2): both ends, chroma and L*."""
    hue += _ASIDE
    across = triangles[..., 2] * np.cos(hue) - triangles[..., 1] * np.sin(hue)
    along = triangles[..., 1] * np.cos(hue) + triangles[..., 2] * np.sin(hue)
    side = across >= 0.0
    cut = side.any(axis=1) & ~side.all(axis=1)
    across, along, side = across[cut], along[cut], side[cut]
    light = triangles[cut, :, 0]
    lone = np.where(side.sum(axis=1) == 1, side.argmax(axis=1), (~side).argmax(axis=1))
    ends = []
    rows = np.arange(lone.size)
    for step in (1, 2):  # the lone corner's two edges cross the plane
        other = (lone + step) % 3
        part = across[rows, lone] / (across[rows, lone] - across[rows, other])
        ends.append(
            np.stack(
                [
                    one[rows, lone] + part * (one[rows, other] - one[rows, lone])
                    for one in (along, light)
                ],
                axis=-1,
            )
        )
    return _at_this_hue(np.stack(ends, axis=1))


def _at_this_hue(segments: Floats) -> Floats:
    """What lies on this side of the grey axis; the plane holds the opposite hue too."""
    chroma = segments[..., 0]
    kept = segments[(chroma >= 0.0).any(axis=1)].copy()
    for near, far in ((0, 1), (1, 0)):
        beyond = kept[:, near, 0] < 0.0
        part = kept[beyond, far, 0] / (kept[beyond, far, 0] - kept[beyond, near, 0])
        kept[beyond, near] = kept[beyond, far] + part[:, None] * (
            kept[beyond, near] - kept[beyond, far]
        )
        kept[beyond, near, 0] = 0.0
    return kept


def hue_angles() -> Floats:
    """The hues of all tables, radians."""
    angles: Floats = np.arange(HUES, dtype=np.float64) * (2.0 * np.pi / HUES)
    return angles


def cusps(triangles: Floats) -> Floats:
    """L* and chroma of the most vivid colour at each hue, (HUES, 2)."""
    found = np.zeros((HUES, 2))
    for place, hue in enumerate(hue_angles()):
        ends = leaf(triangles, float(hue)).reshape(-1, 2)
        chroma, light = ends[ends[:, 0].argmax()]
        found[place] = light, chroma
    return found


def grey_ends(triangles: Floats) -> tuple[float, float]:
    """L* between which greys without any cast lie inside."""
    low, high = [], []
    for hue in hue_angles():
        ends = leaf(triangles, float(hue)).reshape(-1, 2)
        on_axis = ends[ends[:, 0] <= 1e-6, 1]
        low.append(on_axis.min(initial=100.0))
        high.append(on_axis.max(initial=0.0))
    return float(np.median(low)), float(np.median(high))


@dataclass(frozen=True, eq=False)
class Reaches:
    """Distance from a point of the grey axis to the boundary, by hue and by angle."""

    focus_l: Floats  # (HUES,), L* from which lines go out
    distance: Floats  # (HUES, angles)

    def focus_at(self, hue: Floats) -> Floats:
        """The focus at hues in radians."""
        place = np.mod(hue / (2.0 * np.pi), 1.0) * HUES
        around = np.append(self.focus_l, self.focus_l[0])
        focus: Floats = np.interp(place, np.arange(HUES + 1), around)
        return focus

    def at(self, hue: Floats, angle: Floats) -> Floats:
        """Distance at hues and angles in radians; the angle is 0 level, positive up."""
        return _between(self.distance, hue, (angle / _STEEPEST + 1.0) / 2.0)


@dataclass(frozen=True, eq=False)
class Chromas:
    """Chroma of the boundary, by hue and by lightness."""

    chroma: Floats  # (HUES, lightnesses), 0 where nothing lies

    def at(self, hue: Floats, lightness: Floats) -> Floats:
        """Largest chroma at hues in radians and lightnesses 0..100."""
        return _between(self.chroma, hue, lightness / 100.0)


def _between(table: Floats, hue: Floats, share: Floats) -> Floats:
    """A table over hue, which goes round, and a share 0..1, which ends; linear between places."""
    last = table.shape[1] - 1
    column = np.mod(hue / (2.0 * np.pi), 1.0) * HUES
    row = np.clip(share, 0.0, 1.0) * last
    left, low = column.astype(np.int64), np.minimum(row.astype(np.int64), last - 1)
    right, up = column - left, row - low
    left, beside = left % HUES, (left + 1) % HUES
    here, there = (
        table[one, low] * (1.0 - up) + table[one, low + 1] * up for one in (left, beside)
    )
    between: Floats = here * (1.0 - right) + there * right
    return between


def chromas(triangles: Floats) -> Chromas:
    """How vivid a gamut is at each lightness and hue."""
    lights = np.linspace(0.0, 100.0, _LIGHTS)[:, None]
    table = np.zeros((HUES, _LIGHTS))
    for place, hue in enumerate(hue_angles()):
        segments = leaf(triangles, float(hue))
        rise = segments[:, 1, 1] - segments[:, 0, 1]
        safe = np.where(np.abs(rise) < _SMALL, np.inf, rise)
        part = (lights - segments[:, 0, 1]) / safe
        there = segments[:, 0, 0] + part * (segments[:, 1, 0] - segments[:, 0, 0])
        met = (part >= 0.0) & (part <= 1.0) & np.isfinite(safe)
        table[place] = np.where(met, there, 0.0).max(axis=1, initial=0.0)
    return Chromas(table)


def reaches(triangles: Floats, focus_l: Floats) -> Reaches:
    """How far lines from the grey axis go before they leave the gamut for good."""
    angles = np.linspace(-_STEEPEST, _STEEPEST, _ANGLES)
    way = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    table = np.zeros((HUES, _ANGLES))
    for place, hue in enumerate(hue_angles()):
        segments = leaf(triangles, float(hue)) - (0.0, focus_l[place])
        start, along = segments[:, 0], segments[:, 1] - segments[:, 0]
        slant = way[:, 0:1] * along[:, 1] - way[:, 1:2] * along[:, 0]  # (angles, segments)
        safe = np.where(np.abs(slant) < _SMALL, np.inf, slant)
        distance = (start[:, 0] * along[:, 1] - start[:, 1] * along[:, 0]) / safe
        part = (start[:, 0] * way[:, 1:2] - start[:, 1] * way[:, 0:1]) / safe
        met = (part >= -1e-6) & (part <= 1.0 + 1e-6) & (distance > 0.0) & np.isfinite(safe)
        table[place] = np.where(met, distance, 0.0).max(axis=1, initial=0.0)
    return Reaches(focus_l, table)
