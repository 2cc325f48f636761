"""A handful of a region's cells, on which a repair is tried before the whole picture is.

Takes the picture's cells and pixels; gives a region judged by the very rules that judged it first.
Theory: docs/theory/repairs.md. Tests: tests/engine/loss/repair/test_propose_repairs.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.areas import Area
from firstsheet.engine.loss.regions.cells import WantedCells, printed_cells, wanted_seen
from firstsheet.engine.loss.regions.judge import judged
from firstsheet.engine.loss.regions.planes import wanted_planes
from firstsheet.engine.loss.repair.colours import colour_repair
from firstsheet.engine.loss.repair.grid import WHOLE
from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.records.losses import RegionLoss
from firstsheet.engine.records.repair import RepairWish

__all__ = ["RegionSample", "sampled_region"]

_PIXELS: Final = 16_000
_NEAREST, _FARTHEST = 5.0, 40.0  # limits of a reach, CIELAB
_MOST_COLOURS: Final = 95.0  # per cent of a region's colours that its reach takes in

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class RegionSample:
    """Cells of one region, one above the other."""

    wanted: WantedCells
    lab: Floats  # (cells x side, side, 3)
    area: Area  # all of it, named as the region
    reach: float  # how far its colours lie from their mean
    reach_l: float  # the same in L* alone

    def judged(self, wish: RepairWish, paper: Paper) -> RegionLoss:
        """The region as it prints with a repair, judged as if it were the whole picture."""
        shown = paper.printed(colour_repair(wish, paper).mapped(self.lab))
        told = judged(self.wanted, printed_cells(self.wanted, shown), self.area, end=None)
        assert told is not None  # only ends of the scale may hold nothing
        return told


def sampled_region(
    wanted: WantedCells, picture_lab: NDArray[Any], cells: NDArray[np.bool_], region: RegionLoss
) -> RegionSample:
    """Take cells of a region evenly, so many that about 16,000 pixels are tried."""
    side = wanted.cell_px
    rows, columns = np.nonzero(cells)
    whole = (rows < picture_lab.shape[0] // side) & (columns < picture_lab.shape[1] // side)
    if whole.any():
        rows, columns = rows[whole], columns[whole]
    every = max(1, rows.size * side * side // _PIXELS)
    rows, columns = rows[::every], columns[::every]
    corners = zip((side * rows).tolist(), (side * columns).tolist(), strict=True)
    taken = [_cell(picture_lab, top, left, side) for top, left in corners]
    lab = np.asarray(np.concatenate(taken), dtype=np.float64)
    mean = lab.mean(axis=(0, 1))
    away = np.abs(lab - mean)
    reaches = [
        float(np.clip(np.percentile(one, _MOST_COLOURS), _NEAREST, _FARTHEST))
        for one in (np.sqrt(np.square(away).sum(axis=-1)), away[..., 0])
    ]
    sub = wanted_seen(
        wanted_planes(lab, wanted.scales.shrink),
        wanted.scales,
        mm_per_px=wanted.mm_per_px,
        distance_mm=wanted.distance_mm,
    )
    count = rows.size
    area = Area(
        kind=0,
        colour=region.colour,
        place=region.place,
        cells=(np.arange(count), np.zeros(count, dtype=np.intp)),
        pieces=region.pieces,
        box=WHOLE,
    )
    return RegionSample(sub, lab, area, reaches[0], reaches[1])


def _cell(picture: NDArray[Any], top: int, left: int, side: int) -> NDArray[Any]:
    cell = picture[top : top + side, left : left + side]
    below, beside = side - cell.shape[0], side - cell.shape[1]
    return np.pad(cell, ((0, below), (0, beside), (0, 0)), mode="edge")
