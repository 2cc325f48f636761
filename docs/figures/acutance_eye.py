"""The eye's curves: ours as lines, published values and another library's as points."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look
from sources import colour_science, published

from firstsheet.engine.sharpness.eye import (
    MANNOS_PEAK,
    barten_sensitivity,
    cpiq_weight,
    mannos_sakrison,
    retinal_illuminance_trolands,
)

__all__ = ["draw"]


def draw() -> str:
    """Two panels: relative weights, and Barten's absolute sensitivity."""
    f = np.geomspace(0.4, 60.0, 120)
    drawing = Drawing(high_px=318)
    across = Axis(
        title="cycles/degree", low=0.4, high=60.0, ticks=(0.5, 1, 3, 10, 30, 60), log=True
    )
    left = drawing.panel(
        58, 32, 290, 236, x=across, title="How much a frequency counts",
        y=Axis(title="share of the peak", low=0.0, high=1.5, ticks=(0, 0.25, 0.5, 0.75, 1)),
    )  # fmt: skip
    ours, other = Look(ACCENT), Look(SECOND, 1.8, "6 3")
    left.curve(f, cpiq_weight(f) / cpiq_weight(4.0), other)
    left.curve(f, mannos_sakrison(f) / MANNOS_PEAK, ours)
    rows = [row for row in published("mannos_sakrison.csv") if float(row["cycles_per_degree"]) > 0]
    at = [float(row["cycles_per_degree"]) for row in rows]
    left.points(at, np.array([float(row["sensitivity"]) for row in rows]) / MANNOS_PEAK)
    left.legend(
        ((ours, "Mannos–Sakrison"), (("ring", INK), "published formula"), (other, "CPIQ-style")),
        14, 14,
    )  # fmt: skip
    right = drawing.panel(
        414, 32, 290, 236, x=across, title="How much contrast is seen at all (Barten)",
        y=Axis(title="1 / threshold", low=1.0, high=1000.0, ticks=(1, 10, 100, 1000), log=True),
    )  # fmt: skip
    reference = colour_science().contrast.contrast_sensitivity_function_Barten1999
    points = np.array([0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0])
    trolands = retinal_illuminance_trolands(20.0)
    right.curve(f, barten_sensitivity(f, retinal_trolands=trolands), ours)
    right.curve(
        f,
        barten_sensitivity(f, retinal_trolands=retinal_illuminance_trolands(200.0)),
        Look(GREY, 1.4, "2 3"),
    )
    right.points(points, reference(points, E=trolands))
    right.legend(
        (
            (ours, "20 cd/m²"),
            (("ring", INK), "colour-science, the same"),
            (Look(GREY, 1.4, "2 3"), "200 cd/m²"),
        ),
        14, 178,
    )  # fmt: skip
    return drawing.svg()
