"""Light on paper and what it gives back, with published values; and a proof's brightness."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import published

from firstsheet.engine.light.viewing import paper_white_luminance, shown_share

__all__ = ["draw"]

PAPERS = ((0.95, Look(SECOND, 1.8, "6 3")), (0.8762, Look(ACCENT)), (0.80, Look(GREY, 1.6, "2 3")))
SCREENS = ((80.0, Look(GREY, 1.6, "2 3")), (120.0, Look(ACCENT)), (160.0, Look(SECOND, 1.8, "6 3")))


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=340)
    across = Axis(title="light on the paper, lux", low=0.0, high=600.0, ticks=ticks(0, 600, 100))
    left = drawing.panel(
        58, 32, 300, 258, title="White paper, as bright as a screen", x=across,
        y=Axis(title="cd/m²", low=0.0, high=180.0, ticks=ticks(0, 180, 20)),
    )  # fmt: skip
    lux = np.linspace(0.0, 600.0, 61)
    for reflectance, look in PAPERS:
        left.curve(lux, [paper_white_luminance(float(one), reflectance) for one in lux], look)
    known = {reflectance for reflectance, _ in PAPERS}
    rows = [row for row in published("light_on_paper.csv") if float(row["reflectance"]) in known]
    left.points(
        [float(row["illuminance_lux"]) for row in rows],
        [float(row["luminance_cd_m2"]) for row in rows],
    )
    rows = published("light_for_screen.csv")
    left.points(
        [float(row["illuminance_lux"]) for row in rows],
        [float(row["luminance_cd_m2"]) for row in rows],
        "square",
    )
    left.legend(
        [
            *((look, f"ρ = {reflectance:g}") for reflectance, look in PAPERS),
            (("ring", INK), "E ρ / π, tabled"),
            (("square", INK), "light for a screen, tabled"),
        ],
        14, 14,
    )  # fmt: skip
    right = drawing.panel(
        424, 32, 274, 258, title="A proof beside the print", x=across,
        y=Axis(title="share of the proof’s brightness", low=0.0, high=2.0, ticks=ticks(0, 2, 0.5)),
    )  # fmt: skip
    right.level(1.0)
    right.label(12.0, 1.0, "its full white", dy=-6, colour=GREY)
    for screen, look in SCREENS:
        right.curve(lux, [shown_share(float(one), screen) for one in lux], look)
    right.legend([(look, f"screen of {screen:g} cd/m²") for screen, look in SCREENS], 12, 16)
    return drawing.svg()
