"""Black point compensation: the straight line, and why we do not leave it to a library."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import by_little_cms, paper, press

from firstsheet.cms.blackpoint import compensation, destination_black
from firstsheet.cms.chain import srgb_chain
from firstsheet.cms.container import parse_profile
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab, y_to_lightness

__all__ = ["draw"]


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=340)
    left = drawing.panel(
        58, 32, 290, 258, title="The line, as L*",
        x=Axis(title="L* of the picture", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
        y=Axis(title="L* asked of the paper", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
    )  # fmt: skip
    y = np.geomspace(1e-4, 1.0, 80)
    left.curve((0, 100), (0, 100), Look(GREY, 1.0, "4 3"))
    papers = (
        ("press profile", press(), Look(GREY, 1.6, "2 3")),
        ("Chalk Matte 310", paper("chalk-matte"), Look(ACCENT)),
        ("Tidings newsprint", paper("tidings-newsprint"), Look(SECOND, 1.8, "6 3")),
    )
    rows = []
    for words, profile, look in papers:
        black = destination_black(parse_profile(profile), 1)
        scale, offset = compensation((0.0, 0.0, 0.0), black)
        left.curve(y_to_lightness(y), y_to_lightness(scale[1] * y + offset[1]), look)
        rows.append((look, words))
    left.legend(rows, 128, 214)
    right = drawing.panel(
        414, 32, 284, 258, title="Dark greys printed on Chalk Matte 310",
        x=Axis(title="grey level of the file, 0 … 255", low=0.0, high=80.0, ticks=ticks(0, 80, 20)),
        y=Axis(title="printed L*", low=30.0, high=46.0, ticks=ticks(30, 46, 2)),
    )  # fmt: skip
    profile = paper("chalk-matte")
    chain = srgb_chain(profile)
    levels = np.arange(0, 81, 2)
    codes = np.repeat(levels[:, None], 3, axis=1)
    wanted = chain.wanted_lab(codes / 255.0)
    darkest = chain.printed_lab(np.zeros((1, 3)))[0]
    scale, offset = compensation((0.0, 0.0, 0.0), lab_to_xyz(darkest))
    tinted = chain.device_from_lab(xyz_to_lab(lab_to_xyz(wanted) * scale + offset))
    right.curve(levels, chain.printed_lab(chain.device(codes / 255.0))[:, 0], Look(ACCENT))
    right.curve(levels, chain.printed_lab(tinted)[:, 0], Look(SECOND, 1.8, "6 3"))
    few = np.arange(0, 81, 8)
    told = by_little_cms(
        np.repeat(few[:, None], 3, axis=1).astype(np.uint8), profile, black_point=True
    )
    right.points(few, told[:, 0])
    right.legend(
        (
            (Look(ACCENT), "ours: black made neutral"),
            (Look(SECOND, 1.8, "6 3"), "ours, its tint left in"),
            (("ring", INK), "Little CMS by itself"),
        ),
        12, 16,
    )  # fmt: skip
    return drawing.svg()
