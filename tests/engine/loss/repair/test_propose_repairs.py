"""Repairs proposed for planted losses: what comes back, what stays, on three papers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.regions.cells import WantedCells, printed_cells
from firstsheet.engine.loss.regions.find import RegionMap, find_regions, wanted_cells
from firstsheet.engine.loss.regions.masks import TURN_DEGREES
from firstsheet.engine.loss.repair.facts import repair_area, repair_facts
from firstsheet.engine.loss.repair.field import field_of, repair_field
from firstsheet.engine.loss.repair.grid import apply_fields
from firstsheet.engine.loss.repair.place import places_in_need
from firstsheet.engine.loss.repair.propose import (
    KEPT_SHARE,
    OUTSIDE_MAX,
    OUTSIDE_MEAN,
    propose_repairs,
)
from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.records.repair import RepairFacts, RepairWish

SIDE = 80
BLUE, RED = (32.0, 60.0, -100.0), (50.0, 65.0, 45.0)
GREY = (60.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Tried:
    """A picture, its losses, and the repairs proposed for it."""

    lab: np.ndarray
    shown: np.ndarray
    wanted: WantedCells
    found: RegionMap
    black_l: float
    proposals: tuple[RepairFacts, ...]
    after: np.ndarray  # printed with the first of them


def planted(*patches: tuple[int, int, tuple[float, float, float], float]) -> np.ndarray:
    """Even grey with textured squares: top, left, colour and deviation of L*."""
    lab = np.empty((240, 360, 3))
    lab[:] = GREY
    texture = np.random.default_rng(11).normal(0.0, 1.0, (SIDE // 2, SIDE // 2))
    for top, left, colour, deviation in patches:
        place = slice(top, top + SIDE), slice(left, left + SIDE)
        lab[place] = colour
        lab[place][..., 0] += deviation * np.repeat(np.repeat(texture, 2, 0), 2, 1)
    return lab


def tried(lab: np.ndarray, printed: Any) -> Tried:
    shown = printed(lab)
    wanted = wanted_cells(lab, mm_per_px=0.5, distance_mm=500.0)
    black_l = float(printed(np.zeros((1, 3)))[0, 0])
    found = find_regions(wanted, shown, floor_de00=1.0, black_l=black_l)
    paper, needs = Paper(printed), places_in_need(lab, printed)

    def with_repair(wish: RepairWish) -> np.ndarray:
        return np.asarray(printed(apply_fields(lab, [field_of(wish, paper, needs)])))

    before = printed_cells(wanted, shown, black_l=black_l)
    proposals, prints = [], []
    for wish, repaired in propose_repairs(
        found,
        wanted=wanted,
        picture_lab=lab,
        printed_lab=shown,
        paper=paper,
        near=needs.near(wanted.shape),
        shown=with_repair,
        floor_de00=1.0,
        black_l=black_l,
    ):
        area = repair_area(wish, field_of(wish, paper, needs), found, wanted, (0.0, 0.0, 1.0, 1.0))
        facts = repair_facts(
            wish, area, wanted=wanted, before=before,
            after=printed_cells(wanted, repaired, black_l=black_l),
            printed_lab=shown, alone_lab=repaired,
        )  # fmt: skip
        proposals.append(facts)
        prints.append(repaired)
    after = prints[0] if prints else shown
    return Tried(lab, shown, wanted, found, black_l, tuple(proposals), after)


@pytest.fixture(scope="module")
def blue(printed: Any) -> Tried:
    """A vivid blue no paper reaches, one red that is also out of reach, on grey."""
    return tried(planted((48, 48, BLUE, 4.0), (144, 264, GREY, 3.0)), printed)


@pytest.fixture(scope="module")
def dark(printed_hard: Any) -> Tried:
    """Texture darker than any of the papers' blacks, the black point left alone."""
    return tried(planted((48, 48, (9.0, 0.5, 0.5), 2.0)), printed_hard)


def place_of(top: int, left: int, inner: int = 8) -> tuple[slice, slice]:
    return slice(top + inner, top + SIDE - inner), slice(left + inner, left + SIDE - inner)


def steps(lab: np.ndarray) -> float:
    """Mean Delta E00 between grains of the texture: another ruler than the one that judged."""
    grains = np.asarray(lab)[::2, ::2]
    return float(delta_e_2000(grains[:, 1:], grains[:, :-1]).mean())


def test_flattened_or_turned_blue_comes_back_and_less_is_lost(blue: Tried) -> None:
    after = blue.after
    losses = find_regions(blue.wanted, after, floor_de00=1.0, black_l=blue.black_l).losses

    assert losses.lost_total < 0.9 * blue.found.losses.lost_total
    assert losses.lost_total + losses.moved_total < (
        blue.found.losses.lost_total + blue.found.losses.moved_total
    )


