"""Boats of Merrowick: hulls lofted from a few numbers, with masts, rigging, covers and gear.

Takes a mesh builder and the boat's numbers; adds surfaces. Own axes: x to the bow, z up,
waterline at 0. Tests: tests/harbour/test_town.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harbour.mesh import MeshBuilder
from harbour.surface import CANVAS, HULL, IRON, TARP, VARNISH, WHITEWASH, WOOD

__all__ = ["BLUE_TARP", "Boat", "add_boat"]

Tint = tuple[float, float, float]
Floats = NDArray[np.float64]
BLUE_TARP: Tint = (0.006, 0.035, 0.30)
_ROPE: Tint = (0.33, 0.25, 0.15)
_WIRE: Tint = (0.10, 0.10, 0.10)
_SPAR: Tint = (0.42, 0.20, 0.07)


@dataclass(frozen=True, kw_only=True)
class Boat:
    """One boat in numbers, metres."""

    length: float
    beam: float
    freeboard: float
    tint: Tint
    draught: float = 0.5
    masts: tuple[tuple[float, float], ...] = ()  # (place along the hull -1..1, height)
    cabin: float = 0.0  # length; 0 = open boat
    cover: Tint | None = None  # tarpaulin over the middle
    cover_span: tuple[float, float] = (-0.55, 0.5)
    sail: Tint | None = None  # furled on the boom
    boot: float = 0.16
    detail: bool = True


def _half_beam(boat: Boat, s: Floats) -> Floats:
    """Half breadth at the sheer, s from -1 (stern) to 1 (bow)."""
    fore = np.clip(1 - np.clip(s, 0, 1) ** 2.3, 0, 1) ** 0.85
    aft = 1 - 0.42 * np.clip(-s, 0, 1) ** 2.2
    result: Floats = boat.beam / 2 * np.where(s > 0, fore, aft)
    return result


def _sheer(boat: Boat, s: Floats) -> Floats:
    """Height of the gunwale."""
    result: Floats = boat.freeboard * (
        1 + 0.55 * np.clip(s + 0.15, 0, 2) ** 2 + 0.12 * np.clip(-s, 0, 1) ** 2
    )
    return result


def _at(boat: Boat, s: float, across: float = 0.0, above: float = 0.0) -> Floats:
    """A point by place along the hull, share of the half beam, and height above the sheer."""
    one = np.array([s])
    x = s * boat.length / 2 + 0.06 * boat.length * max(s, 0) ** 2
    return np.array([x, across * _half_beam(boat, one)[0], _sheer(boat, one)[0] + above])


def _hull(m: MeshBuilder, boat: Boat) -> None:
    s = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 30))
    t = np.linspace(0, 1, 12)
    half, sheer = _half_beam(boat, s), _sheer(boat, s)
    keel = -boat.draught * (1 - 0.75 * np.clip(s, 0, 1) ** 3 - 0.35 * np.clip(-s, 0, 1) ** 2)
    parameters = (boat.boot, 0.06, 0.0, 0.0, 0.0, 0.0)
    for side in (-1, 1):
        fullness = np.sin(t * np.pi / 2) ** (0.55 + 0.55 * np.clip(s, 0, 1)[:, None] ** 2)
        z = keel[:, None] + (sheer - keel)[:, None] * t**1.25
        rake = 0.06 * boat.length * np.clip(s, 0, 1)[:, None] ** 2 * (0.25 + 0.75 * t)
        x = s[:, None] * boat.length / 2 + rake
        y = side * half[:, None] * fullness
        points = np.stack([np.broadcast_to(x, z.shape), y, z], axis=-1)
        uv = np.stack([np.broadcast_to(x + 3.3 * side, z.shape), z], axis=-1)
        m.grid(points, HULL, boat.tint, parameters, uv)
        top = points[:, -1]
        m.tube(top + np.array([0, side * 0.015, 0.0]), 0.045, VARNISH, _SPAR, 8)
        m.tube(top - np.array([0, -side * 0.008, 0.17]), 0.02, HULL, (0.7, 0.68, 0.6), 6)
    end = points[0]
    m.grid(
        np.stack([end, end * np.array([1, -1, 1])], axis=1),
        HULL,
        boat.tint,
        parameters,
        np.stack([np.stack([end[:, 1], end[:, 2]], -1), np.stack([-end[:, 1], end[:, 2]], -1)], 1),
    )
    across = np.linspace(-1, 1, 7)
    drop = 0.13 if boat.cabin else 0.38
    deck = np.stack(
        [
            np.broadcast_to(
                s[:, None] * boat.length / 2 + 0.06 * boat.length * np.clip(s, 0, 1)[:, None] ** 2,
                (30, 7),
            ),
            half[:, None] * across * 0.985,
            sheer[:, None] - drop + 0.05 * (1 - across**2),
        ],
        axis=-1,
    )
    deck_uv = np.stack([deck[..., 0], deck[..., 1]], -1)
    m.grid(deck, WOOD, (0.36, 0.27, 0.17), (0.09, 0, 0, 0, 0, 0), deck_uv)
    if not boat.cabin:
        for place in (-0.5, -0.1, 0.3):
            a, b = _at(boat, place, -0.93, -0.16), _at(boat, place, 0.93, -0.12)
            m.box(
                a - np.array([0.11, 0, 0.02]),
                b + np.array([0.11, 0, 0.0]),
                WOOD,
                (0.40, 0.28, 0.16),
            )


def _cabin(m: MeshBuilder, boat: Boat) -> None:
    """A low house with rounded roof and dark windows."""
    x0 = -0.22 * boat.length
    x1, wide = x0 + boat.cabin, boat.beam * 0.30
    low, high = boat.freeboard * 0.85, boat.freeboard + 0.85
    m.box((x0, -wide, low), (x1, wide, high), WHITEWASH, (0.66, 0.64, 0.58))
    t = np.linspace(-1.12, 1.12, 9)
    roof = np.stack(
        [
            np.stack([np.full(9, x), wide * t, high + 0.10 - 0.09 * t**2], -1)
            for x in (x0 - 0.12, x1 + 0.18)
        ]
    )
    m.grid(roof, HULL, (0.5, 0.52, 0.48))
    for x in np.arange(x0 + 0.22, x1 - 0.3, 0.55):
        for side in (-1, 1):
            y = side * (wide + 0.006)
            m.quad(
                (x, y, low + 0.5 * (high - low)),
                (0.36, 0, 0),
                (0, 0, 0.27),
                HULL,
                (0.01, 0.013, 0.016),
            )
    m.quad(
        (x1 + 0.006, -wide * 0.8, low + 0.55 * (high - low)),
        (0, wide * 1.6, 0),
        (0, 0, 0.28),
        HULL,
        (0.01, 0.013, 0.016),
    )


def _cover(m: MeshBuilder, boat: Boat, tint: Tint) -> None:
    """A tarpaulin over a ridge, sagging between ties and hanging over the gunwale."""
    s = np.linspace(*boat.cover_span, 60)
    t = np.linspace(-1.12, 1.12, 41)
    half, sheer = _half_beam(boat, s)[:, None], _sheer(boat, s)[:, None]
    ridge = 0.42 + 0.10 * np.sin(9 * s[:, None]) ** 2
    inside = np.clip(np.abs(t), 0, 1)
    sag = 0.10 * np.sin(np.pi * inside) * (0.6 + 0.4 * np.cos(26 * s[:, None]))
    hang = np.clip(np.abs(t) - 1.0, 0, 1) * (2.6 + 0.7 * np.cos(26 * s[:, None]))
    z = sheer + 0.05 + ridge * (1 - inside**1.15) - sag - hang
    z = z + 0.014 * np.sin(31 * s[:, None] + 5 * t) * np.cos(17 * t - 8 * s[:, None])
    y = (
        half * np.sign(t) * np.minimum(np.abs(t), 1.0 + 0.03 * np.sin(40 * s[:, None]))
        + np.sign(t) * 0.07 * inside**3
    )
    x = s[:, None] * boat.length / 2 + 0.06 * boat.length * np.clip(s[:, None], 0, 1) ** 2
    m.grid(np.stack([np.broadcast_to(x, z.shape), y, z], axis=-1), TARP, tint)
    for k in np.arange(boat.cover_span[0] + 0.04, boat.cover_span[1], 0.12):
        for side in (-1, 1):
            a = _at(boat, float(k), side * 1.02, -0.24) + np.array([0, side * 0.06, 0])
            m.rope(a, a + np.array([0.03, -side * 0.05, -0.45]), 0.006, 0.0, _ROPE)


def _rig(m: MeshBuilder, boat: Boat, place: float, height: float, last: bool) -> None:
    """A mast with crosstrees, shrouds with ratlines, stays, halyards, boom and furled sail."""
    foot, fine = _at(boat, place, 0, -0.3), boat.detail
    r = 0.010 * height
    top = foot + np.array([-0.012 * height, 0, height])
    m.tube(np.linspace(foot, top, 6), np.linspace(r, 0.5 * r, 6), VARNISH, _SPAR, 10 if fine else 6)
    m.lathe(top, [(0.0, 0.12), (0.5 * r + 0.02, 0.06), (0.4 * r, 0.0)], IRON, (0.5, 0.42, 0.2), 8)
    wire = 0.008 if fine else 0.011

    def up(share: float) -> Floats:
        point: Floats = foot + (top - foot) * share
        return point

    spread = 0.30 * boat.beam
    cross = up(0.60)
    m.tube([cross - [0, spread, 0], cross + [0, spread, 0]], 0.03, VARNISH, _SPAR, 6)
    for side in (-1, 1):
        chain = [_at(boat, place + d, side * 0.97) for d in (-0.16, -0.05, 0.04)]
        ends = [up(0.88), up(0.88), up(0.62)]
        for c, e in zip(chain, ends, strict=True):
            m.rope(c, e, wire, 0.0, _WIRE)
            m.tube([c, c + (e - c) * 0.05], 0.03, IRON, (0.2, 0.16, 0.12), 6)
        if fine:
            for k in np.linspace(0.10, 0.62, 14):
                a = chain[0] + (ends[0] - chain[0]) * k
                b = chain[1] + (ends[1] - chain[1]) * k
                m.rope(a, b, 0.006, 0.0, _ROPE)
        m.rope(_at(boat, place - 0.1, side * 0.97), cross + [0, side * spread, 0], wire, 0.0, _WIRE)
        m.rope(cross + [0, side * spread, 0], up(0.97), wire, 0.0, _WIRE)
        m.rope(
            up(0.9) + [0.05, side * 0.06, 0], foot + [0.08, side * 0.14, 0.9], 0.007, 0.02, _ROPE
        )
        m.rope(
            up(0.6) + [-0.05, side * 0.06, 0], foot + [-0.3, side * 0.3, 0.8], 0.007, 0.03, _ROPE
        )
    m.rope(up(0.98), _at(boat, 0.98, 0, 0.05), wire, 0.0, _WIRE)
    m.rope(up(0.72), _at(boat, 0.80, 0, 0.05), wire, 0.0, _WIRE)
    if last:
        for quarter in (-0.6, 0.6):
            m.rope(up(0.98), _at(boat, -0.97, quarter), wire, 0.05, _WIRE)
    reach = min(0.42 * height, (place + 1) * boat.length / 2 + 0.3)
    gooseneck = foot + np.array([-0.1, 0, 1.35])
    end = gooseneck + np.array([-reach, 0.03, 0.12])
    m.tube([gooseneck, end], 0.055, VARNISH, _SPAR, 8)
    m.rope(end, up(0.97), 0.007, 0.04, _ROPE)
    m.rope(end, _at(boat, max(place - 0.95, -0.9), 0.0), 0.009, 0.03, _ROPE)
    if boat.sail is not None:
        path = np.linspace(gooseneck + [-0.05, 0, 0.17], end + [0.25, 0, 0.13], 26)
        along = np.linspace(0, 1, 26)
        fat = 0.17 * (1 - 0.45 * along) * (1 - 0.22 * np.abs(np.cos(along * np.pi * 8)) ** 6)
        path[:, 2] += 0.02 * np.sin(along * 21)
        m.tube(path, fat, CANVAS, boat.sail, 12)
        for k in range(1, 8):
            p = path[0] + (path[-1] - path[0]) * k / 8
            m.rope(p + [0, 0.12, -0.12], p + [0, -0.12, -0.12], 0.01, 0.1, _ROPE)


def add_boat(
    m: MeshBuilder, boat: Boat, at: tuple[float, float], heading: float, heel: float = 0.0
) -> None:
    """Moor a boat with its middle at a place; heading 0 points the bow to +x."""
    m.place((at[0], at[1], 0.0), heading, heel)
    _hull(m, boat)
    if boat.cabin:
        _cabin(m, boat)
    if boat.cover is not None:
        _cover(m, boat, boat.cover)
    for number, (place, height) in enumerate(boat.masts):
        _rig(m, boat, place, height, number == len(boat.masts) - 1)
    if boat.masts and boat.length > 8:
        bow = _at(boat, 0.96, 0, 0.02)
        m.tube([bow, bow + [0.16 * boat.length, 0, 0.05 * boat.length]], 0.07, VARNISH, _SPAR, 8)
        m.rope(
            bow + [0.155 * boat.length, 0, 0.05 * boat.length],
            _at(boat, boat.masts[0][0], 0, boat.masts[0][1] * 0.9),
            0.009,
            0.0,
            _WIRE,
        )
        m.rope(
            bow + [0.155 * boat.length, 0, 0.05 * boat.length],
            _at(boat, 0.93, 0, -0.75),
            0.01,
            0.0,
            _WIRE,
        )
    for k, colour in (
        (-0.45, (0.75, 0.16, 0.02)),
        (0.1, (0.6, 0.6, 0.56)),
        (0.42, (0.75, 0.16, 0.02)),
    ):
        for side in (-1, 1):
            p = _at(boat, k, side * 1.0, -0.62) + [0, side * 0.13, 0]
            ball = [(0.001, -0.2), (0.09, -0.16), (0.12, 0.0), (0.09, 0.16), (0.02, 0.22)]
            m.lathe(p, ball, HULL, colour, 12)
            m.rope(p + [0, 0, 0.2], _at(boat, k, side * 0.98, 0.02), 0.008, 0.0, _ROPE)
    m.place()
