"""How fine a scan a print wants, by film and width; and what of it the film holds."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, PALE, SECOND, Axis, Drawing, Look, ticks
from sources import published

from firstsheet.engine.sizing.rescan import HOLDS_SPI, rescan

__all__ = ["draw"]

FILMS = (
    ("35mm", Look(ACCENT)), ("6x7", Look(SECOND, 1.8, "6 3")), ("4x5in", Look(GREY, 1.6, "2 3")),
)  # fmt: skip
PPI = (300.0, 240.0, 180.0)


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=350)
    panel = drawing.panel(
        66, 20, 632, 280,
        x=Axis(title="width of the print, mm", low=100.0, high=1000.0, ticks=ticks(100, 1000, 100)),
        y=Axis(title="spi needed", low=0.0, high=8000.0, ticks=ticks(0, 8000, 1000)),
    )  # fmt: skip
    widths = np.linspace(100.0, 1000.0, 46)
    panel.between((100.0, 1000.0), HOLDS_SPI, 8000.0, PALE)
    for film, look in FILMS:
        panel.curve(widths, [rescan(film, width_mm=float(w), ppi=300.0).needed_spi for w in widths],
                    look)  # fmt: skip
    for ppi in PPI[1:]:
        panel.curve(
            widths, [rescan("35mm", width_mm=float(w), ppi=ppi).needed_spi for w in widths],
            Look(ACCENT, 1.0),
        )  # fmt: skip
    rows = published("rescan_spi.csv")
    panel.points(
        [float(row["print_width_mm"]) for row in rows], [float(row["needed_spi"]) for row in rows]
    )
    for row in rows:
        at = float(row["print_width_mm"]), float(row["needed_spi"])
        panel.label(*at, f"{row['ppi']} ppi", dx=9, dy=5)
    panel.label(108.0, HOLDS_SPI, "mostly grain beyond", dy=-8, colour=GREY)
    panel.legend(
        [
            *((look, f"{film}, at 300 ppi") for film, look in FILMS),
            (("ring", INK), "worked in public texts"),
        ],
        14, 40,
    )  # fmt: skip
    return drawing.svg()
