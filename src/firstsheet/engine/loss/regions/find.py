"""Regions of a picture, ranked by what the paper truly takes of each.

Takes wanted and printed colour of a small picture; gives regions in figures and words, and a map
of them. A region that moves but keeps its modelling, hue and neutrals is fine.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_find_regions.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.connected import connected
from firstsheet.engine.loss.regions.areas import told_as_one
from firstsheet.engine.loss.regions.cells import (
    PrintedCells,
    WantedCells,
    printed_seen,
    wanted_cells,
)
from firstsheet.engine.loss.regions.judge import Cells, End, judged
from firstsheet.engine.loss.regions.outline import Outline, outline_of
from firstsheet.engine.loss.regions.planes import PrintedPlanes, WantedPlanes, printed_planes
from firstsheet.engine.loss.regions.words import share_words
from firstsheet.engine.records.losses import EdgeMelt, PaperEnds, PictureLosses, RegionLoss

__all__ = ["RegionMap", "find_regions", "regions_seen", "wanted_cells"]

_ALIKE_DE: Final = 10.0  # neighbouring cells closer than this are the same thing
_MOST_REGIONS: Final = 12  # told of; what is beyond counts in the totals
_MOST_FINE: Final = 4
_FINE_PERCENT: Final = 1.0  # smaller fine regions are not worth a line
_PLAIN_DE00: Final = 5.0  # a shift this large is plain even without the original beside it

_NONE, _HURT, _MOVED, _BLACK, _WHITE = range(5)
_ENDS: Final[dict[int, End]] = {_BLACK: "black", _WHITE: "paper-white"}


@dataclass(frozen=True, eq=False)
class RegionMap:
    """Regions and where they lie."""

    losses: PictureLosses
    labels: NDArray[np.int64]  # (rows, columns) of cells: 0, or 1 + the place in losses.regions
    cell_px: int  # side of a cell, pixels of the small picture
    shape: tuple[int, int]  # height and width of the small picture

    def outlines(self) -> tuple[Outline, ...]:
        """A line around each region, in the order of `losses.regions`; drawn once."""
        return self._outlines

    @cached_property
    def _outlines(self) -> tuple[Outline, ...]:
        return tuple(
            outline_of(self.labels == place, cell_px=self.cell_px, shape=self.shape)
            for place in range(1, len(self.losses.regions) + 1)
        )

    def outlines_of_lost(self) -> tuple[Outline, ...]:
        """The first of them: those round what truly loses, numbered from 1 in the words."""
        lost = sum(one.weight == "caution" for one in self.losses.regions)
        return self.outlines()[:lost]


def find_regions(
    wanted: WantedCells,
    printed_lab: NDArray[Any],
    *,
    floor_de00: float,
    black_l: float,
) -> RegionMap:
    """Find, judge and rank what the paper takes.

    Parameters
    ----------
    wanted
        The picture's own side, from `wanted_cells`; made once for all papers and intents.
    printed_lab
        (h, w, 3), what the paper shows, relative to its white; as large as the wanted picture.
    floor_de00
        The profile's own noise; below it nothing counts as moved.
    black_l
        The darkest L* the paper shows, on the same footing.
    """
    planes = printed_planes(wanted.planes, printed_lab, black_l=black_l)
    return regions_seen(wanted, planes, floor_de00=floor_de00)


def regions_seen(wanted: WantedCells, planes: PrintedPlanes, *, floor_de00: float) -> RegionMap:
    """Find, judge and rank on a measured picture: quick, for another distance or size."""
    printed = printed_seen(wanted, planes)
    classes = _classes(wanted, printed, floor_de00=floor_de00)
    labels = _areas(classes, wanted.planes)
    found: list[tuple[RegionLoss, Cells]] = []
    for area in told_as_one(wanted, classes, labels):
        region = judged(wanted, printed, area, end=_ENDS.get(area.kind))
        if region is not None:
            found.append((region, area.cells))
    found.sort(key=lambda one: (-one[0].rank, -one[0].area_percent))
    hurt = [one for one in found if one[0].weight == "caution"]
    fine = sorted(
        (one for one in found if one[0].weight == "fine"), key=lambda one: -one[0].area_percent
    )
    told = hurt[:_MOST_REGIONS] + [
        one for one in fine[:_MOST_FINE] if one[0].area_percent >= _FINE_PERCENT
    ]
    shown = np.zeros_like(labels)
    for place, (_, cells) in enumerate(told, start=1):
        shown[cells] = place
    losses = _losses(wanted, printed, [one for one, _ in told], hurt)
    return RegionMap(losses, shown, wanted.cell_px, wanted.shape)


def _classes(wanted: WantedCells, printed: PrintedCells, *, floor_de00: float) -> NDArray[np.int64]:
    classes = np.full(wanted.area.shape, _NONE, dtype=np.int64)
    classes[printed.de00 >= max(2.0, floor_de00)] = _MOVED
    hurt = printed.flat | printed.turned | printed.cast | printed.skin
    classes[_closed(hurt)] = _HURT
    classes[printed.black] = _BLACK
    classes[printed.white] = _WHITE
    return classes


def _closed(marks: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Mask, and cells with five or more marked neighbours of eight."""
    around = np.pad(marks.astype(np.int64), 1)
    height, width = marks.shape
    neighbours = sum(
        around[down : down + height, right : right + width]
        for down in range(3)
        for right in range(3)
        if (down, right) != (1, 1)
    )
    closed: NDArray[np.bool_] = marks | (neighbours >= 5)
    return closed


