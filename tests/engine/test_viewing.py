"""Light and eye against published tables."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.light.viewing import (
    cycles_per_degree,
    illuminance_for_luminance,
    paper_white_luminance,
    ppi_one_arc_minute,
    stops_between,
)


@pytest.mark.published
def test_paper_is_as_bright_as_the_table_says(published: Any) -> None:
    rows, tolerance = published("light_on_paper.csv")

    assert len(rows) == 25
    for row in rows:
        got = paper_white_luminance(row["illuminance_lux"], row["reflectance"])
        assert got == pytest.approx(row["luminance_cd_m2"], abs=tolerance)


@pytest.mark.published
def test_the_light_that_matches_a_screen_is_the_table_s(published: Any) -> None:
    rows, tolerance = published("light_for_screen.csv")

    for row in rows:
        got = illuminance_for_luminance(row["luminance_cd_m2"], row["reflectance"])
        assert got == pytest.approx(row["illuminance_lux"], abs=tolerance)


@pytest.mark.published
def test_the_trade_s_sums_about_dark_prints_come_out() -> None:
    # Public trade writing, computed: paper of 0.89 in 500, 300, 150 and 50 lux; a 250 cd/m2
    # screen against a print in 150 lux is 2.6 stops brighter.
    for lux, expected in ((500, 142), (300, 85), (150, 42), (50, 14)):
        assert paper_white_luminance(lux, 0.89) == pytest.approx(expected, abs=0.6)
    assert illuminance_for_luminance(120, 0.89) == pytest.approx(424, abs=0.5)
    assert stops_between(paper_white_luminance(150, 0.89), 250) == pytest.approx(2.6, abs=0.05)


@pytest.mark.published
def test_one_arc_minute_is_as_many_ppi_as_published(published: Any) -> None:
    rows, tolerance = published("one_arc_minute.csv")

    assert len(rows) == 14
    for row in rows:
        got = ppi_one_arc_minute(row["distance_mm"])
        assert got == pytest.approx(row["ppi"], abs=tolerance)


@pytest.mark.published
def test_frequencies_at_the_eye_are_the_table_s(published: Any) -> None:
    rows, tolerance = published("cycles_per_degree.csv")

    for row in rows:
        got = cycles_per_degree(row["cycles_per_mm"], row["distance_mm"])
        assert got == pytest.approx(row["cycles_per_degree"], abs=tolerance)


@pytest.mark.published
def test_a_metered_exposure_value_agrees_with_the_light_on_a_perfect_paper() -> None:
    # ISO 2720 constants: at ISO 100, E = 2.5 * 2^EV lux and L = 2^(EV - 3) cd/m2. They belong
    # to a card that returns pi / 20 of the light.
    for ev in (7, 9, 11):
        assert paper_white_luminance(2.5 * 2**ev, math.pi / 20) == pytest.approx(2 ** (ev - 3))


@given(st.floats(1, 1e5), st.floats(0.01, 1))
def test_light_and_luminance_are_inverse(lux: float, reflectance: float) -> None:
    there = paper_white_luminance(lux, reflectance)

    assert illuminance_for_luminance(there, reflectance) == pytest.approx(lux, rel=1e-12)


@given(st.floats(0.1, 1e4), st.floats(0.1, 1e4))
def test_stops_turn_their_sign_when_swapped(one: float, two: float) -> None:
    assert stops_between(one, two) == pytest.approx(-stops_between(two, one), abs=1e-12)
    assert stops_between(one, 2 * one) == pytest.approx(1.0)


@given(st.floats(50, 1e4))
def test_twice_as_far_needs_half_the_ppi(distance_mm: float) -> None:
    near, far = ppi_one_arc_minute(distance_mm), ppi_one_arc_minute(2 * distance_mm)

    assert near == pytest.approx(2 * far)


@pytest.mark.parametrize("reflectance", [-0.01, 1.01, float("nan"), 89.0])
def test_a_reflectance_in_per_cent_or_none_is_refused(reflectance: float) -> None:
    with pytest.raises(ValueError, match="reflectance must be 0 to 1"):
        paper_white_luminance(500, reflectance)
    with pytest.raises(ValueError, match="reflectance must be 0 to 1"):
        illuminance_for_luminance(100, reflectance)


def test_what_cannot_be_seen_is_refused() -> None:
    with pytest.raises(ValueError, match="illuminance_lux must be 0 or more"):
        paper_white_luminance(-1, 0.9)
    with pytest.raises(ValueError, match="reaches no luminance"):
        illuminance_for_luminance(100, 0)
    with pytest.raises(ValueError, match="two luminances above 0"):
        stops_between(0, 100)
    with pytest.raises(ValueError, match="distance_mm must be above 0"):
        ppi_one_arc_minute(0)
    with pytest.raises(ValueError, match="distance_mm must be above 0"):
        cycles_per_degree(5, -1)
