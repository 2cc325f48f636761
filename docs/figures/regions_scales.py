"""The scales of separation: what the eye sees of each, and the share kept against CIEDE2000."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, GREY, SECOND, Axis, Drawing, Look, Mark, ticks
from sources import colour_science, paper, printed_by

from firstsheet.engine.loss.regions.separation import cell_steps, eye_scales

__all__ = ["draw"]

MM_PER_PX = 0.25
COLOURS = ((50.0, 65.0, 45.0), (45.0, -60.0, 40.0), (70.0, 10.0, 70.0), (20.0, 3.0, 3.0),
           (60.0, 0.0, 0.0), (45.0, 20.0, -45.0))  # fmt: skip
DEEP_BLUE = (32.0, 60.0, -100.0)
PAPERS: tuple[tuple[str, Mark, str], ...] = (
    ("harbour-gloss", "ring", "glossy"),
    ("chalk-matte", "square", "matte"),
    ("tidings-newsprint", "triangle", "newsprint"),
)


def texture(colour: tuple[float, float, float]) -> Any:
    """Grains of one pixel around a colour."""
    grain = np.random.default_rng(5).normal(0.0, 1.0, (48, 48, 3)) * 4.0
    return np.asarray(colour) + grain


def kept_by_library(library: Any, wanted: Any, printed: Any) -> float:
    """Printed over wanted CIEDE2000 between neighbouring grains, root mean square."""
    sizes = []
    for lab in (wanted, printed):
        beside = library.delta_E(lab[:, :-1], lab[:, 1:], method="CIE 2000")
        sizes.append(float(np.sqrt(np.mean(beside**2))))
    return sizes[1] / sizes[0]


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=330)
    left = drawing.panel(
        58, 32, 300, 248, title="Pixels of ¼ mm: weight of the three scales",
        x=Axis(title="seen from, m", low=0.2, high=5.0, ticks=(0.2, 0.5, 1, 2, 5), log=True),
        y=Axis(title="share of the eye’s peak", low=0.0, high=1.4, ticks=ticks(0, 1, 0.25)),
    )  # fmt: skip
    distance = np.geomspace(0.2, 5.0, 241)
    scales = [
        eye_scales(mm_per_px=MM_PER_PX, distance_mm=1000.0 * d, long_side_px=4096) for d in distance
    ]
    looks = (Look(SECOND, 1.8, "6 3"), Look(ACCENT), Look(GREY, 1.6, "2 3"))
    shrink = np.array([one.shrink for one in scales])
    weights = np.array([one.weights for one in scales])
    for pixels in np.unique(shrink):
        here = shrink == pixels
        for level, look in enumerate(looks):
            left.curve(distance[here], weights[here, level], look)
        if pixels > 1:
            left.upright(float(distance[here][0]), Look(GREY, 1.0, "1 3"))
    words = ("finest scale", "twice as coarse", "four times as coarse")
    left.legend(list(zip(looks, words, strict=True)), 12, 14)
    right = drawing.panel(
        424, 32, 274, 248, title="Share of a texture kept in print",
        x=Axis(title="CIEDE2000 by colour-science", low=0.0, high=1.2, ticks=ticks(0, 1.2, 0.2)),
        y=Axis(title="our steps", low=0.0, high=1.2, ticks=ticks(0, 1.2, 0.2)),
    )  # fmt: skip
    right.curve((0.0, 1.2), (0.0, 1.2), Look(GREY, 1.0, "4 3"))
    library = colour_science()
    for stock, mark, _ in PAPERS:
        printed = printed_by(paper(stock))
        for colour in (*COLOURS, DEEP_BLUE):
            wanted = texture(colour)
            shown = printed(wanted)
            sizes = [cell_steps(lab.astype(np.float32), (1, 0, 0)).sum() for lab in (shown, wanted)]
            tint = SECOND if colour == DEEP_BLUE else ACCENT
            right.points(kept_by_library(library, wanted, shown), sizes[0] / sizes[1], mark, tint)
    right.legend(
        [*(((mark, ACCENT), words) for _, mark, words in PAPERS), (("ring", SECOND), "deep blue")],
        14, 14,
    )  # fmt: skip
    return drawing.svg()
