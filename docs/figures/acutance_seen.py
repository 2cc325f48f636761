"""A pattern as it lies on paper and as the eye takes it in, and what a screen's viewer adds."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, GREY, SECOND, Axis, Drawing, Look, ticks

from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM
from firstsheet.engine.sharpness.viewing_filter import eye_passes, seen_light
from firstsheet.engine.units import MM_PER_INCH

__all__ = ["draw"]

SIDE_PX, AROUND_PX, PPI = 120, 60, 360.0
VIEWS = (("ink alone", None), ("from 30 cm", 300.0), ("from 1 m", 1000.0), ("from 2 m", 2000.0))


def rings() -> Any:
    """Linear light of rings that grow finer outwards, up to the raster's limit at the corner."""
    y, x = np.mgrid[-AROUND_PX : SIDE_PX + AROUND_PX, -AROUND_PX : SIDE_PX + AROUND_PX] + 0.5
    radius2 = x**2 + y**2
    fade = np.clip(2.0 - np.sqrt(radius2) / (0.75 * SIDE_PX), 0.0, 1.0)  # before it aliases
    return 0.5 + 0.45 * fade * np.cos(np.pi * radius2 / (2.0 * SIDE_PX))


def draw() -> str:
    """Four pictures above one panel."""
    drawing = Drawing(high_px=480)
    light = np.repeat(rings()[..., None], 3, axis=-1)
    encode = SPACES["srgb"].encode
    for number, (words, distance_mm) in enumerate(VIEWS):
        left = 183.0 * number
        seen = seen_light(
            light, pitch_mm=MM_PER_INCH / PPI, spread_mm=INK_SPREAD_MM["matte"],
            distance_mm=distance_mm,
        )  # fmt: skip
        drawing.text(left, 14, words, bold=True)
        shown = encode(np.clip(seen[AROUND_PX:-AROUND_PX, AROUND_PX:-AROUND_PX, 0], 0.0, 1.0))
        drawing.picture(shown, left, 22, 171, 171, smooth=False)
    panel = drawing.panel(
        58, 236, 640, 190, title="Shown m times as large: contrast taken away too much",
        x=Axis(title="cycles/degree from the print’s distance", low=0.0, high=60.0,
               ticks=ticks(0, 60, 10)),
        y=Axis(title="share", low=0.0, high=0.3, ticks=ticks(0, 0.3, 0.1)),
    )  # fmt: skip
    f = np.linspace(0.0, 60.0, 121)
    rows = []
    for times, look in (
        (1.0, Look(GREY, 1.6, "2 3")), (2.0, Look(ACCENT)), (3.0, Look(SECOND, 1.8, "6 3")),
    ):  # fmt: skip
        passed = eye_passes(f)
        panel.curve(f, passed * (1.0 - eye_passes(f / times)), look)
        rows.append((look, f"m = {times:g}"))
    panel.legend(rows, 540, 16)
    return drawing.svg()
