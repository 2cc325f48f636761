"""The chain of a print, part by part: what each leaves of a frequency, and what the eye weighs."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, PALE, SECOND, Axis, Drawing, Look, ticks

from firstsheet.engine.sharpness.eye import (
    MANNOS_PEAK,
    cycles_per_degree,
    cycles_per_mm,
    gaussian_mtf,
    mannos_sakrison,
    pixel_mtf,
)
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM, Chain, MtfShape, file_response
from firstsheet.engine.sharpness.print_response import chain_acutance, chain_response
from firstsheet.engine.sharpness.strength import sharpened_chain

__all__ = ["draw"]

DISTANCE_MM = 500.0
PRINT = Chain(
    shape=MtfShape(half_cpp=0.3, tenth_cpp=0.45),
    scale=0.8,
    ppi=360.0,
    kernel="mitchell",
    spread_mm=INK_SPREAD_MM["matte"],
)


def draw() -> str:
    """One panel."""
    plan = sharpen_plan(
        wish=1, radius_mm=None, surface="matte", distance_mm=DISTANCE_MM, ppi=PRINT.ppi
    )
    sharp = sharpened_chain(PRINT, plan)
    drawing = Drawing(high_px=360)
    top = PRINT.cut_off_per_mm
    panel = drawing.panel(
        58, 20, 640, 292,
        x=Axis(title="cycles/mm on paper", low=0.0, high=7.5, ticks=ticks(0, 7, 1)),
        y=Axis(title="share of the contrast that is left", low=0.0, high=1.6,
               ticks=ticks(0, 1.6, 0.2)),
    )  # fmt: skip
    f = np.linspace(0.0, top, 120)
    eye = mannos_sakrison(cycles_per_degree(f, DISTANCE_MM)) / MANNOS_PEAK
    panel.between(f, 0.0, eye, PALE)
    rows = (
        (file_response(f * PRINT.pitch_mm, PRINT), Look(INK, 1.3, "7 3")),
        (pixel_mtf(f * PRINT.pitch_mm), Look(GREY, 1.3)),
        (gaussian_mtf(f, PRINT.spread_mm), Look(GREY, 1.5, "2 3")),
        (chain_response(f, PRINT), Look(SECOND, 2.0, "6 3")),
        (chain_response(f, sharp), Look(ACCENT, 2.2)),
    )
    for values, look in rows:
        panel.curve(f, values, look)
    panel.upright(top, Look(GREY, 1.0, "4 3"))
    panel.label(top, 0.9, "end of the raster", anchor="end", dx=-5, colour=GREY)
    at = float(cycles_per_mm(18.0, DISTANCE_MM))
    panel.label(at, 0.05, "what the eye weighs from 50 cm", anchor="middle", dx=-20, colour=GREY)
    looks = [look for _, look in rows]
    words = (
        "file and resampling", "print pixel", "ink, σ 0.045 mm",
        f"all, not sharpened: acutance {chain_acutance(PRINT, DISTANCE_MM):.2f}",
        f"all, sharpened: acutance {chain_acutance(sharp, DISTANCE_MM):.2f}",
    )  # fmt: skip
    panel.legend(list(zip(looks, words, strict=True)), 330, 16)
    return drawing.svg()
