"""Working spaces against the web's standard, other libraries and real profiles."""

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.colour.lab import D50_XYZ, xyz_to_lab
from firstsheet.engine.colour.spaces import GREYS, SPACES, TransferCurve

CURVES = [*(space.curve for space in SPACES.values()), *(grey.curve for grey in GREYS.values())]
TITLES = [*(s.title for s in SPACES.values()), *(g.title for g in GREYS.values())]


@pytest.mark.published
def test_the_matrices_are_those_of_the_web_s_standard(published: Any) -> None:
    rows, tolerance = published("css_color_4_matrices.csv")
    names = ["srgb", "display-p3", "a98-rgb", "prophoto-rgb"]

    assert len(rows) == 12
    for row in rows:
        got = SPACES[names[int(row["space"])]].rgb_to_xyz[int(row["row"])]
        np.testing.assert_allclose(got, [row["m0"], row["m1"], row["m2"]], atol=tolerance)


@pytest.mark.published
def test_srgb_gives_the_lab_that_real_profiles_give(published: Any) -> None:
    rows, tolerance = published("srgb_lab.csv")

    for row in rows:
        xyz = SPACES["srgb"].to_xyz_d50(np.array([row["r"], row["g"], row["b"]]) / 255)
        expected = [row["L"], row["a"], row["b_star"]]
        np.testing.assert_allclose(xyz_to_lab(xyz), expected, atol=tolerance)


@pytest.mark.parametrize("name", SPACES)
def test_each_space_agrees_with_another_library(
    name: str, reference_spaces: dict[str, Any]
) -> None:
    theirs = reference_spaces[name]
    encoded = np.linspace(0, 1, 1001)

    # Theirs rounds the matrix of ROMM RGB to four digits and its white to the ICC's D50.
    np.testing.assert_allclose(
        SPACES[name].rgb_to_xyz, theirs.matrix_RGB_to_XYZ, rtol=0, atol=2.5e-4
    )
    decoded = theirs.cctf_decoding(encoded)
    np.testing.assert_allclose(SPACES[name].decode(encoded), decoded, rtol=0, atol=1e-6)


@pytest.mark.parametrize("name", SPACES)
def test_white_is_the_white_of_the_connection_space(name: str) -> None:
    np.testing.assert_allclose(SPACES[name].to_xyz_d50([1, 1, 1]), D50_XYZ, atol=1e-12)


@pytest.mark.parametrize("name", SPACES)
@given(rgb=st.tuples(st.floats(-0.2, 1.3), st.floats(-0.2, 1.3), st.floats(-0.2, 1.3)))
def test_colours_survive_the_way_to_xyz_and_back(name: str, rgb: tuple[float, ...]) -> None:
    there = SPACES[name].to_xyz_d50(rgb)

    np.testing.assert_allclose(SPACES[name].from_xyz_d50(there), rgb, rtol=0, atol=1e-6)


@pytest.mark.parametrize("curve", CURVES)
def test_every_curve_rises_without_a_step_and_is_odd(curve: TransferCurve) -> None:
    encoded = np.linspace(0, 1, 10_001)
    linear = curve.decode(encoded)

    assert linear[0] == 0.0
    assert linear[-1] == pytest.approx(1.0, abs=1e-12)
    assert (np.diff(linear) > 0).all()
    assert np.diff(linear).max() < 3e-4
    np.testing.assert_allclose(curve.encode(linear), encoded, atol=1e-7)
    np.testing.assert_array_equal(curve.decode(-encoded), -linear)


def test_the_l_star_grey_prints_code_128_at_half_its_lightness() -> None:
    y = float(GREYS["grey-l-star"].curve.decode(128 / 255))

    assert xyz_to_lab(D50_XYZ * y)[0] == pytest.approx(100 * 128 / 255, abs=1e-9)


def test_grey_gamma_2_2_is_a_plain_power() -> None:
    curve = GREYS["grey-gamma-2.2"].curve

    assert curve.is_pure_power
    assert float(curve.decode(0.5)) == pytest.approx(0.217638, abs=1e-6)  # 0.5 ** 2.2
    assert not GREYS["grey-l-star"].curve.is_pure_power


def test_wide_spaces_are_told_from_narrow_ones_by_their_triangle() -> None:
    def area(name: str) -> float:
        space = SPACES[name]
        (x1, y1), (x2, y2), (x3, y3) = space.red_xy, space.green_xy, space.blue_xy
        return abs((x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)) / 2

    assert area("srgb") < area("display-p3") < area("prophoto-rgb")
    assert area("srgb") < area("a98-rgb") < area("prophoto-rgb")
    assert {name for name, space in SPACES.items() if space.wide} == {"a98-rgb", "prophoto-rgb"}


@pytest.mark.parametrize("name", [*SPACES, *GREYS])
def test_names_are_kebab_case_and_titles_are_for_people(name: str) -> None:
    assert re.fullmatch(r"[a-z0-9.]+(-[a-z0-9.]+)*", name)
    assert all(title and title != name for title in TITLES)
