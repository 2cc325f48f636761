"""The table of misread spaces, computed again with another library from its chart data."""

from typing import Any

import numpy as np
import pytest

from firstsheet.engine.file.misread import MISREAD_SOURCE, MISREADINGS


def chart_xyz(colour: Any) -> tuple[Any, Any]:
    """XYZ of the 24 published patches and their white."""
    charts = colour.CCS_COLOURCHECKERS.items()
    chart = next(
        one for name, one in charts if len(one.data) == 24 and name.endswith("After November 2014")
    )
    return colour.xyY_to_XYZ(np.array(list(chart.data.values()))), chart.illuminant


def read_lab(colour: Any, encoded: Any, space: Any, white_xy: Any) -> Any:
    xyz = colour.RGB_to_XYZ(
        encoded,
        space,
        white_xy,
        chromatic_adaptation_transform="Bradford",
        apply_cctf_decoding=True,
    )
    return colour.XYZ_to_Lab(xyz, white_xy)


@pytest.mark.published
@pytest.mark.parametrize(("true", "read"), MISREADINGS)
def test_the_table_is_what_another_library_computes(
    true: str, read: str, colour_science: Any, reference_spaces: dict[str, Any]
) -> None:
    xyz, white_xy = chart_xyz(colour_science)
    encoded = colour_science.XYZ_to_RGB(
        xyz,
        reference_spaces[true],
        white_xy,
        chromatic_adaptation_transform="Bradford",
        apply_cctf_encoding=True,
    ).clip(0, 1)

    meant = read_lab(colour_science, encoded, reference_spaces[true], white_xy)
    got = read_lab(colour_science, encoded, reference_spaces[read], white_xy)

    moved = colour_science.delta_E(meant, got, method="CIE 2000")
    chroma = np.hypot(got[:18, 1], got[:18, 2]) / np.hypot(meant[:18, 1], meant[:18, 2])
    row = MISREADINGS[true, read]
    assert row.mean_de00 == pytest.approx(moved.mean(), abs=0.06)
    assert row.max_de00 == pytest.approx(moved.max(), abs=0.08)
    assert row.chroma_factor == pytest.approx(chroma.mean(), abs=0.006)
    assert row.lightness_shift == pytest.approx((got - meant)[:, 0].mean(), abs=0.06)


@pytest.mark.published
def test_the_chart_is_the_published_one(colour_science: Any) -> None:
    # Neutral row after November 2014, D50, as published by its maker.
    xyz, white_xy = chart_xyz(colour_science)

    neutral = colour_science.XYZ_to_Lab(xyz, white_xy)[18:]

    expected = [95.19, 81.29, 66.89, 50.76, 35.63, 20.64]
    np.testing.assert_allclose(neutral[:, 0], expected, atol=0.005)
    assert "24-patch" in MISREAD_SOURCE


def test_the_table_holds_every_pair_once() -> None:
    assert len(MISREADINGS) == 4 * 3
    assert all(true != read for true, read in MISREADINGS)
