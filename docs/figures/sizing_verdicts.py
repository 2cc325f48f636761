"""Verdicts on size: the ppi an eye separates at a distance, and the words between."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, PALE, Axis, Drawing, Look
from sources import published

from firstsheet.engine.sizing.size import distance_verdicts, needed_ppi

__all__ = ["draw"]

WORDS = ("finer than the eye separates", "a sharp eye",
         "fine detail looks soft", "plainly soft")  # fmt: skip


def said(ppi: float, distance_mm: float) -> str:
    """The verdict's own sentence at a distance, without its numbers."""
    return distance_verdicts(ppi, distance_mm)[-1].sentence


def changes(distance_mm: float) -> list[float]:
    """Resolutions at which the verdict's words change, the highest first."""
    ladder = np.geomspace(900.0, 10.0, 700)
    kinds = [next((k for k, words in enumerate(WORDS) if words in said(float(p), distance_mm)), -1)
             for p in ladder]  # fmt: skip
    return [float(ladder[at]) for at in range(1, len(kinds)) if kinds[at] != kinds[at - 1]]


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=370)
    panel = drawing.panel(
        58, 20, 640, 302,
        x=Axis(title="seen from, m", low=0.2, high=3.0, ticks=(0.2, 0.3, 0.5, 1, 2, 3), log=True),
        y=Axis(title="ppi of the file on paper", low=20.0, high=720.0,
               ticks=(20, 50, 100, 150, 180, 240, 300, 360, 720), log=True),
    )  # fmt: skip
    distance_mm = np.geomspace(200.0, 3000.0, 40)
    edges = np.array([changes(float(mm)) for mm in distance_mm])
    panel.between(distance_mm / 1000.0, edges[:, 0], 720.0, PALE)
    assert edges.shape[1] == 3
    for column, look in ((1, Look(GREY, 1.5, "6 3")), (2, Look(GREY, 1.5, "2 3"))):
        panel.curve(distance_mm / 1000.0, edges[:, column], look)
    panel.curve(distance_mm / 1000.0, [needed_ppi(float(mm)) for mm in distance_mm], Look(ACCENT))
    rows = published("one_arc_minute.csv")
    panel.points(
        [float(row["distance_mm"]) / 1000.0 for row in rows], [float(row["ppi"]) for row in rows]
    )
    panel.label(2.9, 110.0, WORDS[0], anchor="end", colour=GREY)
    panel.legend(
        (
            (Look(ACCENT), "one arc minute; below: a sharp eye can see the limit"),
            (Look(GREY, 1.5, "6 3"), "below: fine detail looks soft"),
            (Look(GREY, 1.5, "2 3"), "below: plainly soft"),
            (("ring", INK), "one arc minute as public texts print it"),
        ),
        260, 18,
    )  # fmt: skip
    return drawing.svg()