def test_the_share_that_is_told_really_came_back(blue: Tried) -> None:
    (proposal, *_) = blue.proposals
    after = blue.after
    here = place_of(48, 48)
    kept = steps(after[here]) / steps(blue.lab[here])
    before = steps(blue.shown[here]) / steps(blue.lab[here])

    assert proposal.kept_before is not None
    assert proposal.kept_after is not None
    turns = (proposal.turn_before_degrees, proposal.turn_after_degrees)
    assert kept > before or abs(turns[1] or 0.0) < abs(turns[0] or 0.0) - 5.0
    assert kept == pytest.approx(proposal.kept_after, abs=0.12)


def test_nothing_moves_where_nothing_is_lost(blue: Tried, dark: Tried) -> None:
    for proposal in (*blue.proposals, *dark.proposals):
        assert proposal.outside_mean_de00 <= OUTSIDE_MEAN
        assert proposal.outside_max_de00 <= OUTSIDE_MAX
    after = blue.after
    far = np.ones(blue.lab.shape[:2], dtype=bool)
    far[: 48 + SIDE + 40, : 48 + SIDE + 40] = False

    assert float(np.max(delta_e_2000(after[far], blue.shown[far]))) <= OUTSIDE_MAX


def test_merged_shadows_are_told_apart_again(dark: Tried) -> None:
    (proposal, *_) = dark.proposals
    here = place_of(48, 48)
    before = steps(dark.shown[here]) / steps(dark.lab[here])
    after = steps(dark.after[here]) / steps(dark.lab[here])

    assert proposal.wish.kind == "shadow"
    assert before < 0.35
    assert after > before + 0.15
    losses = find_regions(dark.wanted, dark.after, floor_de00=1.0, black_l=dark.black_l).losses
    assert losses.lost_total < dark.found.losses.lost_total


def test_the_least_strength_is_taken(blue: Tried, printed: Any) -> None:
    """Half a step of the search less no longer reaches what was asked."""
    (proposal, *_) = blue.proposals
    turned = proposal.turn_after_degrees
    if proposal.wish.strength in (0.5, 1.0):  # all of it, or half, where none reaches the share
        pytest.skip("this paper cannot reach the share at all")
    less = proposal.wish.model_copy(update={"strength": proposal.wish.strength - 1.0 / 16.0})
    field = repair_field(less, picture_lab=blue.lab, printed=printed)
    here = place_of(48, 48)
    after = printed(apply_fields(blue.lab, [field]))
    weaker, enough = (steps(one[here]) for one in (after, blue.after))

    assert weaker < enough
    assert (proposal.kept_after or 1.0) <= KEPT_SHARE + 0.1 or (
        turned is not None and abs(turned) > TURN_DEGREES - 2.0
    )


def test_a_wish_gives_the_same_field_each_time(blue: Tried, printed: Any) -> None:
    wish = blue.proposals[0].wish
    one, two = (repair_field(wish, picture_lab=blue.lab, printed=printed) for _ in range(2))

    assert np.array_equal(one.shift, two.shift)
    assert one.mask is not None
    assert two.mask is not None
    assert np.array_equal(one.mask, two.mask)


def test_where_nothing_is_lost_nothing_is_proposed(printed: Any) -> None:
    one = tried(planted((48, 48, (62.0, 8.0, 6.0), 1.5)), printed)

    assert [region for region in one.found.losses.regions if region.weight == "caution"] == []
    assert one.proposals == ()


def test_no_new_contour_where_a_gradient_leaves_the_mask(printed: Any) -> None:
    """A blue sky from dull to vivid: repaired, it still grows more vivid all the way."""
    from firstsheet.engine.colour.hue import lab_of_oklab, oklab_of_lab

    deep = oklab_of_lab(BLUE)
    grow = np.linspace(0.05, 1.0, 480)
    line = np.stack([np.full(480, deep[0]), deep[1] * grow, deep[2] * grow], axis=-1)
    sky = np.broadcast_to(lab_of_oklab(line), (320, 480, 3))
    wish = RepairWish(kind="chroma", box=(0.5, 0.2, 1.0, 0.8), lab=BLUE, reach=15.0, strength=1.0)
    field = repair_field(wish, picture_lab=sky, printed=printed)
    after = oklab_of_lab(apply_fields(sky, [field]))
    vivid = np.hypot(after[..., 1], after[..., 2])[:, ::8]

    given = np.hypot(line[:, 1], line[:, 2])[::8]

    assert float(np.abs(vivid - given).max()) > 0.02
    assert float(np.diff(vivid[160]).min()) > -1e-3  # of Oklab, about 0.3 CIELAB, over 8 px
