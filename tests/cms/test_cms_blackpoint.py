"""Black points and their compensation, against two implementations of ISO 18619."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from imagecodecs import cms_profile, cms_transform

from firstsheet.cms.blackpoint import compensation, destination_black, source_black
from firstsheet.cms.build import space_profile
from firstsheet.cms.container import parse_profile
from firstsheet.engine.colour.lab import D50_XYZ, xyz_to_lab

Table = Callable[[str], list[dict[str, float]]]

# Source of the expected values: Little CMS 2.14, double precision, on the same profile
PRESS_BLACK = (0.017385, 0.018031, 0.014874)


@pytest.mark.published
@pytest.mark.parametrize("intent", [0, 1, 2])
def test_the_press_profiles_black_points(press: bytes, intent: int) -> None:
    profile = parse_profile(press)
    if intent == 1:
        expected_in = expected_out = PRESS_BLACK
    else:
        expected_in, expected_out = (0.015317, 0.015885, 0.013104), (0.0, 0.0, 0.0)
    assert source_black(profile, intent) == pytest.approx(expected_in, abs=2e-6)
    assert destination_black(profile, intent) == pytest.approx(expected_out, abs=2e-6)


@pytest.mark.published
def test_their_lightness(press: bytes) -> None:
    profile = parse_profile(press)
    assert xyz_to_lab(source_black(profile, 1))[0] == pytest.approx(14.418, abs=1e-3)
    assert xyz_to_lab(source_black(profile, 0))[0] == pytest.approx(13.160, abs=1e-3)


@pytest.mark.parametrize("intent", [0, 1, 2, 3])
def test_a_working_space_reaches_zero(intent: int) -> None:
    profile = parse_profile(space_profile("srgb"))
    assert source_black(profile, intent) == pytest.approx([0, 0, 0], abs=1e-7)
    assert destination_black(profile, intent) == pytest.approx([0, 0, 0], abs=1e-7)


def test_absolute_has_no_black_point(press: bytes) -> None:
    assert source_black(parse_profile(press), 3) == pytest.approx([0, 0, 0])
    assert destination_black(parse_profile(press), 3) == pytest.approx([0, 0, 0])


@pytest.mark.published
def test_version_4_tables_share_the_reference_mediums_black(papers: dict[str, bytes]) -> None:
    glossy = parse_profile(papers["glossy"])
    for intent in (0, 2):
        found = destination_black(glossy, intent)
        assert found == pytest.approx([0.00336, 0.0034731, 0.00287])  # ICC.1, PRM
        assert xyz_to_lab(found)[0] == pytest.approx(3.137, abs=1e-3)


def test_the_papers_relative_black_is_a_grey_of_the_darkest_print(papers: dict[str, bytes]) -> None:
    # L* 14.6, 30.7 and 43.8 stand in the description of how the three were made
    for name, lightness in (("glossy", 14.6), ("matte", 30.7), ("newsprint", 43.8)):
        lab = xyz_to_lab(destination_black(parse_profile(papers[name]), 1))
        assert lab == pytest.approx([lightness, 0, 0], abs=0.06)


@pytest.mark.published
def test_the_arithmetic_gives_the_published_numbers(published: Table) -> None:
    scale, offset = compensation([0, 0, 0], PRESS_BLACK)
    assert scale == pytest.approx([0.981970, 0.981969, 0.981969], abs=1e-6)
    assert offset == pytest.approx(PRESS_BLACK, abs=1e-12)
    for row in published("black_point.csv"):
        y = row["Yin"] * scale[1] + offset[1]
        assert y == pytest.approx(row["Yout"], abs=1e-6)
        assert xyz_to_lab(y * D50_XYZ)[0] == pytest.approx(row["Lout"], abs=0.006)


@pytest.mark.published
def test_the_engine_with_its_own_flag_does_the_same_arithmetic(press: bytes) -> None:
    # Ink → XYZ with and without the flag differ by nothing but the affine map (found: 1.4e-8
    # in double; the path used here rounds to single precision).
    ink = np.random.default_rng(0).random((1, 500, 4)) * 100
    xyz_profile = cms_profile("xyz")
    plain, flagged = (
        cms_transform(
            ink, press, xyz_profile, colorspace="cmyk", outcolorspace="xyz", outdtype="f8",
            intent=1, flags=flags,
        )[0]
        for flags in (0x0100, 0x2100)
    )  # fmt: skip
    scale, offset = compensation(source_black(parse_profile(press), 1), [0.0, 0.0, 0.0])
    assert np.abs(plain * scale + offset - flagged).max() <= 1e-6


unit = st.floats(0.0, 0.2)


@given(unit, unit)
def test_white_stays_and_black_lands_on_black(dark: float, goal: float) -> None:
    scale, offset = compensation(dark * D50_XYZ, goal * D50_XYZ)
    assert D50_XYZ * scale + offset == pytest.approx(D50_XYZ, abs=1e-12)
    assert dark * D50_XYZ * scale + offset == pytest.approx(goal * D50_XYZ, abs=1e-12)


@given(unit, unit)
def test_the_way_back_undoes_it(dark: float, goal: float) -> None:
    there, back = (
        compensation(dark * D50_XYZ, goal * D50_XYZ),
        compensation(goal * D50_XYZ, dark * D50_XYZ),
    )
    xyz = np.array([0.3, 0.4, 0.2])
    assert (xyz * there[0] + there[1]) * back[0] + back[1] == pytest.approx(xyz, abs=1e-12)
