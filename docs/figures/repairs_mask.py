"""A repair's soft edge in a grained sky that grows vivid, and how far the print moves by it."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import GREY, PALE, SECOND, Axis, Drawing, Look, ticks
from sources import colour_science, paper, printed_by

from firstsheet.engine.loss.repair.field import field_of
from firstsheet.engine.loss.repair.grid import apply_fields, mask_over
from firstsheet.engine.loss.repair.place import places_in_need
from firstsheet.engine.loss.repair.propose import OUTSIDE_MAX, OUTSIDE_MEAN
from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.records.repair import RepairWish

__all__ = ["draw"]

WIDE_PX, HIGH_PX, MM_PER_PX = 768, 48, 0.5
DULL, VIVID = np.array([66.0, -4.0, -10.0]), np.array([56.0, 10.0, -74.0])


def sky() -> Any:
    """Lab of a strip that goes evenly from dull to vivid blue, with grain."""
    share = np.linspace(0.0, 1.0, WIDE_PX)[None, :, None]
    grain = np.random.default_rng(3).normal(0.0, 1.5, (HIGH_PX, WIDE_PX))
    lab = np.repeat(DULL + share * (VIVID - DULL), HIGH_PX, axis=0)
    lab[..., 0] += grain
    return lab


def draw() -> str:
    """Two panels below each other."""
    printed = printed_by(paper("chalk-matte"))
    lab = sky()
    wish = RepairWish(
        kind="chroma", box=(0.0, 0.0, 1.0, 1.0), lab=(57.0, 8.0, -66.0), reach=16.0, strength=1.0
    )
    needs = places_in_need(lab, printed)
    field = field_of(wish, Paper(printed), needs)
    repaired = apply_fields(lab, [field])
    science = colour_science()
    moved = science.delta_E(printed(lab), printed(repaired), method="CIE 2000")
    assert field.mask is not None
    mask = mask_over(field.mask, (HIGH_PX, WIDE_PX)).mean(axis=0)
    place = (np.arange(WIDE_PX) + 0.5) * MM_PER_PX
    near = needs.near((HIGH_PX, WIDE_PX))
    begins = float(place[near.any(axis=0)][0])
    drawing = Drawing(high_px=392)
    across = Axis(title="", low=0.0, high=384.0, ticks=ticks(0, 350, 50), words=[""] * 8)
    top = drawing.panel(
        58, 32, 640, 120, title="Mask", x=across,
        y=Axis(title="share", low=0.0, high=1.1, ticks=(0, 0.5, 1)),
    )  # fmt: skip
    low = drawing.panel(
        58, 190, 640, 152, title="How far the print moves by the repair",
        x=Axis(title="mm along a sky that grows vivid", low=0.0, high=384.0,
               ticks=ticks(0, 350, 50)),
        y=Axis(title="ΔE00", low=0.0, high=4.0, ticks=ticks(0, 4, 1)),
    )  # fmt: skip
    for panel in (top, low):
        panel.between((begins, 384.0), 0.0, panel.y.high, PALE)
    cells = (np.arange(needs.loses.shape[1]) + 0.5) * 8 * MM_PER_PX
    faint = Look(GREY, 1.3, "2 3")
    top.curve(cells, needs.loses.mean(axis=0), faint)
    top.curve(place, mask)
    top.legend(((Look(), "mask"), (faint, "how surely the paper takes something")), 330, 60)
    low.curve(place, moved.max(axis=0), faint)
    low.curve(place, moved.mean(axis=0))
    for bound in (OUTSIDE_MEAN, OUTSIDE_MAX):
        low.curve((0.0, begins), (bound, bound), Look(SECOND, 1.8, "6 3"))
    low.label(2.0, OUTSIDE_MAX, f"outside: at most {OUTSIDE_MAX:g},", dy=-18, colour=SECOND)
    low.label(2.0, OUTSIDE_MAX, f"{OUTSIDE_MEAN:g} on average", dy=-5, colour=SECOND)
    low.legend(((Look(), "mean over 24 mm down"), (faint, "largest there")), 330, 16)
    return drawing.svg()
