"""Planted dust on a made sky: where marks are found, and how high dust must stand to be one."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, PALE, SECOND, Axis, Drawing, Look, ticks
from sources import dust_maker, made_scans

from firstsheet.engine.colour.lab import y_to_lightness
from firstsheet.engine.detail.dust.cells import outstanding
from firstsheet.engine.detail.dust.search import find_dust

__all__ = ["draw"]

SIDE_PX, PIECES = 400, 12


def draw() -> str:
    """A picture, and the pixels of one line through a hair."""
    scans = made_scans()
    rng = np.random.default_rng(12)
    clean = scans.make_encoded(scans.ScanSpec(seed=21, size_px=SIDE_PX, scene="sky", grain=0.02))
    spoiled, planted = dust_maker().plant(clean, rng, PIECES, bright=True, depth=0.7)
    light = np.asarray(y_to_lightness(scans.decode(spoiled)), dtype=np.float32)

    def read(top: int, bottom: int, left: int, right: int) -> np.ndarray:
        return light[top:bottom, left:right]

    facts = find_dust(SIDE_PX, SIDE_PX, read)
    found = outstanding(SIDE_PX, SIDE_PX, read)
    drawing = Drawing(high_px=360)
    side = 300.0
    scale = side / SIDE_PX
    drawing.text(0, 14, f"{PIECES} pieces planted, {facts.count} marks", bold=True)
    drawing.picture(spoiled, 0, 22, side, side, jpeg=75)
    for mark in facts.marks:
        x, y = mark.x_px * scale, 22 + mark.y_px * scale
        reach = 6.0 + 0.5 * mark.length_px * scale
        drawing.parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{reach:.1f}" fill="none" '
            f'stroke="{ACCENT}" stroke-width="2"/>'
        )
    for piece in planted:
        drawing.mark(piece.x_px * scale, 22 + piece.y_px * scale, "cross", SECOND)
    drawing.mark(8, 340, "ring", ACCENT)
    drawing.text(18, 344, "a mark")
    drawing.mark(78, 340, "cross", SECOND)
    drawing.text(88, 344, "middle of a planted piece")
    hair = max(facts.marks, key=lambda mark: mark.length_px)
    row = round(hair.y_px)
    left = max(0, min(SIDE_PX - 96, round(hair.x_px) - 48))
    here = found.y == row
    ground, limit = float(found.ground_l[here].mean()), float(found.limit_l[here].mean())
    low = 5.0 * round(ground / 5.0) - 15.0
    panel = drawing.panel(
        366, 32, 332, 276, title="One line of pixels through the longest",
        x=Axis(title="px", low=0.0, high=96.0, ticks=ticks(0, 96, 16)),
        y=Axis(title="L*", low=low, high=low + 45.0, ticks=ticks(low, low + 45, 5)),
    )  # fmt: skip
    panel.between((0.0, 96.0), ground - limit, ground + limit, PALE)
    panel.level(ground, Look(GREY, 1.0, "4 3"))
    values = light[row, left : left + 96]
    panel.steps(np.arange(97), values, Look(ACCENT, 1.4))
    out = here & (found.x >= left) & (found.x < left + 96)
    panel.points(found.x[out] - left + 0.5, ground + found.off_l[out])
    panel.legend(
        (
            (Look(GREY, 1.0, "4 3"), "level around"),
            (Look(PALE, 8.0), "6.5 × the noise around, at least 4 L*"),
            (("ring", INK), "pixels that are kept"),
        ),
        14, 18,
    )  # fmt: skip
    return drawing.svg()
