"""An edge from L* 30 to 70 on paper's pixels, before and after sharpening, with its limit."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, Mark, ticks
from sources import through_kernel

from firstsheet.engine.sharpness.edge import edge_after
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.print_chain import Chain, MtfShape
from firstsheet.engine.sharpness.strength import sharpened_chain

__all__ = ["draw"]

PRINT = Chain(shape=MtfShape(half_cpp=0.3, tenth_cpp=0.45), scale=0.8, ppi=360.0, kernel="mitchell")
CASES = (("gloss", 1.0, Look(ACCENT, 2.0)), ("canvas", 1.5, Look(SECOND, 1.8, "6 3")))


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=370)
    panel = drawing.panel(
        58, 20, 640, 302,
        x=Axis(title="mm across the edge", low=-0.6, high=0.6, ticks=ticks(-0.6, 0.6, 0.2)),
        y=Axis(title="L*", low=16.0, high=84.0, ticks=ticks(20, 80, 10)),
    )  # fmt: skip
    rows: list[tuple[Look | tuple[Mark, str], str]] = []
    for number, (surface, wish, look) in enumerate(CASES):
        plan = sharpen_plan(
            wish=wish, radius_mm=None, surface=surface, distance_mm=500.0, ppi=PRINT.ppi
        )
        chain = sharpened_chain(PRINT, plan)
        after = edge_after(chain)
        x = after.x_px * PRINT.pitch_mm
        near = np.abs(x) <= 0.62
        x, plain, sharp = x[near], after.plain_l[near], after.sharpened_l[near]
        limit = chain.limit_l or 0.0
        for bound in (plain.max() + limit, plain.min() - limit):
            panel.level(bound, Look(look.colour, 1.0, "1 3"))
        words = f"limit on {surface}: {limit:.1f} L* beyond"
        down = 14 if number == 0 else -4
        panel.label(-0.59, plain.max() + limit, words, dy=down, colour=look.colour)
        if number == 0:
            panel.curve(x, plain, Look(GREY, 1.6, "2 3"))
            rows.append((Look(GREY, 1.6, "2 3"), "as resampled"))
        panel.curve(x, sharp, look)
        pixels = slice(2, None, 4)  # one of four positions of the edge between the pixels
        line = after.plain_l[pixels].astype(np.float32)
        shown = through_kernel(np.repeat(line[None], 16, axis=0), plan)[8]
        place = after.x_px[pixels] * PRINT.pitch_mm
        inside = np.abs(place) <= 0.6
        panel.points(place[inside], shown[inside], "ring", look.colour)
        words = f"{surface}, strength {wish:g}: rims {after.overshoot_l:.1f} L*"
        rows.append((look, f"{words}, {after.halo_px * PRINT.pitch_mm:.2f} mm"))
    panel.legend([*rows, (("ring", INK), "pixels from the compiled kernel")], 14, 84)
    return drawing.svg()
