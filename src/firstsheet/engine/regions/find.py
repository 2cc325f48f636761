"""Regions of a picture, ranked by what the paper truly takes of each.

Takes wanted and printed colour of a small picture; gives regions in figures and words, and a map
of them. A region that moves but keeps its modelling, hue and neutrals is fine.
Theory: docs/theory/regions.md. Tests: tests/engine/regions/test_find_regions.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_94
from firstsheet.engine.regions.cells import PrintedCells, WantedCells, printed_cells, wanted_cells
from firstsheet.engine.regions.connect import connected
from firstsheet.engine.regions.ends import at_black, at_paper_white, edge_melt, largest_area_mm2
from firstsheet.engine.regions.judge import End, judged, named
from firstsheet.engine.regions.record import PaperEnds, PictureLosses, RegionLoss
from firstsheet.engine.regions.words import share_words

__all__ = ["RegionMap", "find_regions", "wanted_cells"]

_ALIKE_DE: Final = 10.0  # neighbouring cells closer than this are the same thing
_MOST_REGIONS: Final = 12  # told of; what is beyond counts in the totals
_MOST_FINE: Final = 4
_FINE_PERCENT: Final = 1.0  # smaller fine regions are not worth a line
_LEAST_CELLS: Final = 4
_PLAIN_DE00: Final = 5.0  # a shift this large is plain even without the original beside it
_CANDIDATES: Final = 400  # judged one by one, the largest of each class

_NONE, _HURT, _MOVED, _BLACK, _WHITE = range(5)
_ENDS: Final[dict[int, End]] = {_BLACK: "black", _WHITE: "paper-white"}


@dataclass(frozen=True, eq=False)
class RegionMap:
    """Regions and where they lie."""

    losses: PictureLosses
    labels: NDArray[np.int64]  # (rows, columns) of cells: 0, or 1 + the place in losses.regions
    cell_px: int  # side of a cell, pixels of the small picture


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
    printed = printed_cells(wanted, printed_lab)
    classes = _classes(wanted, printed, floor_de00=floor_de00, black_l=black_l)
    labels = _areas(classes, wanted.lab)
    found: list[tuple[RegionLoss, NDArray[np.bool_]]] = []
    for kind, cells, pieces in _told_as_one(wanted, classes, labels):
        region = judged(wanted, printed, cells, end=_ENDS.get(kind), pieces=pieces)
        if region is not None:
            found.append((region, cells))
    found.sort(key=lambda one: (-one[0].rank, -one[0].area_percent))
    hurt = [one for one in found if one[0].weight == "mind"]
    fine = sorted(
        (one for one in found if one[0].weight == "fine"), key=lambda one: -one[0].area_percent
    )
    told = hurt[:_MOST_REGIONS] + [
        one for one in fine[:_MOST_FINE] if one[0].area_percent >= _FINE_PERCENT
    ]
    shown = np.zeros_like(labels)
    for place, (_, cells) in enumerate(told, start=1):
        shown[cells] = place
    losses = _losses(wanted, printed, printed_lab, [one for one, _ in told], hurt, black_l)
    return RegionMap(losses, shown, wanted.cell_px)


def _classes(
    wanted: WantedCells, printed: PrintedCells, *, floor_de00: float, black_l: float
) -> NDArray[np.int64]:
    classes = np.full(wanted.area.shape, _NONE, dtype=np.int64)
    classes[printed.de00 >= max(2.0, floor_de00)] = _MOVED
    hurt = printed.flat | printed.turned | printed.cast | printed.skin
    classes[_closed(hurt)] = _HURT
    classes[at_black(printed.lab, black_l)] = _BLACK
    white = at_paper_white(printed.lab)
    classes[white] = _WHITE
    return classes


def _closed(marks: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Marks, and cells with five or more marked neighbours of eight."""
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


def _areas(classes: NDArray[np.int64], lab: NDArray[np.float64]) -> NDArray[np.int64]:
    """Connected cells of one class and like colour; at black and white, of any colour."""
    ends = classes >= _BLACK

    def joins(one: Any, two: Any) -> NDArray[np.bool_]:
        alike: NDArray[np.bool_] = delta_e_94(lab[one], lab[two]) < _ALIKE_DE
        same: NDArray[np.bool_] = (classes[one] == classes[two]) & (alike | ends[one])
        return same

    every = slice(None)
    beside = joins((every, slice(None, -1)), (every, slice(1, None)))
    below = joins((slice(None, -1),), (slice(1, None),))
    return connected(classes != _NONE, beside, below)


