"""How much of a picture moves, and how far, by each intent; percentiles of NumPy beside them."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import colour_science, paper

from firstsheet.cms.chain import srgb_chain
from firstsheet.cms.gamut import even_points
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.measure import BAND_EDGES_DE00, LossTally
from firstsheet.engine.records import Intent

__all__ = ["draw"]

WAYS: tuple[tuple[Intent, Look], ...] = (
    ("relative", Look(ACCENT, 2.0)),
    ("perceptual", Look(SECOND, 1.8, "6 3")),
    ("saturation", Look(GREY, 1.4, "2 3")),
    ("absolute", Look(INK, 1.2, "8 3 2 3")),
)


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=350)
    panel = drawing.panel(
        58, 20, 640, 280,
        x=Axis(title="ΔE00 between wanted and printed", low=0.0, high=40.0, ticks=ticks(0, 40, 5)),
        y=Axis(title="per cent of the colours that move less", low=0.0, high=100.0,
               ticks=ticks(0, 100, 20)),
    )  # fmt: skip
    for edge in BAND_EDGES_DE00:
        panel.upright(edge)
    panel.label(10.0, 4.0, "edges of the five bands", dx=5, colour=GREY)
    picture = even_points(4000, 3)
    shares = np.concatenate([np.arange(0.5, 99.0, 0.5), [99.0, 99.5, 99.9]])
    library = colour_science()
    for intent, look in WAYS:
        chain = srgb_chain(paper("chalk-matte"), intent=intent, black_point=intent != "absolute")
        wanted = chain.wanted_lab(picture)
        printed = chain.printed_lab(chain.device(picture))
        tally = LossTally()
        tally.add(delta_e_2000(wanted, printed))
        panel.curve([tally.percentile(float(share)) for share in shares], shares, look)
        if intent == "relative":
            apart = library.delta_E(wanted, printed, method="CIE 2000")
            at = np.array([2.0, 10.0, 50.0, 75.0, 80.0, 85.0, 90.0, 95.0, 98.0])
            panel.points(np.percentile(apart, at), at)
    panel.legend(
        [
            *((look, intent) for intent, look in WAYS),
            (("ring", INK), "relative, by colour-science and NumPy"),
        ],
        352, 110,
    )  # fmt: skip
    return drawing.svg()
