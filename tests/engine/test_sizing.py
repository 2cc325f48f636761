"""Resolution, verdicts, crops and rasters, held to numbers from outside."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.errors import TicketError
from firstsheet.engine.sizing.size import (
    GRADES,
    choose_raster,
    crop_to_shape,
    distance_verdicts,
    effective_ppi,
    grade,
    is_large,
    largest_sizes,
    needed_ppi,
    parse_shape,
    size_table,
)

sides = st.integers(1, 30_000)
offsets = st.floats(-1, 1)


@pytest.mark.published
@pytest.mark.parametrize(
    ("distance_cm", "ppi"),
    [
        (20, 436.6),
        (25, 349.3),
        (30, 291.1),
        (40, 218.3),
        (50, 174.6),
        (60, 145.5),
        (75, 116.4),
        (100, 87.3),
        (150, 58.2),
        (200, 43.7),
        (300, 29.1),
    ],
)
def test_one_arc_minute_gives_the_known_resolutions(distance_cm: float, ppi: float) -> None:
    # 3438 / distance in inches is the rule in public writing; the table is that rule.
    assert needed_ppi(distance_cm * 10) == pytest.approx(ppi, abs=0.05)


@pytest.mark.published
@pytest.mark.parametrize(("inches", "ppi"), [(10, 343.8), (12, 286.5), (24, 143.2)])
def test_one_arc_minute_in_inches(inches: float, ppi: float) -> None:
    assert needed_ppi(inches * 25.4) == pytest.approx(ppi, abs=0.05)


@pytest.mark.parametrize(
    ("pixels", "inches", "ppi"),
    [
        (3000, 12.5, 240),  # common practice: 3000 px print 12.5 in wide at 240
        (3000, 15, 200),  # and have 200 ppi at 15 in
        (5600, 15.5556, 360),  # 5600 px print 15 in wide (15.56) at 360
        (5600, 23.3333, 240),  # and 23.3 in at 240
        (6000, 19, 315.8),
        (4000, 13, 307.7),
        (6000, 36, 166.7),
    ],
)
def test_effective_resolution_is_pixels_over_inches(pixels: int, inches: float, ppi: float) -> None:
    assert effective_ppi(pixels, inches * 25.4) == pytest.approx(ppi, abs=0.05)


def test_the_lower_direction_counts_when_a_frame_is_filled() -> None:
    row = next(one for one in size_table(6000, 4000) if one.name == "13x19in")

    # 6000 x 4000 on 19 x 13 in: 315.8 and 307.7 ppi, the lower one counts
    assert row.ppi == pytest.approx(307.7, abs=0.05)


@pytest.mark.published
@pytest.mark.parametrize(
    ("pixels", "target", "percent"),
    [
        ((6000, 4000), (10, 8), 16.7),
        ((6000, 4000), (20, 16), 16.7),
        ((6000, 4000), (50, 40), 16.7),
        ((6000, 4000), (14, 11), 15.2),
        ((6000, 4000), (40, 30), 11.1),
        ((6000, 4000), (7, 5), 6.7),
        ((6000, 4000), (70, 50), 6.7),
        ((6000, 4000), (math.sqrt(2), 1), 5.7),
        ((6000, 4000), (19, 13), 2.6),
        ((6000, 4000), (1, 1), 33.3),
        ((6000, 4500), (15, 10), 11.1),
        ((6000, 4500), (10, 8), 6.25),
        ((6000, 4500), (math.sqrt(2), 1), 5.7),
        ((6000, 4500), (40, 30), 0),
    ],
)
def test_the_share_cut_off_for_common_shapes(
    pixels: tuple[int, int], target: tuple[float, float], percent: float
) -> None:
    # plain geometry: 1 - the smaller ratio over the larger
    crop = crop_to_shape(*pixels, target[0] / target[1])

    assert crop.loss_percent == pytest.approx(percent, abs=0.05)


@given(sides, sides, st.floats(0.05, 20), offsets, offsets)
def test_a_crop_lies_inside_the_picture_and_has_its_shape(
    width: int, height: int, aspect: float, x: float, y: float
) -> None:
    crop = crop_to_shape(width, height, aspect, x, y)

    assert crop.left_px >= 0
    assert crop.top_px >= 0
    assert crop.left_px + crop.width_px <= width * (1 + 1e-12)
    assert crop.top_px + crop.height_px <= height * (1 + 1e-12)
    assert crop.width_px / crop.height_px == pytest.approx(aspect, rel=1e-9)
    assert max(crop.width_px / width, crop.height_px / height) == pytest.approx(1)


def test_the_offset_moves_the_cut_from_edge_to_edge() -> None:
    left, middle, right = (crop_to_shape(6000, 4000, 1, x) for x in (-1, 0, 1))

    assert (left.left_px, middle.left_px, right.left_px) == (0, 1000, 2000)
    assert crop_to_shape(4000, 6000, 1, 0, -1).top_px == 0
    assert crop_to_shape(4000, 6000, 1, 0, 1).top_px == 2000


def raster(width_px: int = 5600, height_px: int = 4500, **wish: object):  # type: ignore[no-untyped-def]
    settings: dict[str, object] = {
        "aspect": width_px / height_px,
        "width_mm": 381.0,
        "wish": "native",
        "native_ppi": 360,
        "allow_enlarge": False,
    }
    return choose_raster(width_px=width_px, height_px=height_px, **(settings | wish))  # type: ignore[arg-type]


def test_a_large_file_is_reduced_once_to_the_native_raster() -> None:
    # 5600 x 4500 prints 15 in wide at 360 ppi without inventing a pixel
    chosen = raster()

    assert (chosen.width_px, chosen.ppi, chosen.held_back) == (5400, 360, False)
    assert chosen.scale < 1


def test_a_small_file_sends_its_own_pixels_rather_than_invented_ones() -> None:
    chosen = raster(3000, 2200)

    assert (chosen.width_px, chosen.height_px) == (3000, 2200)
    assert (chosen.ppi, chosen.scale, chosen.held_back) == (200, 1, True)


def test_enlarging_happens_only_when_allowed_and_its_factor_is_known() -> None:
    chosen = raster(3000, 2200, allow_enlarge=True)

    assert (chosen.width_px, chosen.height_px, chosen.ppi) == (5400, 3960, 360)
    assert chosen.scale == pytest.approx(1.8)


def test_own_keeps_every_pixel_of_a_large_file() -> None:
    chosen = raster(wish="own")

    assert (chosen.width_px, chosen.height_px, chosen.scale) == (5600, 4500, 1)
    assert chosen.ppi == pytest.approx(373.3333, abs=1e-4)
    assert not chosen.held_back


def test_a_named_resolution_is_kept_as_given() -> None:
    assert raster(wish=240.0).width_px == 3600
    assert raster(wish=300.5).ppi == 300.5


def test_a_file_of_exactly_the_right_pixels_is_not_touched() -> None:
    chosen = raster(5400, 3600, width_mm=381.0)

    assert (chosen.width_px, chosen.height_px, chosen.scale) == (5400, 3600, 1)
    assert (chosen.crop.width_px, chosen.crop.height_px) == (5400, 3600)


@given(
    st.integers(50, 20_000),
    st.integers(50, 20_000),
    st.floats(0.3, 3),
    st.floats(50, 1500),
    st.one_of(st.sampled_from(["native", "own"]), st.floats(50, 1500)),
    st.sampled_from([300, 360, 600, 720]),
    offsets,
)
def test_no_pixel_is_invented_without_leave(
    width: int,
    height: int,
    aspect: float,
    width_mm: float,
    wish: float | str,
    native: int,
    offset: float,
) -> None:
    chosen = raster(
        width,
        height,
        aspect=aspect,
        width_mm=width_mm,
        wish=wish,
        native_ppi=native,
        offset_x=offset,
        offset_y=-offset,
    )

    crop = chosen.crop
    assert chosen.width_px <= crop.width_px + 0.51
    assert chosen.height_px <= crop.height_px + 0.51
    assert crop.left_px + crop.width_px <= width + 1e-6
    assert crop.top_px + crop.height_px <= height + 1e-6
    if chosen.scale == 1:  # not resampled: the crop must lie on whole pixels
        assert crop.left_px == int(crop.left_px)
        assert crop.top_px == int(crop.top_px)


@given(st.integers(200, 20_000), st.integers(200, 20_000), st.floats(50, 900))
def test_both_directions_are_scaled_alike(width: int, height: int, width_mm: float) -> None:
    chosen = raster(width, height, aspect=width / height, width_mm=width_mm, allow_enlarge=True)

    assert chosen.height_px / chosen.crop.height_px == pytest.approx(chosen.scale, rel=1e-9)


def test_grades_follow_the_trade_and_the_number_people_see() -> None:
    assert [grade(ppi) for ppi in (400, 300, 299, 240, 239, 180, 179, 150, 149)] == [
        "excellent",
        "excellent",
        "very good",
        "very good",
        "good",
        "good",
        "soft close to",
        "soft close to",
        "only far",
    ]
    assert [least for _, least in GRADES] == sorted((n for _, n in GRADES), reverse=True)


def test_the_large_print_rule_begins_at_a_picture_for_a_13_by_19_sheet() -> None:
    assert is_large(381, 279)
    assert not is_large(254, 203)


def test_three_distances_are_judged_and_none_twice() -> None:
    names = [one.name for one in distance_verdicts(200, 1500)]
    assert names == ["arm's length", "half a metre", "the stated distance"]

    names = [one.name for one in distance_verdicts(200, 500)]
    assert names == ["arm's length", "half a metre, the stated distance"]


def test_a_verdict_says_what_the_eye_separates_and_what_the_file_gives() -> None:
    near, half, far = distance_verdicts(200, 1500)

    assert near.sentence == (
        "From 30 cm (12 in) the eye separates 291 ppi; the file gives 200: fine detail looks soft."
    )
    assert (near.beyond_eye, half.beyond_eye, far.beyond_eye) == (False, True, True)
    assert "finer than the eye separates" in far.sentence


@given(st.floats(10, 1000), st.floats(100, 5000), st.floats(100, 5000))
def test_farther_away_is_never_worse(ppi: float, first: float, second: float) -> None:
    near, far = (distance_verdicts(ppi, distance_mm)[-1] for distance_mm in sorted((first, second)))
    if near.distance_mm <= far.distance_mm:
        assert far.beyond_eye >= near.beyond_eye


@pytest.mark.parametrize(
    ("text", "ratio"), [("3:2", 1.5), ("2:3", 1.5), ("4x5", 1.25), ("1:1", 1), ("A", 2**0.5)]
)
def test_a_shape_is_read_whichever_way_round(text: str, ratio: float) -> None:
    assert parse_shape(text) == pytest.approx(ratio)


@pytest.mark.parametrize("text", ["3", "3:0", "wide", "", "-3:2"])
def test_what_is_no_shape_is_refused(text: str) -> None:
    with pytest.raises(TicketError, match="is not a shape"):
        parse_shape(text)


def test_the_table_of_sizes_turns_with_the_picture_and_grows() -> None:
    wide, tall = size_table(6000, 4000), size_table(4000, 6000)

    assert all(row.width_mm >= row.height_mm for row in wide)
    assert all(row.width_mm <= row.height_mm for row in tall)
    assert [row.ppi for row in wide] == [row.ppi for row in tall]
    areas = [row.width_mm * row.height_mm for row in wide]
    assert areas == sorted(areas)


def test_a_row_says_grade_cut_and_distance() -> None:
    row = next(one for one in size_table(6000, 4000, distance_mm=1000) if one.name == "30x40cm")

    assert row.sentence == "excellent, 11 % cut off, beyond the eye from 1 m (39 in)"
    assert (row.whole_width_mm, row.whole_height_mm) == (400, 266.67)
    assert needed_ppi(row.good_from_mm) == pytest.approx(row.ppi, rel=1e-3)


def test_the_largest_size_of_a_grade_has_exactly_its_resolution() -> None:
    # 3000 x 2200: 12.5 in at 240; 5600 x 4500: 23.3 in at 240 (common practice arithmetic)
    small = {one.step: one.width_mm / 25.4 for one in largest_sizes(3000, 2200)}
    large = {one.step: one.width_mm / 25.4 for one in largest_sizes(5600, 4500)}

    assert small["very good"] == pytest.approx(12.5, abs=0.001)
    assert large["very good"] == pytest.approx(23.33, abs=0.005)
    assert "only far" not in small
