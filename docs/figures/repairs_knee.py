"""Less vivid at the same hue: the knee, and a blue that matte paper cannot reach."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, SECOND, Axis, Drawing, Look, ticks
from sources import paper, printed_by

from firstsheet.engine.colour.hue import lab_of_oklab, oklab_of_lab
from firstsheet.engine.loss.repair.colours import KNEE, colour_repair, knee
from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.records.repair import RepairWish

__all__ = ["draw"]

BLUE = (32.0, 60.0, -100.0)


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=330)
    left = drawing.panel(
        58, 32, 280, 248, title="The knee",
        x=Axis(title="chroma wanted, of the paper’s reach", low=0.0, high=2.0,
               ticks=ticks(0, 2, 0.5)),
        y=Axis(title="chroma asked of the paper", low=0.0, high=1.4, ticks=ticks(0, 1.4, 0.2)),
    )  # fmt: skip
    chroma = np.linspace(0.0, 2.0, 101)
    left.curve(chroma, chroma, Look(GREY, 1.0, "4 3"))
    rows = []
    for most, look in (
        (1.2, Look(GREY, 1.6, "2 3")), (1.5, Look(ACCENT)), (2.0, Look(SECOND, 1.8, "6 3")),
    ):  # fmt: skip
        here = chroma <= most + 1e-9
        one = np.ones(chroma.size)
        bent = knee(chroma, start=KNEE * one, most=most * one, to=one)
        left.curve(chroma[here], bent[here], look)
        rows.append((look, f"most vivid {most:g} × the reach"))
    left.upright(KNEE, Look(GREY, 1.0, "1 3"))
    left.legend(rows, 84, 200)
    right = drawing.panel(
        404, 32, 294, 248, title="A deep blue on Chalk Matte 310",
        x=Axis(title="chroma wanted (Oklab)", low=0.0, high=0.3, ticks=ticks(0, 0.3, 0.05)),
        y=Axis(title="chroma printed, along the same hue", low=0.0, high=0.16,
               ticks=ticks(0, 0.16, 0.04)),
    )  # fmt: skip
    printed = printed_by(paper("chalk-matte"))
    wish = RepairWish(kind="chroma", box=(0.0, 0.0, 1.0, 1.0), lab=BLUE, reach=12.0, strength=1.0)
    centre = oklab_of_lab(BLUE)
    full = float(np.hypot(centre[1], centre[2]))
    line = np.repeat(centre[None], 80, axis=0)
    line[:, 1:] *= np.linspace(0.01, 1.12, 80)[:, None]
    wanted = lab_of_oklab(line)
    repaired = colour_repair(wish, Paper(printed)).mapped(wanted)
    along = centre[1:] / full
    for lab, look in ((wanted, Look(SECOND, 1.8, "6 3")), (repaired, Look(ACCENT))):
        right.curve(
            np.hypot(line[:, 1], line[:, 2]), oklab_of_lab(printed(lab))[:, 1:] @ along, look
        )
    right.upright(full)
    right.label(full, 0.004, "this blue", anchor="end", dx=-4, colour=GREY)
    right.legend(((Look(ACCENT), "repaired"), (Look(SECOND, 1.8, "6 3"), "as it is")), 14, 16)
    return drawing.svg()
