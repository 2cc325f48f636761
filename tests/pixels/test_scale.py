"""The scale of magnitudes against colour-science: order, even steps, colour-blind eyes, grey."""

import warnings
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.pixels.scale import SCALE_STEPS, scale_colour, scale_table

Floats = NDArray[np.float64]
STEPS = 100


def lab_by_colour_science(colour_science: Any, encoded: Floats) -> Floats:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        xyz = colour_science.sRGB_to_XYZ(encoded)
        white = colour_science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
        return np.asarray(colour_science.XYZ_to_Lab(xyz, white))


def ladder() -> Floats:
    return scale_colour(np.linspace(0, 1, STEPS + 1))


def test_every_colour_can_be_shown_without_clipping() -> None:
    table = scale_table()

    assert table.shape == (SCALE_STEPS + 1, 3)
    assert table.min() > 0.0
    assert table.max() < 1.0


def test_more_is_always_darker(colour_science: Any) -> None:
    lightness = lab_by_colour_science(colour_science, ladder())[:, 0]

    assert (np.diff(lightness) < -0.2).all()
    assert lightness[0] > 94
    assert lightness[-1] < 15


def test_equal_steps_of_the_number_look_equally_large(colour_science: Any) -> None:
    lab = lab_by_colour_science(colour_science, ladder())
    gaps = colour_science.delta_E(lab[:-1], lab[1:], method="CIE 2000")

    assert gaps.max() / gaps.min() < 1.1  # D65 Lab here, D50 in the scale itself
    assert gaps.mean() > 0.8


@pytest.mark.parametrize("kind", ["Protanomaly", "Deuteranomaly", "Tritanomaly"])
def test_the_order_stays_for_colour_blind_eyes(kind: str, colour_science: Any) -> None:
    # Machado, Oliveira, Fernandes, IEEE TVCG 15(6), 2009: severity 1, on linear RGB
    encoded = ladder()
    linear = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # tritan vision is an approximation there
        matrix = colour_science.blindness.matrix_cvd_Machado2009(kind, 1.0)
    seen = np.clip(linear @ matrix.T, 0, 1)
    coded = np.where(seen <= 0.0031308, seen * 12.92, 1.055 * seen ** (1 / 2.4) - 0.055)
    lab = lab_by_colour_science(colour_science, coded)
    gaps = colour_science.delta_E(lab[:-4], lab[4:], method="CIE 2000")

    assert (np.diff(lab[:, 0]) < -0.1).all()
    assert gaps.min() > 1.5  # four hundredths of the scale stay apart


def test_a_grey_copy_keeps_the_order() -> None:
    # luma of ITU-R BT.709-6, item 3.2, as an office printer or a fax would weigh it
    grey = np.rint(scale_colour(np.linspace(0, 1, 41)) @ [0.2126, 0.7152, 0.0722] * 255)

    assert (np.diff(grey) < 0).all()


def test_beyond_the_ends_the_ends_hold() -> None:
    assert (scale_colour(-3.0) == scale_colour(0.0)).all()
    assert (scale_colour(7.5) == scale_colour(1.0)).all()


def test_between_two_entries_it_is_interpolated() -> None:
    low, high = scale_table()[10], scale_table()[11]

    assert scale_colour(10.25 / SCALE_STEPS) == pytest.approx(0.75 * low + 0.25 * high)


def test_any_shape_is_taken() -> None:
    assert scale_colour(np.zeros((2, 5))).shape == (2, 5, 3)
