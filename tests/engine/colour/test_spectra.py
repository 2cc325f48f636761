"""Spectra to XYZ: the kept tables are those of colour-science, and whites come out white."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.colour.spectra import spectra_to_xyz
from firstsheet.files.reading.measured.weights import spectral_weights, weights_known

colour = pytest.importorskip("colour")
KEPT = [(light, eye, step) for light, eye in weights_known() for step in (5, 10, 20)]
THEIR_LIGHTS = {"F2": "FL2", "F11": "FL11"}
THEIR_EYES = {
    "2": "CIE 1931 2 Degree Standard Observer",
    "10": "CIE 1964 10 Degree Standard Observer",
}


def samples() -> tuple[Any, Any]:
    """The 24 reflectances that colour-science carries, 380 to 730 nm in 10 nm."""
    held = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    waves = np.arange(380, 740, 10)
    spread = colour.SpectralShape(380, 730, 10)
    return waves, np.array([one.copy().align(spread).values for one in held.values()])


@pytest.mark.published
@pytest.mark.parametrize(("light", "eye", "step"), KEPT)
def test_the_kept_weights_are_those_of_the_library(light: str, eye: str, step: int) -> None:
    """ASTM E2022 weights of colour-science, its lights linear between tabled wavelengths."""
    even = np.arange(360, 781, dtype=np.float64)
    theirs = colour.SDS_ILLUMINANTS[THEIR_LIGHTS.get(light, light)]
    lit = colour.SpectralDistribution(np.interp(even, theirs.wavelengths, theirs.values), even)
    seen = colour.MSDS_CMFS[THEIR_EYES[eye]].copy().align(colour.SpectralShape(360, 780, 1))
    expected = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(
        seen, lit, colour.SpectralShape(360, 780, step)
    )

    np.testing.assert_allclose(spectral_weights(light, eye, step).weights, expected, atol=5.1e-6)


@pytest.mark.published
@pytest.mark.parametrize("light", ["D50", "D65", "A"])
@pytest.mark.parametrize("eye", ["2", "10"])
def test_lab_of_real_reflectances_is_that_of_a_sum_over_every_nanometre(
    light: str, eye: str
) -> None:
    waves, shares = samples()
    table = spectral_weights(light, eye, 10)
    ours = xyz_to_lab(spectra_to_xyz(shares, waves, table), table.white_xyz)

    fine = np.arange(380, 731)
    seen = colour.MSDS_CMFS[THEIR_EYES[eye]].copy().align(colour.SpectralShape(380, 730, 1)).values
    lamp = colour.SDS_ILLUMINANTS[light]
    lit = seen * np.interp(fine, lamp.wavelengths, lamp.values)[:, None]
    smooth = np.array(
        [
            colour.SpragueInterpolator(waves.astype(np.float64), row)(fine.astype(np.float64))
            for row in shares
        ]
    )
    xyz = smooth @ lit / lit[:, 1].sum()
    theirs = xyz_to_lab(xyz, lit.sum(axis=0) / lit[:, 1].sum())
    assert np.abs(ours - theirs).max() < 0.1


@pytest.mark.parametrize(("light", "eye", "step"), KEPT)
def test_a_perfect_white_has_y_of_one(light: str, eye: str, step: int) -> None:
    waves = np.arange(380, 741, step)

    xyz = spectra_to_xyz(np.ones(len(waves)), waves, spectral_weights(light, eye, step))

    assert xyz[1] == pytest.approx(1.0, abs=2e-5)


@pytest.mark.published
def test_the_white_of_d50_is_the_one_of_the_standard() -> None:
    """ASTM E308 and ISO 13655: 96.42, 100, 82.49 to 82.52."""
    white = spectral_weights("D50", "2", 10).white_xyz * 100

    np.testing.assert_allclose(white, [96.422, 100.0, 82.505], atol=0.02)


@pytest.mark.published
def test_a_cxf_file_of_others_has_the_lab_of_its_own_spectra() -> None:
    """The sample that the CxF library carries: 144 patches, Lab by E308 table 5 (its own word)."""
    cxf = pytest.importorskip("colour_cxf")
    from firstsheet.files.reading.measured.open_reading import open_reading

    path = Path(cxf.__file__).parent / "tests" / "resources" / "sample.cxf"
    if not path.is_file():
        pytest.skip("the library came without its sample")
    reading = open_reading(path).reading
    assert reading.spectra is not None
    waves, shares = reading.spectra.wavelengths_nm, reading.spectra.reflectance
    ours = xyz_to_lab(spectra_to_xyz(shares, waves, spectral_weights("D50", "2", 10)))

    gap = np.linalg.norm(ours - [patch.lab for patch in reading.patches], axis=1)
    assert len(gap) == 144
    assert np.median(gap) < 0.2


def test_wavelengths_that_are_not_the_tables_are_refused() -> None:
    table = spectral_weights("D50", "2", 10)

    with pytest.raises(ValueError, match="not those of the table"):
        spectra_to_xyz(np.ones(40), np.arange(383, 783, 10), table)
    with pytest.raises(ValueError, match="400 to 680"):
        spectra_to_xyz(np.ones(20), np.arange(450, 650, 10), table)
