"""How far greys drift in a* and b* on the three demo papers, by our chain and by iccDEV."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import by_iccdev, paper

from firstsheet.cms.chain import srgb_chain
from firstsheet.engine.loss.regions.neutral import grey_axis

__all__ = ["draw"]

PAPERS = (
    ("harbour-gloss", "Harbour Gloss"), ("chalk-matte", "Chalk Matte 310"),
    ("tidings-newsprint", "Tidings newsprint"),
)  # fmt: skip
A, B = Look(SECOND, 1.8, "6 3"), Look(ACCENT)


def draw() -> str:
    """Three panels."""
    drawing = Drawing(high_px=320)
    greys = np.repeat(np.arange(256)[:, None], 3, axis=1)
    for number, (stock, words) in enumerate(PAPERS):
        panel = drawing.panel(
            58 + 224 * number, 32, 192, 232, title=words,
            x=Axis(title="L* wanted", low=0.0, high=100.0, ticks=ticks(0, 100, 25)),
            y=Axis(title="moved by" if number == 0 else "", low=-3.0, high=5.0,
                   ticks=ticks(-2, 4, 1)),
        )  # fmt: skip
        chain = srgb_chain(paper(stock), black_point=False)
        wanted = chain.wanted_lab(greys / 255.0)
        axis = grey_axis(wanted, chain.printed_lab(chain.device(greys / 255.0)))
        panel.level(0.0, Look(GREY, 1.0))
        at = [point.wanted_l for point in axis.points]
        panel.curve(at, [point.shift_a for point in axis.points], A)
        panel.curve(at, [point.shift_b for point in axis.points], B)
        told = by_iccdev(greys[28::20] / 255.0, paper(stock))
        panel.points(wanted[28::20, 0], told[:, 1], "triangle")
        panel.points(wanted[28::20, 0], told[:, 2], "ring")
        if number == 1:
            panel.legend(
                ((A, "a*"), (B, "b*"), (("triangle", INK), "a*, iccDEV"),
                 (("ring", INK), "b*, iccDEV")),
                60, 14,
            )  # fmt: skip
    return drawing.svg()
