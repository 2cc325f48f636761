"""Planted losses, and the lines and sentences that the program puts to them.

Three patches on grey, through the matte demo paper: one loses most of its drawing and turns, one
loses some, one only moves, as the grey does.
"""

from __future__ import annotations

from textwrap import wrap

import numpy as np
from drawing import Drawing
from numpy.typing import NDArray
from sources import paper

from firstsheet.cms.chain import srgb_chain
from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.loss.regions.find import RegionMap, find_regions, wanted_cells
from firstsheet.engine.loss.regions.outline import Outline

__all__ = ["draw"]

WIDE_PX, HIGH_PX, MM_PER_PX = 360, 240, 300.0 / 360
PATCHES = (  # middle, encoded sRGB, share of grain
    ((90, 85), (0.02, 0.05, 0.75), 0.12),
    ((265, 80), (0.95, 0.10, 0.30), 0.06),
    ((180, 175), (0.80, 0.62, 0.20), 0.08),
)
GAP_PX = 20
SIDE_PX = (720 - GAP_PX) / 2
SCALE = SIDE_PX / WIDE_PX


def planted() -> NDArray[np.float64]:
    """Encoded sRGB: discs of grained colour on grey."""
    rng = np.random.default_rng(4)
    picture = np.full((HIGH_PX, WIDE_PX, 3), 0.6)
    down, across = np.mgrid[0:HIGH_PX, 0:WIDE_PX]
    grain = np.kron(rng.normal(0.0, 1.0, (HIGH_PX // 3, WIDE_PX // 3)), np.ones((3, 3)))[..., None]
    for (x, y), colour, share in PATCHES:
        disc = (across - x) ** 2 + (down - y) ** 2 < 55**2
        picture[disc] = (np.array(colour) * (1.0 + share * grain))[disc]
    clipped: NDArray[np.float64] = np.clip(picture, 0.0, 1.0)
    return clipped


def judged() -> tuple[NDArray[np.float64], NDArray[np.float64], RegionMap]:
    """Wanted and printed colour, and the regions."""
    chain = srgb_chain(paper("chalk-matte"))
    codes = planted()
    wanted = chain.wanted_lab(codes)
    printed = chain.printed_lab(chain.device(codes))
    cells = wanted_cells(wanted, mm_per_px=MM_PER_PX, distance_mm=800.0)
    found = find_regions(cells, printed, floor_de00=1.4, black_l=29.0)
    return wanted, printed, found


def shown(drawing: Drawing, lab: NDArray[np.float64], left: float) -> None:
    """One picture, packed into the drawing."""
    rgb = SPACES["srgb"].from_xyz_d50(lab_to_xyz(lab))
    drawing.picture(rgb, left, 22, SIDE_PX, HIGH_PX * SCALE, jpeg=82)


def lines(drawing: Drawing, outline: Outline, number: int, left: float) -> None:
    """A region's lines and its number."""
    path = "".join(
        "M"
        + "L".join(f"{left + x * SIDE_PX:.1f} {22 + y * HIGH_PX * SCALE:.1f}" for x, y in loop)
        + "Z"
        for loop in outline.loops
    )
    for colour, width in (("#222", 3), ("#fff", 1.3)):
        drawing.parts.append(
            f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width}"/>'
        )
    x = left + outline.number_at[0] * SIDE_PX
    y = 22 + outline.number_at[1] * HIGH_PX * SCALE
    drawing.parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" fill="#fff" stroke="#333"/>')
    drawing.text(x, y + 4, str(number), anchor="middle", bold=True)


def draw() -> str:
    """Two pictures, and the sentences below."""
    wanted, printed, found = judged()
    said = [
        line
        for number, region in enumerate(found.losses.regions, start=1)
        for line in wrap(f"{number}  {region.words}", 110)
    ]
    below = 22 + HIGH_PX * SCALE + 22
    drawing = Drawing(high_px=round(below + 17 * len(said)))
    right = SIDE_PX + GAP_PX
    drawing.text(0, 14, "wanted", bold=True)
    drawing.text(right, 14, "printed on Chalk Matte 310, and judged", bold=True)
    shown(drawing, wanted, 0)
    shown(drawing, printed, right)
    pairs = zip(found.losses.regions, found.outlines(), strict=True)
    for number, (region, outline) in enumerate(pairs, start=1):
        if region.weight == "caution":
            lines(drawing, outline, number, right)
    for row, line in enumerate(said):
        drawing.text(0, below + 17 * row, line)
    return drawing.svg()