def _areas(classes: NDArray[np.int64], planes: WantedPlanes) -> NDArray[np.int64]:
    """Connected cells of one class and like colour; at black and white, of any colour."""
    ends = classes >= _BLACK
    beside = (classes[:, :-1] == classes[:, 1:]) & ((planes.beside_de < _ALIKE_DE) | ends[:, :-1])
    below = (classes[:-1] == classes[1:]) & ((planes.below_de < _ALIKE_DE) | ends[:-1])
    return connected(classes != _NONE, beside, below)


def _losses(
    wanted: WantedCells,
    printed: PrintedCells,
    told: list[RegionLoss],
    hurt: list[tuple[RegionLoss, Cells]],
) -> PictureLosses:
    whole = float(wanted.area.sum())
    hurt_percent = round(sum(one.area_percent for one, _ in hurt), 3)
    moved = float(wanted.area[printed.de00 >= 2.0].sum()) / whole * 100.0
    steps = float((wanted.steps * wanted.area).sum())
    kept = round(float((printed.steps * wanted.area).sum()) / steps, 4) if steps > 0.0 else None
    ends = _ends(wanted, printed)
    plain = np.maximum(0.0, printed.de00 / _PLAIN_DE00 - 1.0)
    fine_percent = round(max(0.0, moved - hurt_percent), 3)
    return PictureLosses(
        verdict=_verdict(told, hurt_percent, fine_percent, ends),
        nothing_to_do=not hurt,
        regions=tuple(told),
        modelling_kept=kept,
        hurt_percent=hurt_percent,
        moved_fine_percent=fine_percent,
        lost_total=round(sum(one.rank for one, _ in hurt), 3),
        moved_total=round(float((plain * wanted.area).sum()) / whole * 100.0, 3),
        mean_shift_de00=round(float((printed.de00 * wanted.area).sum()) / whole, 3),
        ends=ends,
        finest_mm=round(wanted.scales.finest_mm, 3),
        distance_mm=wanted.distance_mm,
    )


def _ends(wanted: WantedCells, printed: PrintedCells) -> PaperEnds:
    counted, mm = printed.ends, wanted.mm_per_px
    whole = float(wanted.area.sum())

    def drawn(cells: NDArray[np.bool_]) -> float:
        return round(float(wanted.area[cells & printed.flat].sum()) / whole * 100.0, 3)

    edge = counted.edge_px
    return PaperEnds(
        white_percent=round(counted.white_percent, 3),
        white_largest_mm2=round(counted.white_largest_px * mm**2, 1),
        white_drawn_percent=drawn(printed.white),
        black_percent=round(counted.black_percent, 3),
        black_largest_mm2=round(counted.black_largest_px * mm**2, 1),
        black_drawn_percent=drawn(printed.black),
        edge=EdgeMelt(
            top_mm=round(edge.top_mm * mm, 1),
            right_mm=round(edge.right_mm * mm, 1),
            bottom_mm=round(edge.bottom_mm * mm, 1),
            left_mm=round(edge.left_mm * mm, 1),
            total_mm=round(edge.total_mm * mm, 1),
        ),
    )


def _verdict(
    told: list[RegionLoss], hurt_percent: float, fine_percent: float, ends: PaperEnds
) -> str:
    hurt = [one for one in told if one.weight == "caution"]
    if hurt:
        places = "one place" if len(hurt) == 1 else f"{len(hurt)} places"
        said = (
            f"{share_words(hurt_percent).capitalize()} of the picture loses visibly, in {places}; "
            f"most of all {hurt[0].words}"
        )
    elif fine_percent >= 0.1:
        said = (
            f"Nothing to do: {share_words(fine_percent)} of the picture moves by ΔE00 2 or more, "
            "but separation, hues and neutrals are kept."
        )
    else:
        said = "Nothing to do: the paper shows this picture as it is meant."
    if ends.edge.total_mm >= 10.0:
        said += f" {ends.edge.total_mm / 10.0:.0f} cm of its edge melts into the border."
    return said
