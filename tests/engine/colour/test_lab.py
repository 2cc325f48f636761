"""CIELAB against published patches, another library and its own round trips."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.colour.lab import (
    D50_XYZ,
    lab_to_lch,
    lab_to_xyz,
    lch_to_lab,
    lightness_to_y,
    xyz_to_lab,
    y_to_lightness,
)

XYZ = st.tuples(st.floats(-0.5, 2), st.floats(-0.5, 2), st.floats(-0.5, 2))
LAB = st.tuples(st.floats(-20, 120), st.floats(-150, 150), st.floats(-150, 150))


@pytest.mark.published
def test_printed_patches_agree_with_their_published_lab(published: Any) -> None:
    rows, tolerance = published("patches_xyz_lab.csv")

    assert len(rows) >= 40
    for row in rows:
        xyz = np.array([row["X"], row["Y_"], row["Z"]]) / 100.0
        expected = [row["L"], row["a"], row["b"]]
        dark = min(xyz) < 0.05  # rounding to 0.01 weighs more there
        np.testing.assert_allclose(xyz_to_lab(xyz), expected, atol=tolerance if dark else 0.08)


def test_the_white_of_the_connection_space_is_the_icc_s() -> None:
    encoded = np.round(D50_XYZ * 65536).astype(int)  # s15Fixed16, ICC.1:2022 clause 7.2.16

    assert [f"{value:08X}" for value in encoded] == ["0000F6D6", "00010000", "0000D32D"]


def test_lab_agrees_with_another_library(colour_science: Any) -> None:
    xyz = np.random.default_rng(1).uniform(0, 1.2, (5000, 3))
    xyz[:500] *= 0.01
    white_xy = colour_science.XYZ_to_xy(D50_XYZ)

    theirs = colour_science.XYZ_to_Lab(xyz, white_xy)

    np.testing.assert_allclose(xyz_to_lab(xyz), theirs, rtol=0, atol=1e-9)
    np.testing.assert_allclose(lab_to_xyz(theirs), xyz, rtol=0, atol=1e-12)


@given(XYZ)
def test_xyz_survives_the_way_to_lab_and_back_even_below_zero(xyz: tuple[float, ...]) -> None:
    np.testing.assert_allclose(lab_to_xyz(xyz_to_lab(xyz)), xyz, rtol=1e-12, atol=1e-14)


@given(LAB)
def test_lab_survives_the_way_to_xyz_and_back(lab: tuple[float, ...]) -> None:
    np.testing.assert_allclose(xyz_to_lab(lab_to_xyz(lab)), lab, rtol=0, atol=1e-9)


@given(LAB)
def test_lab_survives_the_way_to_hue_and_back(lab: tuple[float, ...]) -> None:
    lch = lab_to_lch(lab)

    assert 0.0 <= lch[2] < 360.0
    assert lch[1] >= 0.0
    np.testing.assert_allclose(lch_to_lab(lch), lab, rtol=0, atol=1e-10)


def test_negative_light_goes_through_the_straight_branch() -> None:
    # CIE 15:2004: below (6/29)^3 the root is replaced by (841/108) t + 4/29; so L* = 903.3 Y.
    assert float(y_to_lightness(-0.01)) == pytest.approx(-9.033, abs=0.001)
    assert xyz_to_lab([-0.01, -0.01, -0.01])[0] == pytest.approx(-9.033, abs=0.001)


def test_the_two_branches_meet_without_a_step() -> None:
    edge = 216 / 24389

    below, above = y_to_lightness([edge * (1 - 1e-12), edge * (1 + 1e-12)])

    assert float(below) == pytest.approx(8.0, abs=1e-9)
    assert float(above) == pytest.approx(8.0, abs=1e-9)


@given(st.floats(0, 100))
def test_lightness_and_luminance_are_inverse(lightness: float) -> None:
    assert float(y_to_lightness(lightness_to_y(lightness))) == pytest.approx(lightness, abs=1e-10)


def test_a_grey_has_hue_zero_and_any_shape_is_kept() -> None:
    assert lab_to_lch([50.0, 0.0, 0.0]).tolist() == [50.0, 0.0, 0.0]
    assert lab_to_lch(np.full((2, 4, 3), -0.0)).shape == (2, 4, 3)
    assert xyz_to_lab(np.zeros((2, 4, 3))).dtype == np.float64
