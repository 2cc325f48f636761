"""How far the fast path is off, against an engine's own fast path, on near-neutral colours."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, GREY, SECOND, Axis, Drawing, Look, ticks
from imagecodecs import cms_transform
from sources import paper

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import srgb_chain
from firstsheet.cms.link import apply_link, paper_link, source_colour
from firstsheet.engine.colour.difference import delta_e_2000

__all__ = ["draw"]

PAPERS = (
    ("harbour-gloss", "glossy", Look(ACCENT)),
    ("chalk-matte", "matte", Look(SECOND, 1.8, "6 3")),
    ("tidings-newsprint", "newsprint", Look(GREY, 1.8, "2 3")),
)


def near_neutral(count: int) -> Any:
    """Sixteen-bit codes around the greys."""
    rng = np.random.default_rng(8)
    codes = rng.uniform(0.0, 1.0, (count, 1)) + rng.normal(0.0, 0.02, (count, 3))
    return np.rint(np.clip(codes, 0.0, 1.0) * 65535.0).astype(np.uint16)


def engines_own(codes: Any, profile: bytes) -> Any:
    """Device values by the engine's default joined call, 16 bits, relative colorimetric."""
    device = cms_transform(
        codes[None], space_profile("srgb"), profile, colorspace="rgb", outcolorspace="rgb",
        outdtype="u2", intent=1,
    )  # fmt: skip
    return np.asarray(device)[0] / 65535.0


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=350)
    panel = drawing.panel(
        58, 20, 640, 280,
        x=Axis(title="ΔE00 of the print, against the floating-point chain", low=1e-3, high=10.0,
               ticks=(1e-3, 1e-2, 0.1, 1, 10), log=True),
        y=Axis(title="per cent of the colours that miss by less", low=0.0, high=100.0,
               ticks=ticks(0, 100, 20)),
    )  # fmt: skip
    codes = near_neutral(4000)
    shares = np.concatenate([np.arange(1.0, 99.0, 1.0), [99.0, 99.5, 99.9]])
    for stock, _, look in PAPERS:
        chain = srgb_chain(paper(stock), black_point=False)
        truth = chain.printed_lab(chain.device(codes / 65535.0))
        link = apply_link(paper_link(chain), source_colour(chain), codes / 65535.0)
        own = engines_own(codes, paper(stock))
        for device, width in ((link, look.width_px), (own, 1.0)):
            miss = np.maximum(delta_e_2000(truth, chain.printed_lab(device)), 1e-6)
            panel.curve(np.percentile(miss, shares), shares, Look(look.colour, width, look.dash))
    for limit in (0.05, 0.3):
        panel.upright(limit)
    panel.label(0.05, 3.0, "aim at 99 %", anchor="end", dx=-4, colour=GREY)
    panel.label(0.3, 3.0, "aim at most", dx=4, colour=GREY)
    panel.label(0.0085, 80.0, "our link (thick)")
    panel.label(0.55, 66.0, "Little CMS by its default")
    panel.label(0.55, 66.0, "16-bit call (thin)", dy=16)
    panel.legend([(look, words) for _, words, look in PAPERS], 530, 180)
    return drawing.svg()
