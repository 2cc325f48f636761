"""Rows of equals and lines side by side are told from pieces that lie anywhere.

Truth: places and directions written down here.
"""

import math

import numpy as np
import pytest

from firstsheet.engine.detail.dust.company import Kin, row_of_equals
from firstsheet.engine.detail.dust.shapes import Shape


def _shape(
    x_px: float, y_px: float, *, length_px: float = 5.0, lean_rad: float = 0.0, height_l: float = 20
) -> Shape:
    across = abs(length_px / 2 * math.cos(lean_rad)) + 1
    down = abs(length_px / 2 * math.sin(lean_rad)) + 1
    return Shape(
        x_px=x_px, y_px=y_px, left=round(x_px - across), right=round(x_px + across),
        top=round(y_px - down), bottom=round(y_px + down), pixels=int(2 * length_px),
        length_px=length_px, width_px=2.0, lean_rad=lean_rad, bend_px=0.0, height_l=height_l,
        times_limit=3.0, sharpness=0.4, softness_px=1.0, ground_l=50.0, attached=False,
    )  # fmt: skip


@pytest.mark.parametrize("at", [0, 1, 2])
def test_every_one_of_three_specks_at_equal_distances_has_kin(at: int) -> None:
    row = [_shape(100 + 40 * step, 200 - 11 * step) for step in range(3)]

    assert Kin(row).has(row[at])


def test_a_row_is_known_where_one_of_it_is_hidden() -> None:
    row = [_shape(100 + 40 * step, 200) for step in (0, 1, 3)]

    assert Kin(row).has(row[0])


def test_three_specks_off_one_line_or_unlike_or_of_other_sign_have_no_kin() -> None:
    bent = [_shape(100, 200), _shape(140, 200), _shape(170, 230)]
    unlike = [_shape(100, 200), _shape(140, 200, length_px=15), _shape(180, 200)]
    other = [_shape(100, 200), _shape(140, 200, height_l=-20), _shape(180, 200)]

    assert not any(Kin(group).has(group[0]) for group in (bent, unlike, other))


def test_specks_far_apart_are_no_row() -> None:
    row = [_shape(100 + 150 * step, 200) for step in range(3)]

    assert not Kin(row).has(row[0])


@pytest.mark.parametrize("lean", [0.0, 0.7, math.pi / 2, -1.4])
def test_lines_side_by_side_are_kin_whichever_way_they_run(lean: float) -> None:
    one = _shape(200, 200, length_px=40, lean_rad=lean)
    two = _shape(240, 260, length_px=60, lean_rad=lean + 0.05 - (math.pi if lean > 1 else 0))

    assert Kin([one, two]).has(one)


def test_lines_that_cross_or_lie_far_off_are_no_kin() -> None:
    one = _shape(200, 200, length_px=40)
    across = _shape(240, 230, length_px=60, lean_rad=0.8)
    far = _shape(200, 500, length_px=60)

    assert not Kin([one, across, far]).has(one)


def test_the_next_stitch_of_a_bent_seam_is_kin() -> None:
    one = _shape(200, 200, length_px=30)
    following = _shape(260, 208, length_px=30, lean_rad=0.27)
    beside = _shape(230, 260, length_px=30, lean_rad=0.27)

    assert Kin([one, following]).has(one)
    assert not Kin([one, beside]).has(one)


def test_places_by_chance_are_seldom_a_row() -> None:
    rng = np.random.default_rng(31)
    rows = [row_of_equals(*rng.uniform(-250, 250, (2, 4))) for _ in range(400)]

    assert np.mean(rows) < 0.06
