"""Density and contrast against the definition's published values."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.colour.density import (
    contrast_ratio,
    density_from_lightness,
    density_from_y,
    lightness_from_density,
    y_from_density,
)


@pytest.mark.published
def test_density_agrees_with_the_table(published: Any) -> None:
    rows, tolerance = published("density.csv")

    for row in rows:
        assert float(density_from_y(row["r"])) == pytest.approx(row["d_of_r"], abs=tolerance)
        got = float(density_from_lightness(row["lightness"]))
        assert got == pytest.approx(row["d_of_lightness"], abs=tolerance)
        assert float(y_from_density(row["d"])) == pytest.approx(row["y_of_d"], abs=1e-6)
        lightness = float(lightness_from_density(row["d"]))
        assert lightness == pytest.approx(row["lightness_of_d"], abs=0.006)


@pytest.mark.published
def test_the_trade_s_paper_blacks_have_their_lightness() -> None:
    # Public trade writing, computed: D 1.5 is L* 20.7, 1.7 is 15.5, 2.0 is 9.0, 2.3 is 4.5.
    for density, lightness in ((1.5, 20.7), (1.7, 15.5), (2.0, 9.0), (2.3, 4.5)):
        assert float(lightness_from_density(density)) == pytest.approx(lightness, abs=0.05)


@given(st.floats(1e-6, 1.0))
def test_density_and_reflectance_are_inverse(y: float) -> None:
    assert float(y_from_density(density_from_y(y))) == pytest.approx(y, rel=1e-12)


@given(st.floats(0.001, 0.99), st.floats(1.001, 1.5))
def test_darker_is_denser(y: float, factor: float) -> None:
    assert density_from_y(y) > density_from_y(min(1.0, y * factor)) or y * factor > 1


def test_contrast_counts_how_many_times_lighter_the_white_is() -> None:
    # L* 95.5 on a matt paper whose black is L* 17: 1:39, as public trade writing has it.
    white, black = y_from_density(density_from_lightness([95.5, 17.0]))

    assert contrast_ratio(float(white), float(black)) == pytest.approx(39, abs=0.5)


@pytest.mark.parametrize("y", [0.0, -0.1, float("nan")])
def test_a_perfect_black_has_no_density(y: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        density_from_y(y)
    with pytest.raises(ValueError, match="above 0"):
        contrast_ratio(1.0, y)
