"""Draw the figure of docs/theory/regions.md: planted losses, and the lines the program puts round.

Run: python tools/draw_regions_figure.py. Three patches on grey, through the matte demo paper: one
loses most of its drawing and turns, one loses some, one only moves, as the grey
does.
"""

from __future__ import annotations

import base64
import io
from html import escape
from pathlib import Path
from textwrap import wrap

import numpy as np
from PIL import Image

from firstsheet.cms.chain import srgb_chain
from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.regions.find import RegionMap, find_regions, wanted_cells
from firstsheet.engine.regions.outline import Outline
from firstsheet.store.stocks import get_stock, stock_profile_bytes

FIGURE = Path(__file__).parent.parent / "docs" / "theory" / "regions.svg"
WIDE, HIGH, GAP = 360, 240, 20
PATCHES = (
    ((90, 85), (0.02, 0.05, 0.75), 0.12),
    ((265, 80), (0.95, 0.10, 0.30), 0.06),
    ((180, 175), (0.80, 0.62, 0.20), 0.08),
)


def planted() -> np.ndarray:
    """Encoded sRGB: discs of grained colour on grey."""
    rng = np.random.default_rng(4)
    picture = np.full((HIGH, WIDE, 3), 0.6)
    down, across = np.mgrid[0:HIGH, 0:WIDE]
    grain = np.kron(rng.normal(0.0, 1.0, (HIGH // 3, WIDE // 3)), np.ones((3, 3)))[..., None]
    for (x, y), colour, share in PATCHES:
        disc = (across - x) ** 2 + (down - y) ** 2 < 55**2
        picture[disc] = (np.array(colour) * (1.0 + share * grain))[disc]
    clipped: np.ndarray = np.clip(picture, 0.0, 1.0)
    return clipped


def judged() -> tuple[np.ndarray, np.ndarray, RegionMap]:
    """Wanted and printed colour, and the regions."""
    chain = srgb_chain(stock_profile_bytes(get_stock("chalk-matte")))
    codes = planted()
    wanted = chain.wanted_lab(codes)
    printed = chain.printed_lab(chain.device(codes))
    cells = wanted_cells(wanted, mm_per_px=300.0 / WIDE, distance_mm=800.0)
    found = find_regions(cells, printed, floor_de00=1.4, black_l=29.0)
    return wanted, printed, found


def picture_tag(lab: np.ndarray, left: int) -> str:
    """One picture, packed into the drawing."""
    rgb = np.clip(SPACES["srgb"].from_xyz_d50(lab_to_xyz(lab)), 0.0, 1.0)
    packed = io.BytesIO()
    Image.fromarray((rgb * 255.0 + 0.5).astype(np.uint8)).save(packed, "JPEG", quality=85)
    data = base64.b64encode(packed.getvalue()).decode()
    place = f'x="{left}" y="22" width="{WIDE}" height="{HIGH}"'
    return f'<image {place} href="data:image/jpeg;base64,{data}"/>'


def line_tags(outline: Outline, number: int, left: int) -> str:
    """A region's lines and its number."""

    def at(place: tuple[float, float]) -> tuple[float, float]:
        return left + place[0] * WIDE, 22 + place[1] * HIGH

    path = "".join(
        "M" + "L".join("{:.1f} {:.1f}".format(*at(one)) for one in loop) + "Z"
        for loop in outline.loops
    )
    x, y = at(outline.number_at)
    return (
        f'<path d="{path}" fill="none" stroke="#222" stroke-width="3"/>'
        f'<path d="{path}" fill="none" stroke="#fff" stroke-width="1.3"/>'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" fill="#fff" stroke="#333"/>'
        f'<text x="{x:.1f}" y="{y + 4:.1f}" text-anchor="middle" font-weight="600">{number}</text>'
    )


def main() -> None:
    """Write the figure."""
    wanted, printed, found = judged()
    right = WIDE + GAP
    y, words = HIGH + 44, []
    for number, region in enumerate(found.losses.regions, start=1):
        for line in wrap(f"{number}  {region.words}", 110):
            words.append(f'<text x="0" y="{y}">{escape(line)}</text>')
            y += 17
    pairs = zip(found.losses.regions, found.outlines(), strict=True)
    lines = [
        line_tags(outline, at, right)
        for at, (region, outline) in enumerate(pairs, start=1)
        if region.weight == "mind"
    ]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {right + WIDE} {y}" '
        'font-family="sans-serif" font-size="12">',
        '<rect width="100%" height="100%" fill="#fff"/>',
        '<text x="0" y="14">wanted</text>',
        f'<text x="{right}" y="14">printed on Chalk Matte 310, as the program judges it</text>',
        picture_tag(wanted, 0),
        picture_tag(printed, right),
        *lines,
        *words,
        "</svg>",
    ]
    FIGURE.write_text("\n".join(parts) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
