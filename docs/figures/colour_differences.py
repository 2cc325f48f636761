"""CIEDE2000: the printed pairs, and how far apart in CIELAB colours of one difference lie."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import colour_science, published

from firstsheet.engine.colour.difference import delta_e_76, delta_e_2000

__all__ = ["draw"]

LIGHTNESS, APART = 50.0, 2.0
ANGLES = np.radians(np.arange(0.0, 361.0, 6.0))


def around(centre: Any, difference: Any, angles: Any) -> Any:
    """Colours of a difference of `APART` from a centre, in all directions of a* and b*."""
    low, high = np.zeros(angles.size), np.full(angles.size, 40.0)
    way = np.stack([np.zeros(angles.size), np.cos(angles), np.sin(angles)], axis=-1)
    for _ in range(40):
        middle = 0.5 * (low + high)
        beyond = difference(centre, centre + middle[:, None] * way) > APART
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    return centre + low[:, None] * way


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=390)
    left = drawing.panel(
        58, 32, 308, 308, title=f"ΔE00 {APART:g} at L* {LIGHTNESS:g} (dots: colour-science)",
        x=Axis(title="a*", low=-115.0, high=115.0, ticks=ticks(-100, 100, 50)),
        y=Axis(title="b*", low=-115.0, high=115.0, ticks=ticks(-100, 100, 50)),
    )  # fmt: skip
    science = colour_science()

    def theirs(first: Any, second: Any) -> Any:
        return science.delta_E(np.broadcast_to(first, second.shape), second, method="CIE 2000")

    for chroma in (0.0, 30.0, 60.0, 85.0):
        count = 1 if chroma == 0.0 else 12
        for hue in np.radians(np.arange(count) * 360.0 / count):
            centre = np.array([LIGHTNESS, chroma * np.cos(hue), chroma * np.sin(hue)])
            ring = around(centre, delta_e_2000, ANGLES)
            left.curve(ring[:, 1], ring[:, 2], Look(ACCENT, 1.3))
            if chroma in (30.0, 85.0):
                few = around(centre, theirs, ANGLES[:60:15])
                for x, y in zip(*left.at(few[:, 1], few[:, 2]), strict=True):
                    drawing.mark(float(x), float(y), "dot", SECOND)
    right = drawing.panel(
        424, 32, 274, 308, title="The 34 printed pairs",
        x=Axis(title="ΔE00 printed by Sharma and others, 2005", low=0.1, high=100.0,
               ticks=(0.1, 1, 10, 100), log=True),
        y=Axis(title="computed", low=0.1, high=100.0, ticks=(0.1, 1, 10, 100), log=True),
    )  # fmt: skip
    rows = published("ciede2000.csv")
    first, second = (
        np.array([[float(row[letter + n]) for letter in "Lab"] for row in rows]) for n in "12"
    )
    printed = np.array([float(row["expected"]) for row in rows])
    right.curve((0.1, 100.0), (0.1, 100.0), Look(GREY, 1.0, "4 3"))
    right.points(printed, delta_e_76(first, second), "triangle", GREY)
    ours = delta_e_2000(first, second)
    right.points(printed, ours, "ring", ACCENT)
    right.legend(((("ring", ACCENT), "CIEDE2000"), (("triangle", GREY), "CIE76")), 10, 14)
    most = float(np.abs(ours - printed).max())
    right.label(90.0, 0.13, f"largest miss {most:.5f}", anchor="end", colour=INK)
    return drawing.svg()
