"""Repairs in figures: on the cells of their region, the rest of the picture beside them."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.regions.cells import printed_cells, wanted_cells
from firstsheet.engine.loss.regions.find import find_regions
from firstsheet.engine.loss.repair.facts import (
    repair_area,
    repair_facts,
    rounded_wish,
    shows_gain,
    whole_box,
)
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.records.repair import RepairFacts, RepairWish

LIES = (0.0, 0.0, 1.0, 1.0)


def test_a_repair_is_told_by_what_it_does_inside_and_outside() -> None:
    # made so that the truth is known: steps of 8 L* inside, halved by the paper, whole again with
    # the repair, which also moves one far pixel by 1 L*
    y, x = np.mgrid[:256, :256]
    wanted_lab = np.zeros((256, 256, 3))
    wanted_lab[...] = (50.0, 0.0, 0.0)
    inside = (slice(64, 128), slice(64, 128))
    steps = np.where((x + y) % 2 == 0, 4.0, -4.0)
    wanted_lab[inside][..., 0] += steps[inside]
    printed = wanted_lab.copy()
    printed[inside][..., 0] = 50.0 + 0.5 * steps[inside]
    repaired = wanted_lab.copy()
    repaired[250, 250, 0] += 1.0
    wanted = wanted_cells(wanted_lab, mm_per_px=0.5, distance_mm=500.0)
    found = find_regions(wanted, printed, floor_de00=1.0, black_l=0.0)
    mask = np.zeros((256, 256), np.float32)
    mask[inside] = 1.0
    wish = RepairWish(
        kind="shadow", box=(0.25, 0.25, 0.5, 0.5), lab=(50.0, 0.0, 0.0), reach=10.0, strength=1.0
    )
    area = repair_area(wish, RepairField(np.zeros((2, 2, 2, 3), np.float32), mask), found, wanted,
                       LIES)  # fmt: skip
    told = repair_facts(
        wish, area, wanted=wanted, before=printed_cells(wanted, printed),
        after=printed_cells(wanted, repaired), printed_lab=printed, alone_lab=repaired,
    )  # fmt: skip
    step = float(delta_e_2000([50.0, 0.0, 0.0], [51.0, 0.0, 0.0]))

    assert told.kept_before == pytest.approx(0.5, abs=0.01)
    assert told.kept_after == pytest.approx(1.0, abs=0.01)
    assert told.outside_max_de00 == pytest.approx(step, abs=0.01)
    assert told.outside_mean_de00 <= 1e-4  # one pixel of some 60,000
    assert "50 % of the tonal separation survives without it, 100 % with it" in told.sentence
    assert "at most ΔE00 1.0" in told.sentence


def test_a_wish_on_a_part_is_kept_on_the_whole_in_readable_numbers() -> None:
    wish = RepairWish(
        kind="chroma", box=(0.0, 0.5, 1.0, 1.0), lab=(31.2345, 20.0, -57.77), reach=18.049,
        strength=0.53125,
    )  # fmt: skip
    kept = rounded_wish(wish, (0.25, 0.0, 0.5, 1.0))

    assert whole_box(wish.box, (0.25, 0.0, 0.5, 1.0)) == kept.box == (0.25, 0.5, 0.75, 1.0)
    assert (kept.lab, kept.reach, kept.strength) == ((31.2, 20.0, -57.8), 18.0, 0.531)


def test_a_place_that_is_cut_off_the_print_is_told_of_all_of_it() -> None:
    wanted_lab = np.full((64, 64, 3), (50.0, 0.0, 0.0))
    wanted = wanted_cells(wanted_lab, mm_per_px=0.5, distance_mm=500.0)
    found = find_regions(wanted, wanted_lab, floor_de00=1.0, black_l=0.0)
    mask = np.zeros((64, 128), np.float32)
    mask[:, 96:] = 1.0  # the print shows the left half of the file
    wish = RepairWish(
        kind="shadow", box=(0.75, 0.0, 1.0, 1.0), lab=(50.0, 0.0, 0.0), reach=10.0, strength=1.0
    )
    field = RepairField(np.zeros((2, 2, 2, 3), np.float32), mask)

    area = repair_area(wish, field, found, wanted, (0.0, 0.0, 0.5, 1.0))

    assert len(area.cells[0]) == wanted.area.size


@pytest.mark.parametrize(
    ("kept", "turn", "shown"),
    [
        ((0.746, 0.754), (None, None), False),  # told as 75 % and 75 %
        ((0.74, 0.76), (None, None), True),
        ((0.80, 0.72), (None, None), False),
        ((0.80, 0.72), (24.0, 6.0), True),  # the hue comes back, and what it costs is told
        ((0.80, 0.80), (7.0, -6.5), False),
        ((None, None), (None, None), True),  # nothing to go by: its swatches show it
    ],
)
def test_a_repair_whose_figures_show_no_gain_is_not_worth_offering(
    kept: tuple[float | None, float | None],
    turn: tuple[float | None, float | None],
    shown: bool,
) -> None:
    grey = (50.0, 0.0, 0.0)
    facts = RepairFacts(
        wish=RepairWish(kind="shadow", box=(0, 0, 1, 1), lab=grey, reach=10.0, strength=0.03),
        words="grey, centre",
        sentence="Grey, centre.",
        kept_before=kept[0],
        kept_after=kept[1],
        turn_before_degrees=turn[0],
        turn_after_degrees=turn[1],
        wanted_lab=grey,
        before_lab=grey,
        after_lab=grey,
        outside_mean_de00=0.0,
        outside_max_de00=0.0,
    )
    assert shows_gain(facts) is shown
