"""Bradford and paper white against published numbers."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.colour.adaptation import (
    absolute_from_relative,
    bradford,
    relative_from_absolute,
    white_from_xy,
)
from firstsheet.engine.colour.lab import D50_XYZ, lab_to_xyz, xyz_to_lab

PAPER_FOGRA39 = (0.8448, 0.8762, 0.7457)
WHITE = st.tuples(st.floats(0.7, 1.2), st.just(1.0), st.floats(0.3, 1.3))


@pytest.mark.published
def test_the_matrices_are_the_published_ones(published: Any) -> None:
    rows, tolerance = published("bradford.csv")

    for row in rows:
        whites = [[row[f"{side}_{axis}"] for axis in "xyz"] for side in ("from", "to")]
        expected = [row["m0"], row["m1"], row["m2"]]
        got = bradford(*whites)[int(row["row"])]
        np.testing.assert_allclose(got, expected, rtol=0, atol=tolerance)


def test_bradford_agrees_with_another_library(colour_science: Any) -> None:
    a_white = np.array([1.0985, 1.0, 0.35585])

    theirs = colour_science.adaptation.matrix_chromatic_adaptation_VonKries(
        a_white, D50_XYZ, transform="Bradford"
    )

    np.testing.assert_allclose(bradford(a_white, D50_XYZ), theirs, rtol=0, atol=1e-12)


@given(WHITE, WHITE)
def test_the_one_white_becomes_the_other_and_back(
    one: tuple[float, float, float], two: tuple[float, float, float]
) -> None:
    forth = bradford(one, two)

    np.testing.assert_allclose(forth @ one, two, atol=1e-12)
    np.testing.assert_allclose(bradford(two, one) @ forth, np.eye(3), atol=1e-12)


@pytest.mark.published
def test_paper_white_and_ink_agree_with_the_worked_example(published: Any) -> None:
    rows, tolerance = published("absolute_from_relative.csv")

    for row in rows:
        relative = lab_to_xyz([row["L_rel"], row["a_rel"], row["b_rel"]])
        absolute = absolute_from_relative(relative, PAPER_FOGRA39)
        expected = [row["L"], row["a"], row["b"]]
        np.testing.assert_allclose(xyz_to_lab(absolute), expected, atol=tolerance)
        np.testing.assert_allclose(
            relative_from_absolute(absolute, PAPER_FOGRA39), relative, atol=1e-14
        )


def test_a_white_without_light_is_refused() -> None:
    with pytest.raises(ValueError, match="y above 0"):
        white_from_xy(0.3, 0.0)
