"""What repairs do to a print, in figures: each place before and after, and the rest of the picture.

Takes the picture's cells, prints with and without repairs; gives records for plan and proposals.
Both are measured by the rules that judge regions, on the very cells of the region a repair was
made for. Theory: docs/theory/repair-pixels.md.
Tests: tests/engine/loss/repair/test_repair_facts.py.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.areas import Area
from firstsheet.engine.loss.regions.cells import PrintedCells, WantedCells
from firstsheet.engine.loss.regions.find import RegionMap
from firstsheet.engine.loss.regions.judge import judged
from firstsheet.engine.loss.repair.elsewhere import away_from, moved_de00
from firstsheet.engine.loss.repair.grid import mask_over
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.loss.repair.words import repair_words
from firstsheet.engine.naming import colours_words, place_words
from firstsheet.engine.records.repair import RepairFacts, RepairWish

__all__ = [
    "RepairFacts",
    "part_box",
    "repair_area",
    "repair_facts",
    "rounded_wish",
    "whole_box",
]

_LEAST_KEPT = 0.02  # more of the modelling; less is the rounding of the figures. Our own choice
_LEAST_TURN_DEGREES = 2.0
_SAME_BOX: Final = 0.003
_SAME_DE: Final = 1.0

Box = tuple[float, float, float, float]


def whole_box(box: Box, lies: Box) -> Box:
    """A box of the printed part as a box of the whole upright picture.

    Parameters
    ----------
    lies
        Left, top, width, height of the printed part, shares of the whole.

    Examples
    --------
    >>> whole_box((0.0, 0.5, 1.0, 1.0), (0.25, 0.0, 0.5, 1.0))
    (0.25, 0.5, 0.75, 1.0)
    """
    left, top, width, height = lies
    return (
        min(1.0, left + box[0] * width),
        min(1.0, top + box[1] * height),
        min(1.0, left + box[2] * width),
        min(1.0, top + box[3] * height),
    )


def part_box(box: Box, lies: Box) -> Box:
    """A box of the whole upright picture as one of the printed part; undoes `whole_box`.

    Examples
    --------
    >>> part_box((0.25, 0.5, 0.75, 1.0), (0.25, 0.0, 0.5, 1.0))
    (0.0, 0.5, 1.0, 1.0)
    """
    left, top, width, height = lies
    across = [min(max((one - left) / width, 0.0), 1.0) for one in (box[0], box[2])]
    down = [min(max((one - top) / height, 0.0), 1.0) for one in (box[1], box[3])]
    return across[0], down[0], across[1], down[1]


def rounded_wish(wish: RepairWish, lies: Box) -> RepairWish:
    """A wish on the printed part as the ticket keeps it: on the whole, in readable numbers."""
    left, top, right, bottom = (round(one, 4) for one in whole_box(wish.box, lies))
    lightness, a, b = (round(one, 1) for one in wish.lab)
    return RepairWish(
        kind=wish.kind,
        box=(left, top, right, bottom),
        lab=(lightness, a, b),
        reach=round(wish.reach, 1),
        strength=round(wish.strength, 3),
    )


def repair_area(
    wish: RepairWish, field: RepairField, found: RegionMap, wanted: WantedCells, lies: Box
) -> Area:
    """The cells a repair is for: those of its region, else those under most of its mask."""
    for number, region in enumerate(found.losses.regions, start=1):
        box = whole_box(region.box, lies)
        near = max(abs(one - two) for one, two in zip(box, wish.box, strict=True)) < _SAME_BOX
        if near and float(np.linalg.norm(np.subtract(region.wanted_lab, wish.lab))) < _SAME_DE:
            return _area(
                found.labels == number, wish.box, region.colour, region.place, region.pieces
            )
    side, grid = wanted.cell_px, wanted.area.shape
    if field.mask is None:
        cells = np.ones(grid, dtype=bool)
    else:
        edges = (lies[0], lies[1], lies[0] + lies[2], lies[1] + lies[3])
        mask = mask_over(field.mask, wanted.shape, edges)
        below, beside = (side * n - have for n, have in zip(grid, wanted.shape, strict=True))
        mask = np.pad(mask, ((0, below), (0, beside)))
        means = mask.reshape(grid[0], side, grid[1], side).mean(axis=(1, 3))
        cells = means >= 0.5 * float(means.max())  # all, where the place is cut off the print
    colour = colours_words(np.array([wish.lab]))[0]
    return _area(cells, wish.box, colour, _place(cells), 1)


def _place(cells: NDArray[np.bool_]) -> str:
    rows, columns = np.nonzero(cells)
    down, across = cells.shape
    box = (
        float(columns.min()) / across,
        float(rows.min()) / down,
        float(columns.max() + 1) / across,
        float(rows.max() + 1) / down,
    )
    centre = (float(columns.mean() + 0.5) / across, float(rows.mean() + 0.5) / down)
    return place_words(box, centre)


def _area(cells: NDArray[np.bool_], box: Box, colour: str, place: str, pieces: int) -> Area:
    rows, columns = np.nonzero(cells)
    return Area(kind=0, colour=colour, place=place, cells=(rows, columns), pieces=pieces, box=box)


def repair_facts(
    wish: RepairWish,
    area: Area,
    *,
    wanted: WantedCells,
    before: PrintedCells,
    after: PrintedCells,
    printed_lab: NDArray[Any],
    alone_lab: NDArray[Any],
) -> RepairFacts:
    """Measure one repair.

    Parameters
    ----------
    area
        From `repair_area`.
    before, after
        The print without any repair, and with all of them.
    printed_lab, alone_lab
        (h, w, 3), the print without any repair, and with this one alone.
    """
    first = judged(wanted, before, area, end=None)
    then = judged(wanted, after, area, end=None)
    assert first is not None
    assert then is not None
    cells = np.zeros(wanted.area.shape, dtype=bool)
    cells[area.cells] = True
    outside = moved_de00(
        printed_lab, alone_lab, away_from(cells, wanted.cell_px, printed_lab.shape)
    )
    return RepairFacts(
        wish=wish,
        words=f"{area.colour}, {area.place}",
        sentence=repair_words(wish.kind, first, then, outside[1]),
        kept_before=first.modelling_kept,
        kept_after=then.modelling_kept,
        turn_before_degrees=first.hue_turn_degrees,
        turn_after_degrees=then.hue_turn_degrees,
        wanted_lab=first.wanted_lab,
        before_lab=first.printed_lab,
        after_lab=then.printed_lab,
        outside_mean_de00=round(outside[0], 4),
        outside_max_de00=round(outside[1], 3),
    )


def shows_gain(facts: RepairFacts) -> bool:
    """Whether the figures told of a repair show that something comes back.

    A place on the edge of being called lost may fall to the other side of it by a repair that
    nobody could see; such a one is not worth offering.
    """
    kept, now = facts.kept_before, facts.kept_after
    turn, left = facts.turn_before_degrees, facts.turn_after_degrees
    if kept is not None and now is not None and now - kept >= _LEAST_KEPT:
        return True
    if turn is not None and left is not None and abs(turn) - abs(left) >= _LEAST_TURN_DEGREES:
        return True
    return (kept is None or now is None) and (turn is None or left is None)
