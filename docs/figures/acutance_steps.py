"""Acutance of an ideal file against its ppi, with the trade's steps and SciPy's values."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, PALE, SECOND, Axis, Drawing, Look, ticks
from sources import published

from firstsheet.engine.sharpness.eye import acutance, cycles_per_degree, pixel_mtf
from firstsheet.engine.sharpness.print_response import SHARP_FROM, SOFT_BELOW
from firstsheet.engine.sizing.size import GRADES
from firstsheet.engine.units import MM_PER_INCH

__all__ = ["draw"]

DISTANCES = (
    (250.0, Look(SECOND, 1.8, "6 3")),
    (400.0, Look(ACCENT)),
    (600.0, Look(GREY, 1.6, "2 3")),
)


def ideal(ppi: float, distance_mm: float) -> float:
    """Acutance of a file whose pixels are ideal squares, nothing else in the way."""
    nyquist = float(cycles_per_degree(ppi / MM_PER_INCH / 2.0, distance_mm))
    return acutance(lambda f: pixel_mtf(f / (2.0 * nyquist)), cut_off_per_degree=nyquist)


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=360)
    panel = drawing.panel(
        58, 20, 640, 292,
        x=Axis(title="ppi of the file on paper", low=60.0, high=480.0, ticks=ticks(60, 480, 60)),
        y=Axis(title="acutance (1: a perfect print)", low=0.2, high=1.0, ticks=ticks(0.2, 1, 0.2)),
    )  # fmt: skip
    panel.between((60.0, 480.0), SHARP_FROM, 1.0, PALE)
    panel.between((60.0, 480.0), 0.2, SOFT_BELOW, "#f4f1ec")
    for row, (step, from_ppi) in enumerate(GRADES):
        if from_ppi > 0:
            panel.upright(from_ppi)
            panel.label(from_ppi, 0.2, f"{step}: {from_ppi}", dx=4, dy=-8 - 16 * (row % 2),
                        colour=GREY)  # fmt: skip
    ppi = np.linspace(60.0, 480.0, 106)
    for distance_mm, look in DISTANCES:
        panel.curve(ppi, [ideal(one, distance_mm) for one in ppi], look)
    rows = published("acutance.csv")
    panel.points(
        [float(row["ppi"]) for row in rows], [float(row["mannos_aperture"]) for row in rows]
    )
    panel.label(470, SHARP_FROM, f"looks sharp from {SHARP_FROM:g}", anchor="end", dy=-6)
    panel.label(470, SOFT_BELOW, f"soft below {SOFT_BELOW:g}", anchor="end", dy=15)
    panel.legend(
        [
            *((look, f"seen from {mm / 10:.0f} cm") for mm, look in reversed(DISTANCES)),
            (("ring", INK), "integrated by SciPy"),
        ],
        470, 196,
    )  # fmt: skip
    return drawing.svg()
