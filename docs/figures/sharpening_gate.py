"""The gate between grain and edges, by the compiled kernel; and overshoot below its limit."""

from __future__ import annotations

import math

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import through_kernel

from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.engine.sharpness.edge import edge_after
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.print_chain import Chain, MtfShape
from firstsheet.engine.sharpness.strength import sharpened_chain

__all__ = ["draw"]

PRINT = Chain(shape=MtfShape(half_cpp=0.3, tenth_cpp=0.45), ppi=360.0)
SURFACES = (
    ("gloss", Look(ACCENT)),
    ("matte", Look(SECOND, 1.8, "6 3")),
    ("canvas", Look(GREY, 1.6, "2 3")),
)


def plan_for(strength: float, surface: str = "gloss") -> SharpenPlan:
    """A plan's sharpening, seen from half a metre."""
    return sharpen_plan(
        wish=strength, radius_mm=None, surface=surface, distance_mm=500.0, ppi=PRINT.ppi
    )


def steepened(height_l: float, plan: SharpenPlan) -> float:
    """How much steeper an edge of a height becomes, per cent."""
    x = np.arange(-40, 41)
    line = 50.0 + height_l * 0.5 * np.array([math.erf(at / 1.2 / math.sqrt(2.0)) for at in x])
    before = np.repeat(line[None], 16, axis=0)
    after = through_kernel(before, plan)
    return float(100.0 * (np.diff(after[8]).max() / np.diff(line).max() - 1.0))


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=340)
    left = drawing.panel(
        58, 32, 290, 258, title="What is taken for an edge",
        x=Axis(title="height of an edge, L*", low=0.0, high=20.0, ticks=ticks(0, 20, 2)),
        y=Axis(title="steeper by, %", low=0.0, high=70.0, ticks=ticks(0, 70, 10)),
    )  # fmt: skip
    heights = np.linspace(0.5, 20.0, 40)
    rows: list[tuple[Look, str]] = []
    for strength, look in ((1.0, Look(ACCENT)), (1.5, Look(SECOND, 1.8, "6 3"))):
        plan = plan_for(strength)
        left.curve(heights, [steepened(float(one), plan) for one in heights], look)
        rows.append((look, f"gloss, strength {strength:g}"))
    for gate in PRINT.gate_l:
        left.upright(gate)
    left.label(PRINT.gate_l[0], 64.0, "none", anchor="end", dx=-4, colour=GREY)
    left.label(PRINT.gate_l[1], 64.0, "all", dx=4, colour=GREY)
    left.legend(rows, 136, 226)
    right = drawing.panel(
        414, 32, 284, 258, title="An edge from L* 30 to 70: overshoot",
        x=Axis(title="strength", low=0.0, high=3.0, ticks=ticks(0, 3, 0.5)),
        y=Axis(title="L*", low=0.0, high=14.0, ticks=ticks(0, 14, 2)),
    )  # fmt: skip
    strengths = np.linspace(0.05, 3.0, 60)
    for surface, look in SURFACES:
        plans = [plan_for(float(one), surface) for one in strengths]
        chains = [sharpened_chain(PRINT, plan) for plan in plans]
        limits = [chain.limit_l or 0.0 for chain in chains]
        over = [edge_after(chain).overshoot_l for chain in chains]
        right.curve(strengths, over, look)
        right.curve(strengths, limits, Look(look.colour, 1.0, "1 3"))
    right.legend(
        [*((look, surface) for surface, look in SURFACES), (Look(INK, 1.0, "1 3"), "its limit")],
        14, 14,
    )  # fmt: skip
    return drawing.svg()
