"""The regions as the bench shows them: lines in mm on the picture, words, figures and swatches.

Takes a prepared print; gives records. Nothing is measured here.
Tests: tests/web/test_bench_regions.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.loss.regions.findings import of_no_place
from firstsheet.engine.loss.regions.outline import Outline
from firstsheet.engine.records import Record, Weight
from firstsheet.engine.records.losses import RegionLoss

if TYPE_CHECKING:
    from firstsheet.jobs.planning.open_picture import Prepared

__all__ = ["RegionView", "RegionsAnswer", "regions_shown"]

_Point = tuple[float, float]


class RegionView(Record):
    """One place of the picture."""

    number: int
    name: str  # colour and place
    words: str
    weight: Weight
    figures: str
    loops: tuple[tuple[_Point, ...], ...]  # mm from the picture's upper left corner
    number_at: _Point
    wanted_css: str
    printed_css: str
    swatch_words: str


class RegionsAnswer(Record):
    """What the paper truly takes, place by place."""

    plan_digest: str
    verdict: str
    regions: tuple[RegionView, ...]
    also: tuple[str, ...]  # what is true of no one place: edges that melt, greys that drift


def regions_shown(prepared: Prepared) -> RegionsAnswer | None:
    """All regions with their lines; None where nothing is converted."""
    if prepared.regions is None:
        return None
    plan, losses = prepared.plan, prepared.regions.map.losses
    size = (plan.size.width_mm, plan.size.height_mm)
    pairs = zip(losses.regions, prepared.regions.map.outlines(), strict=True)
    return RegionsAnswer(
        plan_digest=plan.digest,
        verdict=losses.verdict,
        regions=tuple(
            _region(number, region, outline, size)
            for number, (region, outline) in enumerate(pairs, start=1)
        ),
        also=of_no_place(plan.findings),
    )


def _region(
    number: int, region: RegionLoss, outline: Outline, size_mm: tuple[float, float]
) -> RegionView:
    def mm(at: _Point) -> _Point:
        return round(at[0] * size_mm[0], 2), round(at[1] * size_mm[1], 2)

    name = f"{region.colour}, {region.place}"
    return RegionView(
        number=number,
        name=name[0].upper() + name[1:],
        words=region.words[0].upper() + region.words[1:],
        weight=region.weight,
        figures=f"{region.area_mm2 / 100.0:.0f} cm² of the print, mean ΔE00 {region.mean_de00:.1f}",
        loops=tuple(tuple(mm(at) for at in loop) for loop in outline.loops),
        number_at=mm(outline.number_at),
        wanted_css=_css(region.wanted_lab),
        printed_css=_css(region.printed_lab),
        swatch_words=f"On average wanted as L* {region.wanted_lab[0]:.0f}, "
        f"a* {region.wanted_lab[1]:.0f}, b* {region.wanted_lab[2]:.0f}; prints as "
        f"L* {region.printed_lab[0]:.0f}, a* {region.printed_lab[1]:.0f}, "
        f"b* {region.printed_lab[2]:.0f}.",
    )


def _css(lab: tuple[float, float, float]) -> str:
    rgb = np.clip(SPACES["display-p3"].from_xyz_d50(lab_to_xyz(lab)), 0.0, 1.0)
    return "color(display-p3 " + " ".join(f"{one:.4f}" for one in rgb) + ")"
