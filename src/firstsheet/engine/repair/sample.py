"""A handful of a region's cells, on which a repair is tried before the whole picture is.

Takes the picture's cells and pixels; gives a region judged by the very rules that judged it first.
Theory: docs/theory/repairs.md. Tests: tests/engine/repair/test_propose_repairs.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.regions.cells import WantedCells, printed_cells
from firstsheet.engine.regions.judge import judged
from firstsheet.engine.regions.record import RegionLoss
from firstsheet.engine.repair.colours import colour_repair
from firstsheet.engine.repair.reach import Printed
from firstsheet.engine.repair.record import RepairWish

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
    reach: float  # how far its colours lie from their mean

    def judged(self, wish: RepairWish, printed: Printed) -> RegionLoss:
        """The region as it prints with a repair, judged as if it were the whole picture."""
        shown = printed(colour_repair(wish, printed).mapped(self.lab))
        every = np.ones(self.wanted.area.shape, dtype=np.bool_)
        told = judged(self.wanted, printed_cells(self.wanted, shown), every, end=None)
        assert told is not None  # only ends of the scale may hold nothing
        return told


def sampled_region(
    wanted: WantedCells, picture_lab: NDArray[Any], cells: NDArray[np.bool_]
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
    away = np.sqrt(np.square(lab - mean).sum(axis=-1))
    reach = float(np.clip(np.percentile(away, _MOST_COLOURS), _NEAREST, _FARTHEST))
    sub = WantedCells(
        scales=wanted.scales,
        distance_mm=wanted.distance_mm,
        mm_per_px=wanted.mm_per_px,
        shape=(rows.size * side, side),
        area=wanted.area[rows, columns][:, None],
        lab=wanted.lab[rows, columns][:, None],
        oklab=wanted.oklab[rows, columns][:, None],
        steps=wanted.steps[rows, columns][:, None],
    )
    return RegionSample(sub, lab, reach)


def _cell(picture: NDArray[Any], top: int, left: int, side: int) -> NDArray[Any]:
    cell = picture[top : top + side, left : left + side]
    below, beside = side - cell.shape[0], side - cell.shape[1]
    return np.pad(cell, ((0, below), (0, beside), (0, 0)), mode="edge")
