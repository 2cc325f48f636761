"""Hue in Oklab: printed tables, the bend of CIELAB's blue, a second opinion, and turns."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstsheet.engine.colour.hue import hue_turn, oklab_of_lab, oklab_of_xyz_d65
from firstsheet.engine.colour.lab import lab_to_lch, lch_to_lab, xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES


def lab_of_srgb(*codes: float) -> np.ndarray:
    return xyz_to_lab(SPACES["srgb"].to_xyz_d50(np.array(codes)))


def oklab_hue(lab: np.ndarray) -> float:
    _, a, b = oklab_of_lab(lab)
    return float(np.degrees(np.arctan2(b, a)) % 360.0)


@pytest.mark.published
@pytest.mark.parametrize(
    ("xyz", "printed"),
    [
        ((0.950, 1.000, 1.089), (1.000, 0.000, 0.000)),
        ((1.000, 0.000, 0.000), (0.450, 1.236, -0.019)),
        ((0.000, 1.000, 0.000), (0.922, -0.671, 0.263)),
        ((0.000, 0.000, 1.000), (0.153, -1.415, -0.449)),
    ],
)
def test_the_four_pairs_printed_with_the_space_are_met(
    xyz: tuple[float, ...], printed: tuple[float, ...]
) -> None:
    # Source: Ottosson 2020, "A perceptual color space for image processing", table of test pairs
    assert oklab_of_xyz_d65(xyz) == pytest.approx(printed, abs=5.1e-4)


def test_a_second_library_gives_the_same_oklab(colour_science: Any) -> None:
    xyz = np.random.default_rng(1).uniform(0.05, 1.0, (50, 3))

    assert np.abs(oklab_of_xyz_d65(xyz) - colour_science.XYZ_to_Oklab(xyz)).max() < 2e-4


@pytest.mark.published
@pytest.mark.parametrize(
    ("codes", "hue"),
    [
        ((1.0, 0.0, 0.0), 29.23),
        ((1.0, 1.0, 0.0), 109.77),
        ((0.0, 1.0, 0.0), 142.50),
        ((0.0, 1.0, 1.0), 194.77),
        ((0.0, 0.0, 1.0), 264.06),
        ((1.0, 0.0, 1.0), 328.36),
    ],
)
def test_the_screen_primaries_lie_where_the_web_standard_has_them(
    codes: tuple[float, ...], hue: float
) -> None:
    # Source: the named colours in oklch by W3C CSS Color 4's sample conversions; from memory
    assert oklab_hue(lab_of_srgb(*codes)) == pytest.approx(hue, abs=0.1)


def test_blue_dulled_at_constant_cielab_hue_has_turned_to_violet() -> None:
    blue = lab_to_lch(lab_of_srgb(0.0, 0.0, 1.0))
    dulled = lch_to_lab([35.0, 0.5 * blue[1], blue[2]])
    turn, apart = hue_turn(oklab_of_lab(lch_to_lab(blue)), oklab_of_lab(dulled))

    assert oklab_hue(dulled) == pytest.approx(290.5, abs=0.5)
    assert oklab_hue(lab_of_srgb(128 / 255, 0.0, 1.0)) == pytest.approx(293.9, abs=0.5)
    assert float(turn) == pytest.approx(26.4, abs=0.5)
    assert float(apart) > 5.0


def test_a_turn_is_told_across_the_end_of_the_circle() -> None:
    def at(degrees: float) -> list[float]:
        return [0.5, 0.1 * np.cos(np.radians(degrees)), 0.1 * np.sin(np.radians(degrees))]

    assert float(hue_turn(at(350.0), at(20.0))[0]) == pytest.approx(30.0)
    assert float(hue_turn(at(20.0), at(350.0))[0]) == pytest.approx(-30.0)


def test_a_turn_of_greys_is_no_distance() -> None:
    turn, apart = hue_turn([0.5, 1e-4, 0.0], [0.5, -1e-4, 0.0])

    assert abs(float(turn)) == pytest.approx(180.0)
    assert float(apart) < 0.05
