"""The dark greys on a press and on matte paper: where they merge, ours and Little CMS."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, INK, PALE, SECOND, Axis, Drawing, Look, ticks
from sources import by_little_cms, paper, press

from firstsheet.cms.chain import srgb_chain
from firstsheet.engine.loss.shadows import SHADOW_TOLERANCE_L, merged_shadow_levels

__all__ = ["draw"]

WAYS = ((True, Look(ACCENT)), (False, Look(SECOND, 1.8, "6 3")))


def ramp(profile: bytes, *, black_point: bool) -> Any:
    """Printed L* of the 256 greys of sRGB."""
    chain = srgb_chain(profile, black_point=black_point)
    greys = np.repeat(np.arange(256.0)[:, None] / 255.0, 3, axis=1)
    return chain.printed_lab(chain.device(greys))[:, 0]


def draw() -> str:
    """Two panels, one for each paper."""
    drawing = Drawing(high_px=340)
    papers = (
        (press(), "CMYK", "A press profile"),
        (paper("chalk-matte"), "RGB", "Chalk Matte 310"),
    )
    for number, (profile, channels, title) in enumerate(papers):
        low = (12.0, 28.0)[number]
        panel = drawing.panel(
            (58, 414)[number], 32, 290, 258, title=title,
            x=Axis(title="grey level of the file, 0 … 255", low=0.0, high=80.0,
                   ticks=ticks(0, 80, 20)),
            y=Axis(title="printed L*", low=low, high=low + 26.0, ticks=ticks(low, low + 24, 4)),
        )  # fmt: skip
        rows = []
        for black_point, look in WAYS:
            printed = ramp(profile, black_point=black_point)
            merged = merged_shadow_levels(printed)
            if not black_point:
                darkest = float(printed.min())
                panel.between((0, merged - 1), darkest, darkest + SHADOW_TOLERANCE_L, PALE)
            panel.curve(np.arange(81), printed[:81], look)
            shown = np.arange(0, 81, 8)
            codes = np.repeat(shown[:, None], 3, axis=1).astype(np.uint8)
            told = by_little_cms(codes, profile, channels=channels, black_point=black_point)
            if (
                number == 0 or not black_point
            ):  # on matte its compensation keeps a tint: black-point
                panel.points(shown, told[:, 0])
            way = "compensated" if black_point else "black left alone"
            rows.append((look, f"{way}: {merged} levels merge"))
        panel.legend([*rows, (("ring", INK), "Little CMS")], 14, 16)
    return drawing.svg()
