"""Repairs side by side: what stands where, in whole pixels of the proof."""

import numpy as np
import pytest

from firstsheet.pixels.repairviews import RepairView, fitted, most_px, repair_views

GREY = round(0.46 * 65535)


def view(height: int, width: int) -> RepairView:
    return RepairView(
        title="Repair 1: deep blue, left",
        pictures=tuple(  # type: ignore[arg-type]
            np.full((height, width, 3), code, np.uint16) for code in (1000, 2000, 3000)
        ),
        captions=(("as meant",), ("unrepaired", "keeps 54 %"), ("repaired", "keeps 82 %")),
        sentence="Make it less vivid at the same hue.",
    )


def test_the_three_stand_side_by_side_in_their_order_each_pixel_as_it_was() -> None:
    out = repair_views([view(200, 300), view(100, 120)], words=("Repairs",))

    found = [np.argwhere((out == code).all(axis=-1)) for code in (1000, 2000, 3000)]
    for places in found:
        assert len(places) == 200 * 300 + 100 * 120
    rows = [set(places[:, 0].tolist()) for places in found]
    assert rows[0] == rows[1] == rows[2]
    lefts = [int(places[:, 1].min()) for places in found]
    assert lefts[0] + 300 < lefts[1] < lefts[2]
    assert (out[:20] == GREY).all()
    assert (out[-20:] == GREY).all()


def test_small_places_are_shown_larger_by_whole_numbers_and_large_ones_by_means() -> None:
    rng = np.random.default_rng(3)
    small, large = rng.normal(50, 10, (40, 60, 3)), rng.normal(50, 10, (900, 700, 3))

    assert (fitted(small, 420)[3::7, 3::7] == small).all()
    shown = fitted(large, 420)
    assert shown.shape == (300, 233, 3)
    assert shown[0, 0] == pytest.approx(large[:3, :3].mean(axis=(0, 1)))


def test_many_repairs_make_no_endless_picture() -> None:
    assert most_px(1) == most_px(8) == 420
    assert most_px(16) == 210
    assert most_px(1000) == 120
