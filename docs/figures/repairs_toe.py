"""A toe on matte paper: what is asked of the paper, and the steps that it then shows."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, PALE, SECOND, Axis, Drawing, Look, ticks
from sources import paper, printed_by

from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.loss.repair.tones import shadow_curve

__all__ = ["draw"]

ZONE_L = (4.0, 24.0)
LOOKS = (
    (0.0, Look(SECOND, 1.8, "6 3")), (0.5, Look(GREY, 1.6, "2 3")), (1.0, Look(ACCENT)),
)  # fmt: skip


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=330)
    across = Axis(title="L* wanted", low=0.0, high=70.0, ticks=ticks(0, 70, 10))
    left = drawing.panel(
        58, 32, 290, 248, title="Printed on Chalk Matte 310", x=across,
        y=Axis(title="L* printed", low=25.0, high=80.0, ticks=ticks(30, 80, 10)),
    )  # fmt: skip
    right = drawing.panel(
        414, 32, 284, 248, title="The same, as steps", x=across,
        y=Axis(title="L* printed for one L* wanted", low=0.0, high=1.4, ticks=ticks(0, 1.4, 0.2)),
    )  # fmt: skip
    for panel in (left, right):
        panel.between(ZONE_L, panel.y.low, panel.y.high, PALE)
    right.level(1.0)
    printed = printed_by(paper("chalk-matte"))
    shows = Paper(printed)
    tones = np.arange(0.0, 70.1, 0.5)
    rows = []
    for strength, look in LOOKS:
        greys = np.zeros((tones.size, 3))
        greys[:, 0] = shadow_curve(shows, zone_l=ZONE_L, strength=strength).at(tones)
        shown = printed(greys)[:, 0]
        left.curve(tones, shown, look)
        smooth = np.convolve(np.diff(shown) / 0.5, np.full(5, 0.2), mode="valid")
        right.curve(tones[2:-3] + 0.25, smooth, look)
        rows.append((look, "no repair" if strength == 0.0 else f"strength {strength:g}"))
    left.legend(rows, 14, 16)
    right.label(ZONE_L[0], 0.0, "the place’s tones", dx=4, dy=-8, colour=GREY)
    return drawing.svg()