def _largest(labels: NDArray[np.int64]) -> list[int]:
    counts = np.bincount(labels.ravel())
    counts[0] = 0
    order = np.argsort(-counts, kind="stable")[:_CANDIDATES]
    return [int(one) for one in order if counts[one] >= min(_LEAST_CELLS, labels.size)]


def _told_as_one(
    wanted: WantedCells, classes: NDArray[np.int64], labels: NDArray[np.int64]
) -> list[tuple[int, NDArray[np.bool_], int]]:
    """Areas of one class that would be called the same, joined: class, cells, pieces."""
    joined: dict[tuple[int, str, str], tuple[NDArray[np.bool_], int]] = {}
    for number in _largest(labels):
        cells = labels == number
        kind = int(classes[cells][0])
        key = (kind, *named(wanted, cells))
        earlier, pieces = joined.get(key, (np.zeros_like(cells), 0))
        joined[key] = (earlier | cells, pieces + 1)
    return [(kind, cells, pieces) for (kind, _, _), (cells, pieces) in joined.items()]


def _losses(
    wanted: WantedCells,
    printed: PrintedCells,
    printed_lab: NDArray[Any],
    told: list[RegionLoss],
    hurt: list[tuple[RegionLoss, NDArray[np.bool_]]],
    black_l: float,
) -> PictureLosses:
    whole = float(wanted.area.sum())
    hurt_percent = sum(one.area_percent for one, _ in hurt)
    moved = float(wanted.area[printed.de00 >= 2.0].sum()) / whole * 100.0
    steps = float((wanted.steps * wanted.area).sum())
    kept = float((printed.steps * wanted.area).sum()) / steps if steps > 0.0 else None
    ends = _ends(wanted, printed, printed_lab, black_l)
    plain = np.maximum(0.0, printed.de00 / _PLAIN_DE00 - 1.0)
    fine_percent = max(0.0, moved - hurt_percent)
    return PictureLosses(
        verdict=_verdict(told, hurt_percent, fine_percent, ends),
        nothing_to_do=not hurt,
        regions=tuple(told),
        modelling_kept=kept,
        hurt_percent=hurt_percent,
        moved_fine_percent=fine_percent,
        lost_total=sum(one.rank for one, _ in hurt),
        moved_total=float((plain * wanted.area).sum()) / whole * 100.0,
        mean_shift_de00=float((printed.de00 * wanted.area).sum()) / whole,
        ends=ends,
        finest_mm=wanted.scales.finest_mm,
        distance_mm=wanted.distance_mm,
    )


def _ends(
    wanted: WantedCells, printed: PrintedCells, printed_lab: NDArray[Any], black_l: float
) -> PaperEnds:
    white, black = at_paper_white(printed_lab), at_black(printed_lab, black_l)
    white_cells, black_cells = at_paper_white(printed.lab), at_black(printed.lab, black_l)
    whole = float(wanted.area.sum())

    def drawn(cells: NDArray[np.bool_]) -> float:
        return float(wanted.area[cells & printed.flat].sum()) / whole * 100.0

    return PaperEnds(
        white_percent=float(white.mean()) * 100.0,
        white_largest_mm2=largest_area_mm2(white, wanted.mm_per_px),
        white_drawn_percent=drawn(white_cells),
        black_percent=float(black.mean()) * 100.0,
        black_largest_mm2=largest_area_mm2(black, wanted.mm_per_px),
        black_drawn_percent=drawn(black_cells),
        edge=edge_melt(printed_lab, wanted.mm_per_px),
    )


def _verdict(
    told: list[RegionLoss], hurt_percent: float, fine_percent: float, ends: PaperEnds
) -> str:
    hurt = [one for one in told if one.weight == "mind"]
    if hurt:
        places = "one place" if len(hurt) == 1 else f"{len(hurt)} places"
        said = (
            f"{share_words(hurt_percent).capitalize()} of the picture truly loses, in {places}; "
            f"most of all {hurt[0].words}"
        )
    elif fine_percent >= 0.1:
        said = (
            f"Nothing to do: {share_words(fine_percent)} of the picture moves by ΔE00 2 or more, "
            "but it keeps its modelling, its hues and its neutrals."
        )
    else:
        said = "Nothing to do: the paper shows this picture as it is meant."
    if ends.edge.total_mm >= 10.0:
        said += f" {ends.edge.total_mm / 10.0:.0f} cm of its edge melts into the border."
    return said
