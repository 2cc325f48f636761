"""Merrowick itself: quays, ferry stairs, warehouses, houses, pier light, hills and gear.

Takes a mesh builder; adds the parts a picture needs. Metres, x right, y away from the ferry
stairs, z up, mean water at 0, quay at 2.1. Tests: tests/harbour/test_town.py.
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
    HILL,
    HULL,
    IRON,
    LAMP,
    PAVING,
    PLASTER,
    ROOF,
    STONE,
    TARP,
    WATER,
    WHITEWASH,
    WOOD,
)  # fmt: skip

__all__ = [
    "QUAY_Z",
    "add_basin",
    "add_fleet",
    "add_pier_light",
    "add_quay_gear",
    "add_stairs",
    "add_town",
]

QUAY_Z = 2.1
_BRICK = (0.33, 0.105, 0.055)
_BROWN_BRICK = (0.22, 0.105, 0.065)
_STONE = (0.30, 0.27, 0.22)
_TILE = (0.30, 0.105, 0.055)
_SLATE = (0.085, 0.095, 0.11)
_IRON = (0.035, 0.038, 0.04)

Tint = tuple[float, float, float]


def _house(
    m: MeshBuilder, x: float, y: float, wide: float, deep: float, eaves: float, rise: float,
    *, wall: int, tint: Tint, roof: Tint, turn: float, gable: bool, windows: bool = True,
) -> None:  # fmt: skip
    """A house whose front starts at a corner and runs along `turn`; the yard lies behind."""
    m.place((x, y, QUAY_Z), turn)
    storeys = max(round(eaves / 3.1), 1)
    columns = max(int(wide / 2.2), 1)
    pitch_u, pitch_v = wide / columns, eaves / storeys
    opening = (pitch_u, pitch_v, 1.05, min(1.65, pitch_v - 1.2), (pitch_u - 1.05) / 2, 1.0)
    if not windows:
        opening = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    none = (0.0,) * 6
    m.quad((0, 0, 0), (wide, 0, 0), (0, 0, eaves), wall, tint, opening)
    m.quad((0, deep, 0), (wide, 0, 0), (0, 0, eaves), wall, tint, none)
    side = (3.0, pitch_v, 0.9, min(1.5, pitch_v - 1.2), 1.2, 1.0)
    m.quad((0, deep, 0), (0, -deep, 0), (0, 0, eaves), wall, tint, side if windows else none)
    m.quad((wide, 0, 0), (0, deep, 0), (0, 0, eaves), wall, tint, side if windows else none)
    over = 0.28
    if gable:  # ridge runs away from the front
        mid = wide / 2
        for yy in (0.0, deep):
            m.grid(
                [
                    [[0, yy, eaves], [wide, yy, eaves]],
                    [[mid, yy, eaves + rise], [mid, yy, eaves + rise]],
                ],
                wall,
                tint,
                none,
                np.array([[[0, eaves], [wide, eaves]], [[mid, eaves + rise], [mid, eaves + rise]]]),
            )
        up = np.array([mid + over, 0, rise * (1 + over / mid)])
        m.quad(
            (-over, deep + over, eaves - rise * over / mid),
            (0, -deep - 2 * over, 0),
            up,
            ROOF,
            roof,
        )
        m.quad(
            (wide + over, -over, eaves - rise * over / mid),
            (0, deep + 2 * over, 0),
            up * [-1, 1, 1],
            ROOF,
            roof,
        )
        m.tube([[mid, -over, eaves + rise], [mid, deep + over, eaves + rise]], 0.11, ROOF, roof, 6)
    else:
        mid = deep / 2
        for xx in (0.0, wide):
            m.grid(
                [
                    [[xx, 0, eaves], [xx, deep, eaves]],
                    [[xx, mid, eaves + rise], [xx, mid, eaves + rise]],
                ],
                wall,
                tint,
            )
        up = np.array([0, mid + over, rise * (1 + over / mid)])
        m.quad((-over, -over, eaves - rise * over / mid), (wide + 2 * over, 0, 0), up, ROOF, roof)
        m.quad(
            (wide + over, deep + over, eaves - rise * over / mid),
            (-wide - 2 * over, 0, 0),
            up * [1, -1, 1],
            ROOF,
            roof,
        )
        m.tube([[-over, mid, eaves + rise], [wide + over, mid, eaves + rise]], 0.11, ROOF, roof, 6)
    m.tube([[-0.1, -0.22, eaves - 0.1], [wide + 0.1, -0.22, eaves - 0.1]], 0.07, IRON, _IRON, 6)
    m.tube([[0.25, -0.10, eaves - 0.1], [0.25, -0.10, 0.1]], 0.045, IRON, _IRON, 6)
    cx = wide * 0.72
    m.box(
        (cx, deep * 0.42, eaves),
        (cx + 0.8, deep * 0.42 + 0.8, eaves + rise + 0.9),
        BRICK,
        tint if wall == BRICK else _BRICK,
    )
    for dx in (0.2, 0.6):
        m.lathe(
            (cx + dx, deep * 0.42 + 0.4, eaves + rise + 0.9),
            [(0.13, 0), (0.11, 0.4), (0.14, 0.45)],
            ROOF,
            _TILE,
            10,
        )
    m.box((wide * 0.42, -0.05, 0.0), (wide * 0.42 + 1.3, 0.0, 2.3), WOOD, (0.03, 0.09, 0.075))
    m.box((wide * 0.42 - 0.14, -0.08, 2.3), (wide * 0.42 + 1.44, 0.0, 2.52), STONE, _STONE)
    m.place()


def add_town(m: MeshBuilder, *, left: bool = True, far: bool = True) -> None:
    """Warehouses along the left quay, houses across the basin, a church, wooded hills."""
    rng = np.random.default_rng(11)
    if left:
        y = 7.0
        for k in range(7):
            wide = float(rng.uniform(6.2, 8.6))
            _house(
                m, -11.5, y, wide, 11.0, float(rng.uniform(6.4, 9.6)), float(rng.uniform(2.8, 4.2)),
                wall=BRICK if k % 3 != 2 else PLASTER,
                tint=(_BRICK, _BROWN_BRICK, (0.50, 0.44, 0.33))[k % 3],
                roof=_TILE if k % 2 else _SLATE, turn=np.pi / 2, gable=k % 2 == 0,
            )  # fmt: skip
            y += wide + (0.02 if k != 3 else 2.6)
    if far:
        tints: list[Tint] = [
            (0.56, 0.47, 0.32), (0.50, 0.20, 0.12), (0.62, 0.60, 0.54), (0.28, 0.36, 0.38),
            (0.60, 0.40, 0.16), (0.55, 0.52, 0.44), (0.42, 0.16, 0.13),
        ]  # fmt: skip
        for row, (y0, base) in enumerate(((78.0, 0.0), (92.0, 3.0), (108.0, 7.0))):
            x = -46.0 - 5 * row
            k = row
            while x < 82:
                wide = float(rng.uniform(5.2, 9.0))
                _house(
                    m, x, y0 + float(rng.uniform(-0.6, 0.6)), wide, 9.0,
                    float(rng.uniform(5.4, 9.2)) + base, float(rng.uniform(2.4, 3.8)),
                    wall=BRICK if k % 4 == 1 else PLASTER, tint=tints[k % 7],
                    roof=_TILE if rng.random() < 0.6 else _SLATE, turn=0.0,
                    gable=bool(rng.random() < 0.45),
                )  # fmt: skip
                x += wide + (0.02 if rng.random() < 0.75 else 1.8)
                k += int(rng.integers(1, 4))
        m.box((27, 116, 2), (34, 123, 27), STONE, (0.34, 0.31, 0.26))
        m.lathe((30.5, 119.5, 27), [(4.9, 0.0), (3.4, 1.2), (0.05, 17.0)], ROOF, _SLATE, 8)
        m.box((-60, 77.2, 0), (90, 77.9, QUAY_Z), STONE, _STONE)
        m.quad((-60, 72, QUAY_Z), (150, 0, 0), (0, 60, 0), PAVING, (0.22, 0.2, 0.18))
        m.quad((-60, 72, -2), (150, 0, 0), (0, 0, QUAY_Z + 2), STONE, _STONE)
    gx, gy = np.meshgrid(np.linspace(-420, 520, 60), np.linspace(130, 620, 28))
    rise = fbm_grid(gx * 0.006, gy * 0.006, 4, 301)
    height = 58 * np.clip((gy - 130) / 330, 0, 1) ** 0.8 * (0.85 + 0.9 * rise) - 1.5
    height += 4 * fbm_grid(gx * 0.05, gy * 0.05, 3, 302)
    uv = np.stack([gx, gy], axis=-1)
    m.grid(np.stack([gx, gy, height], axis=-1), HILL, (0.075, 0.10, 0.035), uv=uv)


def add_basin(m: MeshBuilder, *, quay: bool = True) -> None:
    """Water, the left quay and its paving."""
    m.quad((-500, -60, 0), (1200, 0, 0), (0, 900, 0), WATER, (0, 0, 0))
    if not quay:
        return
    m.quad((-5, -20, -2), (0, 95, 0), (0, 0, QUAY_Z + 2), STONE, _STONE)
    m.box((-5.55, -20, QUAY_Z), (-4.93, 75, QUAY_Z + 0.16), STONE, (0.36, 0.33, 0.28))
    m.quad((-30, -20, QUAY_Z), (24.8, 0, 0), (0, 95, 0), PAVING, (0.25, 0.225, 0.195))


def add_stairs(m: MeshBuilder, y: float = 8.0) -> None:
    """The ferry stairs, going down along the quay wall, with chain posts."""
    for k in range(14):
        top = QUAY_Z + 0.16 - 0.185 * k
        near = y + 0.36 * k
        m.box((-5.0, near, -2.0), (-3.25, near + 0.37, top), STONE, (0.34, 0.31, 0.26))
    m.box((-5.0, y - 1.6, -2.0), (-3.25, y, QUAY_Z + 0.16), STONE, (0.33, 0.30, 0.25))
    tops = []
    for k in range(0, 14, 4):
        at = np.array([-3.36, y + 0.36 * k + 0.15, QUAY_Z + 0.16 - 0.185 * k])
        m.lathe(
            at,
            [(0.05, 0.0), (0.035, 0.1), (0.035, 0.95), (0.06, 1.0), (0.001, 1.06)],
            IRON,
            _IRON,
            10,
        )
        tops.append(at + [0, 0, 0.95])
    for a, b in pairwise(tops):
        m.rope(a, b, 0.016, 0.14, (0.05, 0.045, 0.04))


def add_quay_gear(m: MeshBuilder) -> None:
    """Bollards, lamps, barrels, crates, a heap under canvas, nets and mooring ropes."""
    bollard = [
        (0.26, 0.0),
        (0.24, 0.06),
        (0.15, 0.14),
        (0.14, 0.42),
        (0.22, 0.5),
        (0.20, 0.58),
        (0.001, 0.62),
    ]
    for y in (3.4, 15.0, 22.0, 30.0, 38.0, 48.0):
        m.lathe((-5.25, y, QUAY_Z + 0.16), bollard, IRON, _IRON, 18)
    for y in (12.0, 27.0, 43.0, 60.0):
        post = [(0.20, 0), (0.17, 0.35), (0.09, 0.5), (0.065, 3.4), (0.09, 3.45), (0.04, 3.5)]
        m.lathe((-6.5, y, QUAY_Z), post, IRON, _IRON, 12)
        m.lathe((-6.5, y, QUAY_Z + 3.5), [(0.12, 0), (0.20, 0.38)], LAMP, (0.7, 0.68, 0.55), 6)
        m.lathe((-6.5, y, QUAY_Z + 3.88), [(0.24, 0), (0.05, 0.18), (0.02, 0.3)], IRON, _IRON, 6)
    barrel = [
        (0.001, 0.0),
        (0.25, 0.0),
        (0.30, 0.2),
        (0.32, 0.42),
        (0.30, 0.64),
        (0.25, 0.84),
        (0.001, 0.84),
    ]
    for x, y, tint in (
        (-7.4, 12.9, _BROWN_BRICK),
        (-7.9, 13.5, (0.02, 0.06, 0.17)),
        (-7.2, 13.7, (0.3, 0.2, 0.1)),
    ):
        m.lathe((x, y, QUAY_Z), barrel, HULL if tint[2] > 0.1 else WOOD, tint, 18)
    rng = np.random.default_rng(5)
    crate_tints: list[Tint] = [
        (0.55, 0.10, 0.015),
        (0.36, 0.27, 0.16),
        (0.03, 0.12, 0.30),
        (0.36, 0.27, 0.16),
    ]
    for k in range(15):
        across, along = -7.3 + rng.uniform(-0.7, 0.5), 16.6 + 0.75 * (k // 3)
        along += rng.uniform(-0.06, 0.06)
        turn = float(rng.uniform(-0.12, 0.12))
        m.place((across, along, QUAY_Z + 0.32 * (k % 3)), turn)
        m.box((0, 0, 0), (0.62, 0.44, 0.30), WOOD, crate_tints[k % 4])
    m.place()
    gx, gy = np.meshgrid(np.linspace(-1, 1, 40), np.linspace(-1, 1, 50))
    lump = np.clip(1 - np.maximum(np.abs(gx), np.abs(gy)) ** 4, 0, 1) ** 0.5
    ripple = fbm_grid(gx * 1.6, gy * 1.6, 3, 310)
    heap = np.stack(
        [-7.7 + 1.05 * gx, 22.6 + 1.7 * gy, QUAY_Z + 1.25 * lump * (0.82 + 0.5 * ripple)], -1
    )
    m.grid(heap, TARP, BLUE_TARP)
    net = np.stack(
        [-6.6 + 0.7 * gx, 6.0 + 0.9 * gy, QUAY_Z + 0.55 * lump * (0.7 + 0.9 * ripple)], -1
    )
    m.grid(net, CANVAS, (0.03, 0.16, 0.12))
    for _ in range(14):
        at = (
            -6.6 + rng.uniform(-0.6, 0.6),
            6.0 + rng.uniform(-0.8, 0.8),
            QUAY_Z + rng.uniform(0.25, 0.55),
        )
        m.lathe(
            at,
            [(0.001, -0.1), (0.085, -0.06), (0.105, 0.02), (0.07, 0.09), (0.001, 0.11)],
            HULL,
            (0.85, 0.17, 0.015),
            12,
        )


def _near_boats(m: MeshBuilder) -> None:
    """Five boats one can count the planks of."""
    open_boat = Boat(
        length=5.6,
        beam=2.1,
        freeboard=0.62,
        tint=(0.72, 0.095, 0.008),
        cover=BLUE_TARP,
        cover_span=(-0.62, 0.42),
    )
    add_boat(m, open_boat, (-1.2, 9.4), 1.28, 0.02)
    dinghy = Boat(length=3.9, beam=1.55, freeboard=0.45, tint=(0.62, 0.60, 0.52), boot=0.10)
    add_boat(m, dinghy, (2.9, 8.2), 2.5, -0.02)
    ketch = Boat(
        length=12.5, beam=3.7, freeboard=1.05, tint=(0.012, 0.045, 0.23), draught=1.3,
        masts=((0.28, 13.5), (-0.52, 9.6)), cabin=3.4, sail=(0.62, 0.54, 0.40), boot=0.22,
    )  # fmt: skip
    add_boat(m, ketch, (-2.2, 22.0), 1.62, 0.012)
    cutter = Boat(
        length=9.5, beam=3.0, freeboard=0.95, tint=(0.62, 0.10, 0.012), draught=1.1,
        masts=((0.12, 11.5),), cabin=2.8, sail=(0.40, 0.075, 0.045), boot=0.2,
    )  # fmt: skip
    add_boat(m, cutter, (7.6, 26.0), 2.05, -0.015)
    smack = Boat(
        length=11.0, beam=3.5, freeboard=1.1, tint=(0.03, 0.13, 0.075), draught=1.2,
        masts=((0.2, 12.4), (-0.6, 8.2)), cabin=3.2, sail=(0.55, 0.5, 0.4), boot=0.2,
    )  # fmt: skip
    add_boat(m, smack, (-1.9, 37.5), 1.6, 0.0)


def add_fleet(m: MeshBuilder, *, near: bool = True, far_boats: int = 22) -> None:
    """The boats in the basin, nearest first."""
    if near:
        _near_boats(m)
    rng = np.random.default_rng(21)
    tints: list[Tint] = [
        (0.60, 0.58, 0.52), (0.02, 0.06, 0.22), (0.58, 0.09, 0.012), (0.03, 0.14, 0.12),
        (0.55, 0.36, 0.04), (0.035, 0.035, 0.04),
    ]  # fmt: skip
    for k in range(far_boats):
        length = float(rng.uniform(6.5, 12.0))
        tall = length * float(rng.uniform(1.0, 1.25))
        far = Boat(
            length=length,
            beam=0.31 * length,
            freeboard=0.1 * length,
            tint=tints[k % 6],
            masts=((0.15, tall),) if k % 3 else ((0.3, tall), (-0.5, 0.7 * tall)),
            cabin=0.28 * length,
            sail=((0.6, 0.55, 0.45), (0.38, 0.08, 0.05), (0.03, 0.07, 0.2))[k % 3],
            detail=False,
            cover=BLUE_TARP if k % 5 == 4 else None,
            cover_span=(-0.9, -0.3),
        )
        x = -1.5 + 5.2 * (k % 9) + float(rng.uniform(-1.3, 1.3))
        y = (45.0, 56.0, 67.0)[k // 9] + float(rng.uniform(-2.5, 2.5))
        add_boat(m, far, (x, y), float(rng.choice([1.57, -1.57]) + rng.uniform(-0.3, 0.3)))


def add_pier_light(m: MeshBuilder, x: float, y: float) -> None:
    """A breakwater with a white light tower at its end."""
    m.box((x - 3.5, y - 4, -3), (x + 90, y + 4, 3.2), STONE, _STONE)
    m.box((x - 3.5, y + 2.8, 3.2), (x + 90, y + 4, 4.6), STONE, _STONE)
    tower = [(2.5, 3.2), (2.35, 4.0), (1.9, 4.2), (1.35, 13.2), (1.75, 13.4), (1.75, 13.6)]
    m.lathe((x + 1, y, 0), tower, WHITEWASH, (0.72, 0.70, 0.65), 40)
    m.lathe((x + 1, y, 0), [(1.735, 7.2), (1.55, 10.2)], WHITEWASH, (0.62, 0.06, 0.02), 40)
    m.lathe((x + 1, y, 0), [(0.95, 13.6), (0.95, 15.3)], LAMP, (0.25, 0.3, 0.3), 10)
    m.lathe((x + 1, y, 0), [(1.25, 15.3), (0.2, 16.3), (0.06, 17.2)], HULL, (0.6, 0.06, 0.02), 20)
    for angle in np.linspace(0, 2 * np.pi, 15)[:-1]:
        at = np.array([x + 1 + 1.68 * np.cos(angle), y + 1.68 * np.sin(angle), 13.6])
        m.tube([at, at + [0, 0, 1.0]], 0.025, IRON, _IRON, 4)
    ring = [
        [x + 1 + 1.68 * np.cos(a), y + 1.68 * np.sin(a), 14.6]
        for a in np.linspace(0, 2 * np.pi, 31)
    ]
    for a, b in pairwise(ring):
        m.tube([a, b], 0.025, IRON, _IRON, 4)
