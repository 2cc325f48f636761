"""Float pictures brighter than paper white: the shoulder that keeps their lights apart."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, SECOND, Axis, Drawing, Look, ticks

from firstsheet.files.reading.resolve import shoulder

__all__ = ["draw"]

HIGHEST = (
    (1.2, Look(GREY, 1.6, "2 3")),
    (2.0, Look(ACCENT)),
    (4.0, Look(SECOND, 1.8, "6 3")),
)


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=320)
    panel = drawing.panel(
        58, 20, 640, 250,
        x=Axis(title="value in the file", low=0.4, high=2.0, ticks=ticks(0.4, 2.0, 0.2)),
        y=Axis(title="value used", low=0.4, high=1.1, ticks=ticks(0.4, 1.0, 0.1)),
    )  # fmt: skip
    value = np.linspace(0.4, 2.0, 161).astype(np.float32)
    panel.curve((0.4, 1.0, 2.0), (0.4, 1.0, 1.0), Look(GREY, 1.0, "4 3"))
    for highest, look in HIGHEST:
        here = value <= highest
        panel.curve(value[here], shoulder(value[here], highest), look)
    panel.upright(0.8, Look(GREY, 1.0, "1 3"))
    panel.label(0.8, 0.43, "knee", dx=5, colour=GREY)
    panel.legend(
        [
            *((look, f"highest value {highest:g}") for highest, look in HIGHEST),
            (Look(GREY, 1.0, "4 3"), "cut at 1"),
        ],
        430, 120,
    )  # fmt: skip
    return drawing.svg()
