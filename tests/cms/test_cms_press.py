"""A real press profile against the 2,376 measurements it carries.

The profile (libvips, public domain) holds CMYK, XYZ and spectra of its own chart. Expected
values were computed from these data with Little CMS 2.14 in double precision.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.cms.chain import Chain, build_chain
from firstsheet.cms.container import parse_profile
from firstsheet.engine.colour.adaptation import relative_from_absolute
from firstsheet.engine.colour.density import density_from_y
from firstsheet.engine.colour.difference import delta_e_76, delta_e_2000
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab

pytestmark = pytest.mark.published
Floats = NDArray[np.float64]


@pytest.fixture(scope="module")
def chart(press: bytes) -> Floats:
    """Rows of ink (0..1), XYZ (white 1) and 36 spectral values (per cent)."""
    text = parse_profile(press).tags["targ"][8:].decode("latin-1").replace("\r", "")
    head, body = text.split("BEGIN_DATA\n", 1)
    fields = head.split("BEGIN_DATA_FORMAT")[1].split("END_DATA_FORMAT")[0].split()
    assert fields[1:8] == ["CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K", "XYZ_X", "XYZ_Y", "XYZ_Z"]
    lines = body.split("END_DATA")[0].strip().splitlines()
    rows = np.array([line.split() for line in lines], dtype=float)[:, 1:]
    rows[:, :7] /= 100.0
    return rows


@pytest.fixture(scope="module")
def chain(press: bytes, srgb: bytes) -> Chain:
    return build_chain(
        source_profile=srgb,
        colour_model="rgb",
        paper_profile=press,
        intent="relative",
        black_point=False,
    )


def measured_lab(chart: Floats) -> Floats:
    return xyz_to_lab(chart[:, 4:7])


def test_the_chart_has_all_its_patches(chart: Floats) -> None:
    assert chart.shape == (2376, 4 + 3 + 36)


def test_ink_to_absolute_lab_meets_the_measurements(chain: Chain, chart: Floats) -> None:
    printed = chain.printed_lab_absolute(chart[:, :4])
    gap = delta_e_2000(printed, measured_lab(chart))

    found = [gap.mean(), np.median(gap), np.percentile(gap, 95), gap.max()]
    assert found == pytest.approx([0.335, 0.297, 0.700, 1.999], abs=0.01)
    assert delta_e_76(printed, measured_lab(chart)).mean() == pytest.approx(0.478, abs=0.01)


def test_measured_colours_come_back_within_the_known_floor(chain: Chain, chart: Floats) -> None:
    wanted = measured_lab(chart)
    relative = xyz_to_lab(relative_from_absolute(lab_to_xyz(wanted), chain.paper_white_xyz))
    again = chain.printed_lab_absolute(chain.device_from_lab(relative))
    gap = delta_e_2000(wanted, again)

    found = [gap.mean(), np.percentile(gap, 95), gap.max()]
    assert found == pytest.approx([0.975, 2.183, 4.384], abs=0.02)
    shares = [float((gap > limit).mean() * 100) for limit in (1, 2, 3, 4)]
    assert shares == pytest.approx([40, 8.1, 1.0, 0.2], abs=0.5)


@pytest.mark.parametrize(
    ("ink", "measured", "profiled"),
    [
        ((0, 0, 0, 0), (96.71, 0.43, -1.00), (96.50, 0.44, -0.89)),
        ((1, 0, 0, 0), (54.39, -34.80, -52.15), (54.46, -35.43, -52.17)),
        ((0, 1, 0, 0), (50.21, 75.40, -3.41), (50.15, 75.56, -3.48)),
        ((0, 0, 1, 0), (91.75, -3.61, 98.09), (91.58, -3.32, 97.67)),
        ((0, 0, 0, 1), (13.83, 4.08, -4.46), (13.75, 3.98, -4.37)),
    ],
)
def test_paper_and_solids(
    chain: Chain,
    chart: Floats,
    ink: tuple[float, ...],
    measured: tuple[float, ...],
    profiled: tuple[float, ...],
) -> None:
    same = np.all(chart[:, :4] == ink, axis=1)
    assert measured_lab(chart)[same].mean(axis=0) == pytest.approx(measured, abs=0.05)
    assert chain.printed_lab_absolute(np.array(ink)) == pytest.approx(profiled, abs=0.05)


@pytest.mark.parametrize(
    ("ink", "measured"),
    [
        ((0, 1, 1, 0), (48.78, 70.31, 47.64)),
        ((1, 0, 1, 0), (47.61, -67.75, 27.90)),
        ((1, 1, 0, 0), (19.36, 26.33, -47.91)),
    ],
)
def test_overprints_as_measured(
    chart: Floats, ink: tuple[float, ...], measured: tuple[float, ...]
) -> None:
    same = np.all(chart[:, :4] == ink, axis=1)
    assert measured_lab(chart)[same].mean(axis=0) == pytest.approx(measured, abs=0.05)


def test_the_darkest_patch_has_its_density(chart: Floats) -> None:
    darkest = chart[:, 5].min()
    assert darkest * 100 == pytest.approx(1.0065, abs=0.005)
    # The visual density 2.008 is from the spectrum; from Y alone it is the same to 0.02
    assert float(density_from_y(darkest)) == pytest.approx(2.008, abs=0.02)


@pytest.mark.slow
def test_the_spectra_give_the_measured_xyz(chart: Floats) -> None:
    colour = pytest.importorskip("colour")
    nm = np.arange(380, 731, 10)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS["D50"]
    weights = np.array([cmfs[n] * light[n] for n in nm])
    xyz = chart[:, 7:] / 100 @ weights / weights[:, 1].sum()
    gap = delta_e_2000(xyz_to_lab(xyz), measured_lab(chart))

    found = [gap.mean(), np.percentile(gap, 95)]
    assert found == pytest.approx([0.0098, 0.0130], abs=0.001)
    assert gap.max() == pytest.approx(1.32, abs=0.01)  # one odd row
