"""The boat shed of Merrowick from inside: dark planks, a hull on trestles, light from the doors.

Takes a mesh builder; adds the shed with its open end at +y. Metres, floor at 2.1.
Tests: tests/harbour/test_town.py.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from harbour.boats import BLUE_TARP, Boat, add_boat
from harbour.mesh import MeshBuilder
from harbour.noise import fbm_grid
from harbour.surface import (
    BRICK,
    CANVAS,
    GRAVEL,
    HULL,
    IRON,
    ROPE,
    STONE,
    TARP,
    WATER,
    WOOD,
)  # fmt: skip

__all__ = ["add_shed"]

_FLOOR = 2.1
_TIMBER = (0.20, 0.125, 0.07)
_BOARD = (0.17, 0.115, 0.07)
_NONE = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def _walls(m: MeshBuilder) -> None:
    """Boarded sides with gaps that let light in, brick plinth, boarded roof, door posts."""
    wide, deep = 4.6, 15.0
    for side in (-1, 1):
        x = side * wide
        m.quad((x, -5, _FLOOR), (0, deep + 5, 0), (0, 0, 1.0), BRICK, (0.24, 0.09, 0.055), _NONE)
        m.box(
            (min(x, x - side * 0.1), -5, _FLOOR + 1.0),
            (max(x, x - side * 0.1), deep, _FLOOR + 1.08),
            WOOD,
            _TIMBER,
        )
        y = -5.0
        k = 0
        while y < deep:
            gap = 0.012 if k % 9 else 0.05
            low = _FLOOR + 1.08
            # a window of six panes on the right, left open in the boards
            if side == 1 and 7.2 < y < 8.8:
                m.quad((x, y, low), (0, 0.20, 0), (0, 0, 0.55), WOOD, _BOARD, (9.0, 0, 0, 0, 0, 0))
                m.quad(
                    (x, y, low + 1.75),
                    (0, 0.20, 0),
                    (0, 0, 1.1),
                    WOOD,
                    _BOARD,
                    (9.0, 0, 0, 0, 0, 0),
                )
            else:
                corner, along, up = (
                    np.array([x, y, low]),
                    np.array([0, 0.20 - gap, 0]),
                    np.array([0, 0, 2.85]),
                )
                points = np.array([[corner, corner + up], [corner + along, corner + along + up]])
                uv = np.array(
                    [
                        [[k * 3.7, k * 0.2], [k * 3.7 + 2.85, k * 0.2]],
                        [[k * 3.7, k * 0.2 + 0.19], [k * 3.7 + 2.85, k * 0.2 + 0.19]],
                    ]
                )
                m.grid(points, WOOD, _BOARD, (9.0, 0, 0, 0, 0, 0), uv)
            y += 0.20
            k += 1
        for yy in np.arange(-4.0, deep + 0.1, 2.7):
            m.box((x - 0.12, yy - 0.1, _FLOOR), (x + 0.12, yy + 0.1, _FLOOR + 4.0), WOOD, _TIMBER)
        m.box((x - 0.12, -5, _FLOOR + 3.9), (x + 0.12, deep, _FLOOR + 4.1), WOOD, _TIMBER)
        rise = 2.4
        corner = np.array([side * (wide + 0.3), -5, _FLOOR + 3.9])
        m.quad(
            corner,
            (0, deep + 5.3, 0),
            (-side * (wide + 0.3), 0, rise),
            WOOD,
            (0.13, 0.09, 0.06),
            (0.17, 0, 0, 0, 0, 0),
        )
    for y in (8.1, 8.45):
        m.box(
            (4.55, y - 0.02, _FLOOR + 1.63),
            (4.62, y + 0.02, _FLOOR + 2.83),
            WOOD,
            (0.4, 0.38, 0.33),
        )
    m.box((4.55, 7.2, _FLOOR + 2.2), (4.62, 9.0, _FLOOR + 2.24), WOOD, (0.4, 0.38, 0.33))
    for y in np.arange(-4.0, deep + 0.1, 2.7):
        m.box((-wide, y - 0.09, _FLOOR + 4.0), (wide, y + 0.09, _FLOOR + 4.22), WOOD, _TIMBER)
        m.box((-0.08, y - 0.08, _FLOOR + 4.2), (0.08, y + 0.08, _FLOOR + 6.2), WOOD, _TIMBER)
        for side in (-1, 1):
            a, b = np.array([side * wide, y, _FLOOR + 4.1]), np.array([0, y, _FLOOR + 6.25])
            m.tube([a, b], 0.09, WOOD, _TIMBER, 4)
            m.tube(
                [[side * 2.2, y, _FLOOR + 4.1], [side * 0.1, y, _FLOOR + 5.5]],
                0.07,
                WOOD,
                _TIMBER,
                4,
            )
    # the open end: posts, gable above, two door leaves swung outwards
    m.quad(
        (-wide, deep, _FLOOR + 3.9),
        (2 * wide, 0, 0),
        (0, 0, 0.5),
        WOOD,
        _BOARD,
        (0.19, 0, 0, 0, 0, 0),
    )
    m.grid(
        [
            [[-wide, deep, _FLOOR + 4.3], [wide, deep, _FLOOR + 4.3]],
            [[0, deep, _FLOOR + 6.4], [0, deep, _FLOOR + 6.4]],
        ],
        WOOD,
        _BOARD,
        (0.19, 0, 0, 0, 0, 0),
    )
    for side in (-1, 1):
        low, high = sorted((side * 2.9, side * wide))
        m.quad(
            (low, deep, _FLOOR),
            (high - low, 0, 0),
            (0, 0, 4.0),
            WOOD,
            _BOARD,
            (0.19, 0, 0, 0, 0, 0),
        )
        m.box(
            (side * 2.9 - 0.13, deep - 0.15, _FLOOR),
            (side * 2.9 + 0.13, deep + 0.1, _FLOOR + 4.0),
            WOOD,
            _TIMBER,
        )
        m.quad(
            (side * 3.0, deep + 0.1, _FLOOR + 0.05),
            (side * 0.9, 2.6, 0),
            (0, 0, 3.7),
            WOOD,
            (0.05, 0.13, 0.11),
            (0.19, 0, 0, 0, 0, 0),
        )
    m.quad((-wide, -5, _FLOOR), (2 * wide, 0, 0), (0, 0, 7), WOOD, _BOARD, (0.19, 0, 0, 0, 0, 0))


def _floor(m: MeshBuilder) -> None:
    x, y = np.meshgrid(np.linspace(-5, 5, 60), np.linspace(-5, 15.2, 110))
    z = _FLOOR + 0.05 * fbm_grid(x * 0.7, y * 0.7, 4, 401)
    m.grid(np.stack([x, y, z], -1), GRAVEL, (0.20, 0.165, 0.125))
    m.quad((-9, 15.2, _FLOOR), (18, 0, 0), (0, 3.2, 0), STONE, (0.30, 0.27, 0.22))
    m.quad((-2.2, 18.4, _FLOOR), (4.4, 0, 0), (0, 9, -3.2), STONE, (0.26, 0.24, 0.2))
    for side in (-1, 1):
        m.box(
            (side * 2.2 if side > 0 else -14, 18.4, -2),
            (14 if side > 0 else -2.2, 19.4, _FLOOR),
            STONE,
            (0.28, 0.25, 0.2),
        )
    for xx in (-0.75, 0.75):
        m.box((xx - 0.07, 2, _FLOOR), (xx + 0.07, 15.2, _FLOOR + 0.07), IRON, (0.06, 0.05, 0.045))
    m.quad((-500, 18, 0), (1000, 0, 0), (0, 800, 0), WATER, (0, 0, 0))


def _gear(m: MeshBuilder) -> None:
    """Trestles, bench, tins, coils, oars, a ladder and hanging lines."""
    for y in (5.0, 8.6):
        for x in (-1.35, 0.9):
            m.tube([[x, y - 0.3, _FLOOR], [x + 0.2, y, _FLOOR + 0.72]], 0.05, WOOD, _TIMBER, 4)
            m.tube([[x, y + 0.3, _FLOOR], [x + 0.2, y, _FLOOR + 0.72]], 0.05, WOOD, _TIMBER, 4)
        m.box(
            (-1.6, y - 0.07, _FLOOR + 0.68), (1.4, y + 0.07, _FLOOR + 0.80), WOOD, (0.3, 0.2, 0.11)
        )
    m.box((-4.4, 3.2, _FLOOR + 0.86), (-3.55, 8.4, _FLOOR + 0.94), WOOD, (0.30, 0.205, 0.12))
    for y in (3.4, 5.8, 8.2):
        for x in (-4.3, -3.68):
            m.box((x - 0.05, y - 0.05, _FLOOR), (x + 0.05, y + 0.05, _FLOOR + 0.86), WOOD, _TIMBER)
    rng = np.random.default_rng(8)
    tin = [(0.001, 0), (0.09, 0), (0.09, 0.20), (0.095, 0.21), (0.001, 0.21)]
    tints = (
        (0.6, 0.1, 0.02),
        (0.03, 0.1, 0.3),
        (0.5, 0.48, 0.42),
        (0.5, 0.33, 0.03),
        (0.05, 0.2, 0.12),
    )
    for k in range(15):
        at = (-4.15 + 0.4 * rng.random(), 3.5 + 0.31 * k + 0.1 * rng.random(), _FLOOR + 0.94)
        m.lathe(at, [(r * (0.8 + 0.5 * rng.random()), z) for r, z in tin], HULL, tints[k % 5], 14)
    m.box((-4.5, 2.6, _FLOOR + 1.9), (-4.2, 8.6, _FLOOR + 1.95), WOOD, (0.25, 0.17, 0.1))
    for k in range(12):
        at = (-4.36, 2.9 + 0.45 * k + 0.1 * rng.random(), _FLOOR + 1.95)
        m.lathe(
            at,
            [(r * (0.7 + 0.6 * rng.random()), z * 1.3) for r, z in tin],
            HULL,
            tints[(k * 2) % 5],
            12,
        )
    for k, (x, y, r) in enumerate(((3.6, 3.4, 0.42), (3.5, 6.1, 0.36), (-3.2, 10.2, 0.40))):
        for turn in range(5):
            angle = np.linspace(0, 2 * np.pi, 25)
            ring = np.stack(
                [
                    x + r * np.cos(angle),
                    y + r * np.sin(angle),
                    np.full(25, _FLOOR + 0.06 + 0.055 * turn),
                ],
                -1,
            )
            for a, b in pairwise(ring):
                m.tube([a, b], 0.03, ROPE, (0.42, 0.31, 0.17) if k != 1 else (0.05, 0.2, 0.35), 6)
    for k in range(4):
        m.tube(
            [[4.2, 9.6 + 0.35 * k, _FLOOR + 0.05], [4.45, 9.8 + 0.3 * k, _FLOOR + 3.1]],
            0.03,
            WOOD,
            (0.42, 0.28, 0.13),
            8,
        )
        m.box(
            (4.30, 9.66 + 0.33 * k, _FLOOR + 2.5),
            (4.40, 9.84 + 0.33 * k, _FLOOR + 3.3),
            WOOD,
            (0.45, 0.3, 0.14),
        )
    for side in (0.0, 0.5):
        m.tube(
            [[4.0 - 0.2, 4.2 + side, _FLOOR], [4.45, 4.3 + side, _FLOOR + 3.6]],
            0.035,
            WOOD,
            _TIMBER,
            6,
        )
    for k in range(9):
        t = 0.08 + 0.1 * k
        m.tube(
            [
                [3.8 + 0.65 * t, 4.2 + 0.1 * t, _FLOOR + 3.6 * t],
                [3.8 + 0.65 * t, 4.7 + 0.1 * t, _FLOOR + 3.6 * t],
            ],
            0.02,
            WOOD,
            _TIMBER,
            6,
        )
    for k in range(7):
        x, y = -2.8 + 0.9 * k, 6.8 if k % 2 else 9.5
        m.rope(
            (x, y, _FLOOR + 4.0),
            (x + 0.6, y, _FLOOR + 4.0),
            0.016,
            0.5 + 0.22 * (k % 3),
            (0.38, 0.28, 0.16),
        )
    for k in range(6):
        at = (-3.0 + 0.25 * k, 9.5, _FLOOR + 3.3 - 0.1 * (k % 2))
        m.lathe(
            at,
            [(0.001, -0.16), (0.11, -0.1), (0.15, 0.02), (0.1, 0.14), (0.02, 0.18)],
            HULL,
            (0.85, 0.17, 0.015),
            16,
        )
        m.rope(at, (at[0], at[1], _FLOOR + 4.0), 0.008, 0.0, (0.38, 0.28, 0.16))
    across, along = np.meshgrid(np.linspace(-1, 1, 50), np.linspace(-1, 1, 60))
    lump = np.clip(1 - np.maximum(np.abs(across), np.abs(along)) ** 3, 0, 1) ** 0.6
    fold = fbm_grid(across * 1.9, along * 1.9, 4, 410)
    m.grid(
        np.stack(
            [2.9 + 1.0 * across, 9.0 + 1.7 * along, _FLOOR + 1.1 * lump * (0.8 + 0.7 * fold)], -1
        ),
        TARP,
        BLUE_TARP,
    )
    m.grid(
        np.stack(
            [
                -2.5 + 0.8 * across,
                2.6 + 1.0 * along,
                _FLOOR + 0.8 * lump * (0.75 + 0.8 * fold.T[::-1].T),
            ],
            -1,
        ),
        TARP,
        BLUE_TARP,
    )
    for x0, y0, tint in (
        (2.2, 4.3, (0.55, 0.10, 0.015)),
        (2.9, 4.9, (0.03, 0.12, 0.30)),
        (2.35, 5.0, (0.36, 0.27, 0.16)),
    ):
        m.box((x0, y0, _FLOOR), (x0 + 0.6, y0 + 0.45, _FLOOR + 0.32), WOOD, tint)
    m.box((2.3, 4.4, _FLOOR + 0.32), (2.9, 4.85, _FLOOR + 0.62), WOOD, (0.36, 0.27, 0.16))
    m.grid(
        np.stack(
            [-3.3 + 0.7 * across, 12.4 + 0.9 * along, _FLOOR + 0.7 * lump * (0.7 + 0.9 * fold)], -1
        ),
        CANVAS,
        (0.34, 0.07, 0.03),
    )


def add_shed(m: MeshBuilder) -> None:
    """The shed, its floor, the boat being painted, and its gear."""
    _walls(m)
    _floor(m)
    _gear(m)
    work = Boat(
        length=6.2, beam=2.15, freeboard=0.62, tint=(0.74, 0.10, 0.008), draught=0.6, boot=0.02
    )
    before = m.lifted(_FLOOR + 1.30)
    add_boat(m, work, (-0.15, 6.9), 1.53)
    m.lifted(before)
