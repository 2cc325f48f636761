"""A mask of few cells, and what it is at the pixels of a cut print; SciPy's reading as points."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from scipy.ndimage import map_coordinates

from firstsheet.engine.loss.repair.grid import mask_over

__all__ = ["draw"]

CELLS = np.array([[0.0, 0.1, 0.6, 1.0, 0.9, 0.9, 0.3, 0.0]])
CUT = (0.2, 0.0, 0.55, 1.0)  # left, top, width, height of what is printed, shares of the file
PRINT_PX = 23


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=330)
    panel = drawing.panel(
        58, 20, 640, 260,
        x=Axis(title="place across the upright file", low=0.0, high=1.0, ticks=ticks(0, 1, 0.125)),
        y=Axis(title="mask", low=0.0, high=1.2, ticks=ticks(0, 1, 0.25)),
    )  # fmt: skip
    panel.steps(np.linspace(0.0, 1.0, 9), CELLS[0], Look(GREY, 1.3, "2 3"))
    fine = mask_over(CELLS, (1, 400))[0]
    panel.curve((np.arange(400) + 0.5) / 400.0, fine, Look(GREY, 1.2))
    left, top, wide, high = CUT
    places = CUT[0] + (np.arange(PRINT_PX) + 0.5) * CUT[2] / PRINT_PX
    at_pixels = mask_over(CELLS, (1, PRINT_PX), (left, top, left + wide, top + high))[0]
    for place, value in zip(places, at_pixels, strict=True):
        panel.curve((place, place), (0.0, value), Look(ACCENT, 1.2))
    told = map_coordinates(CELLS[0], [places * CELLS.size - 0.5], order=1, mode="nearest")
    panel.points(places, told)
    panel.upright(CUT[0], Look(SECOND, 1.4, "6 3"))
    panel.upright(CUT[0] + CUT[2], Look(SECOND, 1.4, "6 3"))
    panel.label(CUT[0], 1.1, "the print begins", dx=5, colour=SECOND)
    panel.label(CUT[0] + CUT[2], 1.1, "and ends", dx=5, colour=SECOND)
    panel.legend(
        (
            (Look(GREY, 1.3, "2 3"), "cells"),
            (Look(GREY, 1.2), "read between"),
            (Look(ACCENT, 1.2), "print’s pixels"),
            (("ring", INK), "by SciPy"),
        ),
        522, 70,
    )  # fmt: skip
    return drawing.svg()
