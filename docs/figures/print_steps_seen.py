"""Steps in gradients: how high a paper makes one code of 8 bits, and when a staircase is seen."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import colour_science, paper

from firstsheet.cms.chain import srgb_chain
from firstsheet.engine.loss.steps import steps_on_paper, steps_seen
from firstsheet.engine.records import Place

__all__ = ["draw"]

RUN_PX = 8
PAPERS = (
    ("harbour-gloss", "glossy", Look(ACCENT)),
    ("chalk-matte", "matte", Look(SECOND, 1.8, "6 3")),
    ("tidings-newsprint", "newsprint", Look(GREY, 1.6, "2 3")),
)
STARTS = np.arange(4, 252, 8)


def gradient(start: int) -> Any:
    """Codes of one neutral gradient: eight steps of one code, 8 px each, four lines."""
    line = (start - 4 + np.arange(64) // RUN_PX)[None, None, :, None]
    return np.broadcast_to(line, (1, 4, 64, 3))


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=340)
    left = drawing.panel(
        58, 32, 300, 258, title="One code of 8 bits, on paper",
        x=Axis(title="L* wanted", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
        y=Axis(title="height of a step, ΔE00", low=0.0, high=0.7, ticks=ticks(0, 0.6, 0.1)),
    )  # fmt: skip
    science = colour_science()
    rows: list[tuple[Any, str]] = []
    for stock, words, look in PAPERS:
        chain = srgb_chain(paper(stock))
        at, heights, wanted_heights = [], [], []
        for start in STARTS:
            codes = gradient(int(start))
            wanted = chain.wanted_lab(codes / 255.0)
            printed = chain.printed_lab(chain.device(codes / 255.0))
            steps = steps_on_paper(codes, wanted, printed)
            at.append(float(wanted[..., 0].mean()))
            heights.append(steps.printed_de00 or 0.0)
            pair = wanted[0, 0, ::RUN_PX]
            apart = science.delta_E(pair[:-1], pair[1:], method="CIE 2000")
            wanted_heights.append(float(np.median(apart)))
        left.curve(at, heights, look)
        rows.append((look, words))
    left.points(at, wanted_heights, "dot", INK)
    left.legend([*rows, (("dot", INK), "wanted, by colour-science")], 14, 14)
    right = drawing.panel(
        424, 32, 274, 258, title="Seen? ΔE00 0.8 at L* 60, 500 lux, 40 cm",
        x=Axis(title="length of a step, mm", low=0.2, high=30.0, ticks=(0.2, 0.5, 1, 3, 10, 30),
               log=True),
        y=Axis(title="times the threshold", low=0.1, high=10.0, ticks=(0.1, 0.3, 1, 3, 10),
               log=True),
    )  # fmt: skip
    run_mm = np.geomspace(0.2, 30.0, 80)
    place = Place(illuminance_lux=500.0, distance_mm=400.0)
    light = [steps_seen(0.8, mm, 60.0, place, spread_mm=0.03) for mm in run_mm]
    colour = [steps_seen(0.01, mm, 60.0, place, spread_mm=0.03, colour_de00=0.8) for mm in run_mm]
    right.curve(run_mm, light, Look(ACCENT))
    right.curve(run_mm, colour, Look(SECOND, 1.8, "6 3"))
    right.level(1.0)
    right.label(25.0, 1.0, "seen above", anchor="end", dy=-6, colour=GREY)
    right.legend(
        ((Look(ACCENT), "steps of L*"), (Look(SECOND, 1.8, "6 3"), "of pure colour")), 120, 210
    )
    return drawing.svg()
