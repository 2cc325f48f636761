"""The solved strength over distance: what is wanted, what is reached, and what stops it."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, Mark, ticks

from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM, Chain, MtfShape
from firstsheet.engine.sharpness.strength import solve_strength

__all__ = ["draw"]

SURFACE = "matte"
FILES = (
    ("ordinary file, MTF50 0.3", 0.3, Look(ACCENT)),
    ("soft file, MTF50 0.1", 0.1, Look(SECOND, 1.8, "6 3")),
)


def print_of(half_cpp: float) -> Chain:
    """A file of this sharpness, its own pixels at 360 ppi on matte paper."""
    shape = MtfShape(half_cpp=half_cpp, tenth_cpp=1.6 * half_cpp)
    return Chain(shape=shape, ppi=360.0, spread_mm=INK_SPREAD_MM[SURFACE])


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=340)
    across = Axis(title="seen from, m", low=0.25, high=2.0, ticks=(0.25, 0.5, 1, 2), log=True)
    left = drawing.panel(
        58, 32, 290, 258, title="Strength on matte paper", x=across,
        y=Axis(title="strength", low=0.0, high=4.6, ticks=ticks(0, 3.5, 0.5)),
    )  # fmt: skip
    right = drawing.panel(
        414, 32, 284, 258, title="How sharp it then looks", x=across,
        y=Axis(title="acutance", low=0.0, high=1.6, ticks=ticks(0, 1.6, 0.2)),
    )  # fmt: skip
    distance = np.geomspace(0.25, 2.0, 16)
    left.level(1.0)
    for _, half_cpp, look in FILES:
        chain = print_of(half_cpp)
        answers = [solve_strength(chain, 1000.0 * float(d), surface=SURFACE) for d in distance]
        left.curve(distance, [one.strength for one in answers], look)
        for at, one in zip(distance, answers, strict=True):
            mark: Mark = "dot" if one.bound_by == "target" else "cross"
            left.points(at, one.strength, mark, look.colour)
        right.curve(distance, [one.unsharpened for one in answers], Look(look.colour, 1.0, "1 3"))
        right.points(distance, [one.target for one in answers], "ring", look.colour)
        right.curve(distance, [one.reached for one in answers], look)
    left.legend(
        [*((look, words) for words, _, look in FILES), (("cross", INK), "stopped by a limit"),
         (Look(GREY, 1.0, "4 3"), "the trade’s normal")],
        14, 16,
    )  # fmt: skip
    right.legend(
        (
            (Look(INK, 1.8), "reached"), (("ring", INK), "wanted"),
            (Look(INK, 1.0, "1 3"), "without sharpening"),
        ),
        120, 210,
    )  # fmt: skip
    return drawing.svg()
