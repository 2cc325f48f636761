"""Black points and their compensation, against two implementations of ISO 18619."""

import struct
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from imagecodecs import cms_profile, cms_transform

from firstsheet.cms.blackpoint import compensation, destination_black, source_black
from firstsheet.cms.build import header, space_profile, text_tag
from firstsheet.cms.chain import build_chain
from firstsheet.cms.container import parse_profile
from firstsheet.cms.lcms import assemble
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
    # Ink → XYZ with and without the flag differ by nothing but the affine map. Published for
    # Little CMS 2.14 in double: 1.4e-8; found here with 2.18: 2.6e-8.
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
    assert np.abs(plain * scale + offset - flagged).max() <= 1e-7


def paper_with_toe(toe_l: float) -> bytes:
    """A neutral paper of black L* 20 whose greys leave black at `toe_l` on a parabola.

    Its round trip is L* out = 20 + 80 y, y = t + 0.3 t (1 - t), t = (L* - toe) / (100 - toe).
    """
    head = struct.pack(">4s4x4B9i", b"mft2", 3, 3, 2, 0, 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    straight = struct.pack(">2H", 0, 65535)
    corners = np.stack(np.meshgrid([0, 1], [0, 1], [0, 1], indexing="ij"), -1).reshape(-1, 3)
    lab = np.full((8, 3), 32768)
    lab[:, 0] = np.round((20 + 80 * corners.mean(axis=1)) * 652.8)
    to_lab = (
        head + struct.pack(">2H", 2, 2) + straight * 3 + lab.astype(">u2").tobytes() + straight * 3
    )

    lightness = np.linspace(0, 65535 / 652.8, 4096)
    t = np.clip((lightness - toe_l) / (100 - toe_l), 0, 1)
    tone = np.round((t + 0.3 * t * (1 - t)) * 65535).astype(">u2").tobytes()
    level = np.linspace(0, 65535, 4096).astype(">u2").tobytes()
    greys = np.repeat(corners[:, :1], 3, axis=1) * 65535  # device follows L* alone
    from_lab = (
        head + struct.pack(">2H", 4096, 2) + tone + level * 2
        + greys.astype(">u2").tobytes() + straight * 3
    )  # fmt: skip
    tags = [("desc", text_tag("Toe")), ("cprt", text_tag("none"))]
    tags += [(f"A2B{i}", to_lab) for i in range(3)] + [(f"B2A{i}", from_lab) for i in range(3)]
    return assemble(
        header(device_class=b"prtr", space=b"RGB ", pcs=b"Lab ", version=0x02400000), tags
    )


@pytest.mark.parametrize("toe_l", [6.0, 12.0, 18.0])
def test_a_curve_that_leaves_black_late_is_followed_to_its_root(toe_l: float) -> None:
    # The fitted parabola is the curve itself, so its root is known: the toe
    profile = parse_profile(paper_with_toe(toe_l))
    assert xyz_to_lab(source_black(profile, 1)) == pytest.approx([20, 0, 0], abs=0.01)
    for intent in (0, 1, 2):
        found = xyz_to_lab(destination_black(profile, intent))
        assert found == pytest.approx([toe_l, 0, 0], abs=0.1)


def test_a_nearly_straight_curve_keeps_the_darkest_print(papers: dict[str, bytes]) -> None:
    # With the whole curve within 4 L* of the diagonal the first guess holds: a toe at L* 20
    # that leaves black on the diagonal is such a curve (published press black: the same rule)
    matte = parse_profile(papers["matte"])
    assert destination_black(matte, 1) == pytest.approx(source_black(matte, 1))


def test_the_engine_finds_the_same_toe() -> None:
    # The engine's own detection, seen through its compensated transform; black is neutral
    # here, so that the tint it keeps since 2.18 does not matter.
    paper, srgb = paper_with_toe(12.0), space_profile("srgb")
    rgb = np.random.default_rng(8).random((500, 3))
    whole = cms_transform(
        rgb[None], srgb, paper, colorspace="rgb", outcolorspace="rgb", outdtype="f8",
        intent=1, flags=0x2100,
    )[0]  # fmt: skip
    chain = build_chain(
        source_profile=srgb, colour_model="rgb", paper_profile=paper,
        intent="relative", black_point=True,
    )  # fmt: skip
    assert np.abs(chain.device(rgb) - whole).max() <= 1e-3


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
