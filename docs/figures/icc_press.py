"""A press profile against the 2,376 patches that were measured for it."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, GREY, INK, Axis, Drawing, Look, ticks
from sources import press

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.cms.container import parse_profile
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import xyz_to_lab

__all__ = ["draw"]


def chart(profile: bytes) -> Any:
    """Rows of ink (0..1) and XYZ (white 1), as the profile itself carries them."""
    text = parse_profile(profile).tags["targ"][8:].decode("latin-1").replace("\r", "")
    body = text.split("BEGIN_DATA\n", 1)[1].split("END_DATA")[0]
    rows = [line.split()[1:8] for line in body.strip().splitlines()]
    return np.array(rows, dtype=float) / 100.0


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=390)
    left = drawing.panel(
        58, 32, 308, 308, title="Every 12th patch: measured, and read by us",
        x=Axis(title="a*", low=-80.0, high=80.0, ticks=ticks(-80, 80, 40)),
        y=Axis(title="b*", low=-60.0, high=100.0, ticks=ticks(-60, 100, 40)),
    )  # fmt: skip
    profile = press()
    rows = chart(profile)
    chain = build_chain(
        source_profile=space_profile("srgb"), colour_model="rgb", paper_profile=profile,
        intent="relative", black_point=False,
    )  # fmt: skip
    printed = chain.printed_lab_absolute(rows[:, :4])
    measured = xyz_to_lab(rows[:, 4:7])
    left.points(measured[::12, 1], measured[::12, 2], "ring", GREY)
    left.points(printed[::12, 1], printed[::12, 2], "dot", ACCENT)
    left.legend(((("ring", GREY), "measured"), (("dot", ACCENT), "profile, by us")), 196, 14)
    right = drawing.panel(
        424, 32, 274, 308, title=f"All {len(rows)} patches",
        x=Axis(title="ΔE00 between the two", low=0.0, high=2.0, ticks=ticks(0, 2, 0.5)),
        y=Axis(title="per cent that lie nearer", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
    )  # fmt: skip
    gap = delta_e_2000(printed, measured)
    shares = np.linspace(0.0, 100.0, 101)
    right.curve(np.percentile(gap, shares), shares, Look(ACCENT))
    for share in (50.0, 95.0, 100.0):
        at = float(np.percentile(gap, share))
        right.points(at, share, "ring", INK)
        down = 4 if share < 95.0 else 18
        right.label(at, share, f"{share:g} %: {at:.2f}", dx=8 if share < 99 else -8, dy=down,
                    anchor="start" if share < 99 else "end")  # fmt: skip
    return drawing.svg()
