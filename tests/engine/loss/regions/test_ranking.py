"""Papers and intents in the order of what the picture loses."""

from __future__ import annotations

import numpy as np

from firstsheet.engine.loss.regions.find import find_regions, wanted_cells
from firstsheet.engine.loss.regions.ranking import Trial, rank_papers
from firstsheet.engine.records import Intent
from firstsheet.engine.records.losses import PictureLosses


def losses(kept: float, shift: float = 0.0) -> PictureLosses:
    """Of an even blue texture, printed with a share of its steps and shifted in L*."""
    wanted = np.empty((128, 160, 3))
    wanted[:] = (40.0, 10.0, -45.0)
    wanted[..., 0] += np.random.default_rng(3).normal(0.0, 3.0, wanted.shape[:2])
    mean = wanted.mean(axis=(0, 1))
    printed = mean + kept * (wanted - mean) + np.array([shift, 0.0, 0.0])
    cells = wanted_cells(wanted, mm_per_px=0.3, distance_mm=500.0)
    return find_regions(cells, printed, floor_de00=1.0, black_l=0.0).losses


def trial(
    stock: str, kept: float, *, intent: Intent = "relative", shift: float = 0.0, same: bool = False
) -> Trial:
    return Trial(
        stock=stock,
        title=stock.title(),
        intent=intent,
        losses=losses(kept, shift),
        same_as="relative" if same else None,
    )


def test_the_paper_that_truly_loses_least_leads() -> None:
    order = rank_papers([trial("a", 0.4), trial("b", 0.95), trial("c", 0.65)])

    assert [one.stock for one in order] == ["b", "c", "a"]
    assert [one.place for one in order] == [1, 2, 3]
    assert order[0].reason.startswith("Loses least. No area loses visibly")
    assert "only 40 % of the tonal separation survives" in order[2].reason


def test_a_harmless_shift_loses_less_than_flattening() -> None:
    order = rank_papers([trial("flat", 0.5), trial("shifted", 1.0, shift=5.0)])

    assert [one.stock for one in order] == ["shifted", "flat"]
    assert order[0].mean_shift_de00 > order[1].mean_shift_de00
    assert order[0].worst == ""


def test_a_plain_shift_of_the_whole_picture_is_no_small_thing() -> None:
    order = rank_papers([trial("pale", 1.0, shift=30.0), trial("true", 0.9)])

    assert [one.stock for one in order] == ["true", "pale"]
    assert order[1].lost_total == 0.0
    assert order[1].moved_total > 50.0
    assert order[1].reason.startswith("Plainly changed all over: colours move by ΔE00")


def test_modelling_kept_all_over_decides_where_no_place_truly_loses() -> None:
    order = rank_papers([trial("a", 0.85), trial("b", 0.95)])

    assert [one.stock for one in order] == ["b", "a"]
    assert "keeps 85 % of its separation overall" in order[1].reason


def test_prints_that_are_the_same_share_a_place_and_say_so() -> None:
    order = rank_papers(
        [
            trial("a", 0.9),
            trial("a", 0.9, intent="perceptual", same=True),
            trial("b", 0.4),
        ]
    )

    assert [(one.place, one.intent) for one in order] == [
        (1, "relative"),
        (1, "perceptual"),
        (2, "relative"),
    ]
    assert order[1].reason == "Prints this picture the same as relative colorimetric."


def test_papers_that_lose_alike_share_a_place() -> None:
    order = rank_papers([trial("a", 0.9), trial("b", 0.9)])

    assert [one.place for one in order] == [1, 1]
    assert order[1].reason == "Loses as little as the one before."


def test_the_order_does_not_depend_on_how_the_papers_are_named_first() -> None:
    trials = [trial("a", 0.4), trial("b", 0.95), trial("c", 0.65)]

    assert rank_papers(trials) == rank_papers(trials[::-1])


def test_drawing_that_ends_in_one_black_is_told_whatever_its_place() -> None:
    """A third of the picture holds steps below the paper's black: all of them print alike."""
    wanted = np.empty((128, 150, 3))
    wanted[:] = (60.0, 0.0, 0.0)
    wanted[:, :50, 0] = 10.0
    wanted[..., 0] += np.random.default_rng(3).normal(0.0, 3.0, wanted.shape[:2])
    printed = np.maximum(wanted, (25.0, -200.0, -200.0))
    cells = wanted_cells(wanted, mm_per_px=0.3, distance_mm=500.0)
    clipped = find_regions(cells, printed, floor_de00=1.0, black_l=25.0).losses
    (one,) = rank_papers([Trial(stock="a", title="A", intent="absolute", losses=clipped)])
    assert abs(one.black_drawn_percent - 100.0 / 3.0) < 3.0
    share = f"{one.black_drawn_percent:.0f} %"
    told = f" {share} of the picture merges into one black where the file holds detail."
    assert one.reason.endswith(told)
    assert "one black" not in rank_papers([trial("b", 0.5)])[0].reason
