"""The kernels and what they pass, as lines; published heights and responses as points."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import published

from firstsheet.engine.sharpness.print_chain import kernel_response
from firstsheet.engine.sizing.resampling import KERNELS

__all__ = ["draw"]

SHOWN = (
    ("mitchell", "Mitchell", Look(ACCENT)),
    ("catmull-rom", "Catmull-Rom", Look(SECOND, 1.8, "6 3")),
    ("bspline", "B-spline", Look(GREY, 1.6, "2 3")),
    ("lanczos3", "Lanczos-3", Look(INK, 1.1, "8 3 2 3")),
)


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=340)
    left = drawing.panel(
        58, 32, 300, 258, title="Weight of a sample",
        x=Axis(title="distance, samples", low=0.0, high=3.0, ticks=ticks(0, 3, 0.5)),
        y=Axis(title="height", low=-0.2, high=1.05, ticks=ticks(-0.2, 1, 0.2)),
    )  # fmt: skip
    right = drawing.panel(
        424, 32, 274, 258, title="What is passed",
        x=Axis(title="cycles/sample", low=0.0, high=1.0, ticks=ticks(0, 1, 0.25)),
        y=Axis(title="response", low=-0.05, high=1.15, ticks=ticks(0, 1, 0.25)),
    )  # fmt: skip
    left.level(0.0, Look(GREY, 1.0))
    right.level(0.0, Look(GREY, 1.0))
    right.upright(0.5)
    right.label(0.5, 1.07, "Nyquist limit", dx=4, colour=GREY)
    heights, responses = published("kernels.csv"), published("kernel_responses.csv")
    distance, frequency = np.linspace(0.0, 3.0, 151), np.linspace(0.0, 1.0, 101)
    for name, _, look in SHOWN:
        left.curve(distance, KERNELS[name].function(distance), look)
        right.curve(frequency, kernel_response(frequency, name), look)
    for name, _, _ in SHOWN:
        here = [row for row in heights if row["kernel"] == name]
        left.points(
            [float(row["distance"]) for row in here], [float(row["height"]) for row in here]
        )
        here = [row for row in responses if row["kernel"] == name]
        right.points(
            [float(row["cycles_per_sample"]) for row in here],
            [float(row["response"]) for row in here],
        )
    rows = [*((look, words) for _, words, look in SHOWN), (("ring", INK), "published")]
    left.legend(rows, 168, 14)  # type: ignore[arg-type]
    return drawing.svg()
