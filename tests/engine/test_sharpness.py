"""The sharpening plan: sizes on paper, order of surfaces, and what it says."""

from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.engine.sharpness.output import SURFACES, sharpen_plan


def plan(
    wish: float | Literal["off"] = 1,
    radius_mm: float | None = None,
    surface: str = "gloss",
    distance_mm: float = 500,
    ppi: float = 360,
) -> SharpenPlan:
    return sharpen_plan(
        wish=wish, radius_mm=radius_mm, surface=surface, distance_mm=distance_mm, ppi=ppi
    )


def test_the_default_radius_is_two_pixels_at_360_ppi_and_the_same_on_paper_at_720() -> None:
    # common practice, no source: a radius of 2 to 3 px at 300 to 360 ppi
    assert plan().radius_px == pytest.approx(2)
    assert plan().radius_mm == pytest.approx(25.4 / 180, abs=1e-6)
    assert plan(ppi=720).radius_px == pytest.approx(4)
    assert plan(ppi=720).radius_mm == pytest.approx(plan().radius_mm, abs=1e-6)


def test_the_default_halo_stays_below_a_quarter_millimetre() -> None:
    # common practice, no source: a halo pair up to about 0.25 mm goes unnoticed at arm's length
    for surface in SURFACES:
        assert 0 < plan(surface=surface).halo_width_mm <= 0.25


def test_the_halo_width_is_that_of_a_blurred_edge() -> None:
    # the halo of an ideal edge falls to half its height at 0.67449 sigma: normal quartile,
    # any table of the normal distribution
    assert plan().halo_width_mm == pytest.approx(2 * 0.67449 * plan().radius_mm, abs=1e-3)


def test_matte_gets_more_than_gloss_and_canvas_most() -> None:
    gains = [plan(surface=s).gain for s in ("gloss", "satin", "matte", "newsprint", "canvas")]

    assert gains == sorted(gains)
    assert len(set(gains)) == len(gains)
    assert plan(surface="unheard-of").gain == plan(surface="other").gain


@given(near=st.floats(100, 5000), factor=st.floats(1, 5))
def test_a_print_seen_from_farther_is_never_sharpened_less(near: float, factor: float) -> None:
    assert plan(distance_mm=near * factor).gain >= plan(distance_mm=near).gain


def test_strengths_are_in_order_and_off_adds_nothing() -> None:
    gains = [plan("off").gain, plan(0.6).gain, plan().gain, plan(1.5).gain]

    assert gains[0] == 0
    assert gains == sorted(gains)
    assert plan("off").halo_width_mm == 0
    assert plan("off").overshoot_limit_l == 0
    assert "No output sharpening" in plan("off").reason


@given(wish=st.floats(-10, 10))
def test_a_number_is_held_to_sensible_strengths(wish: float) -> None:
    assert 0 <= plan(wish).strength <= 3


def test_a_plan_is_called_by_its_strength() -> None:
    assert (plan(1.0).name, plan(0.65).name, plan("off").name) == ("1", "0.65", "off")


def test_a_radius_the_raster_cannot_show_is_held_and_told() -> None:
    held = plan(radius_mm=0.01)

    assert held.radius_px == 0.5
    assert held.radius_mm == pytest.approx(0.5 * 25.4 / 360, abs=1e-6)
    assert "held to" in held.reason


def test_the_reason_names_surface_distance_and_where_the_numbers_come_from() -> None:
    reason = plan(surface="matte", distance_mm=1500).reason

    for word in ("matte", "1500 mm", "mm on paper", "common practice, no source"):
        assert word in reason


@pytest.mark.parametrize("slip", [{"distance_mm": 0}, {"ppi": -1}])
def test_impossible_wishes_are_programming_mistakes(slip: dict[str, float | str]) -> None:
    with pytest.raises(ValueError, match="above zero"):
        plan(**slip)  # type: ignore[arg-type]  # the slip is the point
