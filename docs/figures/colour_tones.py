"""Tones: density against L* with tabled values, and what grey codes mean by three readings."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import colour_science, published

from firstsheet.engine.colour.density import density_from_lightness
from firstsheet.engine.colour.lab import y_to_lightness
from firstsheet.engine.colour.spaces import GREYS

__all__ = ["draw"]

LOOKS = (Look(SECOND, 1.8, "6 3"), Look(ACCENT), Look(GREY, 1.6, "2 3"))


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=340)
    left = drawing.panel(
        58, 32, 290, 258, title="Density of a neutral tone",
        x=Axis(title="L*", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
        y=Axis(title="D", low=0.0, high=3.0, ticks=ticks(0, 3, 0.5)),
    )  # fmt: skip
    lightness = np.linspace(1.0, 100.0, 100)
    left.curve(lightness, density_from_lightness(lightness))
    rows = published("density.csv")
    left.points(
        [float(row["lightness"]) for row in rows], [float(row["d_of_lightness"]) for row in rows]
    )
    left.points(
        [float(row["lightness_of_d"]) for row in rows], [float(row["d"]) for row in rows], "square"
    )
    left.legend(((("ring", INK), "D of L*, tabled"), (("square", INK), "L* of D, tabled")), 120, 20)
    right = drawing.panel(
        414, 32, 284, 258, title="What a grey code means, less even steps",
        x=Axis(title="code, 0 … 255", low=0.0, high=255.0, ticks=(0, 50, 100, 150, 200, 255)),
        y=Axis(title="L* above code/255 × 100", low=-5.0, high=6.0, ticks=ticks(-4, 6, 2)),
    )  # fmt: skip
    codes = np.arange(0, 256, 3)
    even = 100.0 * codes / 255.0
    rows_of_looks = []
    for (_, grey), look in zip(GREYS.items(), LOOKS, strict=True):
        right.curve(codes, y_to_lightness(grey.curve.decode(codes / 255.0)) - even, look)
        rows_of_looks.append((look, grey.title))
    science = colour_science()
    few = np.arange(15, 256, 30)
    srgb = science.eotf(few / 255.0, function="sRGB")
    right.points(few, science.lightness(100.0 * srgb, method="CIE 1976") - 100.0 * few / 255.0)
    right.legend([*rows_of_looks, (("ring", INK), "sRGB, colour-science")], 80, 180)
    return drawing.svg()
