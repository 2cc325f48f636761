"""The eye's numbers against published values and a reference library."""

import math
import warnings
from typing import Any

import numpy as np
import pytest

from firstsheet.engine.sharpness import eye


@pytest.mark.published
def test_mannos_and_sakrison_give_their_printed_curve(published: Any) -> None:
    rows, tolerance = published("mannos_sakrison.csv")
    got = eye.mannos_sakrison([row["cycles_per_degree"] for row in rows])
    assert got == pytest.approx([row["sensitivity"] for row in rows], abs=tolerance)


@pytest.mark.published
def test_mannos_and_sakrison_peak_where_the_literature_says() -> None:
    f = np.linspace(7.0, 9.0, 200001)
    curve = eye.mannos_sakrison(f)
    assert f[curve.argmax()] == pytest.approx(7.8909, abs=1e-3)
    assert curve.max() == pytest.approx(0.980878, abs=1e-6)


def test_the_cpiq_style_weight_peaks_at_four_cycles_and_has_its_closed_integral() -> None:
    f = np.linspace(0.0, 300.0, 3_000_001)
    weight = eye.cpiq_weight(f)
    closed = 75 / 34.05 * math.gamma(1.8) / 0.2**1.8  # gamma integral of f^0.8 exp(-0.2 f)
    assert f[weight.argmax()] == pytest.approx(4.0, abs=1e-3)
    assert np.trapezoid(weight, f) == pytest.approx(closed, rel=1e-6)
    assert closed == pytest.approx(37.1722, abs=1e-4)


@pytest.mark.published
def test_barten_agrees_with_the_reference_library() -> None:
    frequencies = np.array([0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0])
    # the library warns that it cannot plot, and changes how arrays are printed
    with warnings.catch_warnings(), np.printoptions():
        warnings.simplefilter("ignore")
        import colour
    reference = colour.contrast.contrast_sensitivity_function_Barten1999(frequencies)
    trolands = eye.retinal_illuminance_trolands(20.0, 2.1)

    ours = eye.barten_sensitivity(frequencies, retinal_trolands=trolands)

    assert ours == pytest.approx(reference, rel=1e-6)
    assert ours[3] == pytest.approx(360.8691122, rel=1e-6)  # as the library documents it


def test_nyquist_of_common_rasters_reaches_the_eye_at_the_tabled_frequencies() -> None:
    for ppi, distance_mm, expected in [
        (300, 250, 25.77),
        (300, 400, 41.23),
        (240, 250, 20.61),
        (240, 400, 32.98),
        (360, 250, 30.92),
        (360, 400, 49.47),
    ]:
        assert float(eye.cycles_per_degree(ppi / 50.8, distance_mm)) == pytest.approx(
            expected, abs=0.005
        )


def test_cycles_per_mm_undoes_cycles_per_degree() -> None:
    there = eye.cycles_per_degree(5.0, 640.0)
    assert float(eye.cycles_per_mm(there, 640.0)) == pytest.approx(5.0)


def test_a_perfect_file_has_the_tabled_acutance(published: Any) -> None:
    rows, tolerance = published("acutance.csv")
    for row in rows:
        nyquist = row["nyquist_cpd"]

        def aperture(f: np.ndarray, nyquist: float = nyquist) -> np.ndarray:
            return eye.pixel_mtf(f / (2 * nyquist))

        def flat(f: np.ndarray) -> np.ndarray:
            return np.ones_like(f)

        for name, weight in (("cpiq", eye.cpiq_weight), ("mannos", eye.mannos_sakrison)):
            for mtf in (aperture, flat):
                found = eye.acutance(mtf, cut_off_per_degree=nyquist, weight=weight)
                assert found == pytest.approx(row[f"{name}_{mtf.__name__}"], abs=tolerance), row


@pytest.mark.parametrize(("sigma", "expected"), [(0.005, 97.64), (0.01, 91.07), (0.02, 70.75)])
def test_sqf_of_a_gaussian_blur_is_as_tabled(sigma: float, expected: float) -> None:
    assert eye.sqf(lambda f: eye.gaussian_mtf(f, sigma)) == pytest.approx(expected, abs=0.01)


def test_elementary_responses_have_their_exact_values() -> None:
    assert eye.pixel_mtf([0.1, 0.25, 0.5, 0.75]) == pytest.approx(
        [0.983632, 0.900316, 0.636620, 0.300105], abs=1e-6
    )
    for sigma, expected in [(0.3, 0.641381), (0.5, 0.291213), (0.7, 0.089095), (1.0, 0.007192)]:
        assert float(eye.gaussian_mtf(0.5, sigma)) == pytest.approx(expected, abs=1e-6)
    assert pytest.approx(0.187391, abs=1e-6) == eye.F50_SIGMA
    assert pytest.approx(0.341541, abs=1e-6) == eye.F10_SIGMA


def test_two_gaussian_blurs_in_a_row_add_their_squares() -> None:
    f = np.linspace(0, 1, 11)
    both = eye.gaussian_mtf(f, 0.3) * eye.gaussian_mtf(f, 0.4)
    assert both == pytest.approx(eye.gaussian_mtf(f, 0.5))


def test_acutance_falls_with_every_added_blur() -> None:
    values = [
        eye.acutance(lambda f, s=s: eye.gaussian_mtf(f, s), cut_off_per_degree=40.0)  # type: ignore[misc]
        for s in (0.0, 0.005, 0.01, 0.02)
    ]
    assert values == sorted(values, reverse=True)
    assert len(set(values)) == 4


def test_ripples_of_colour_fade_as_the_filters_of_s_cielab_say() -> None:
    # X. Zhang, B. A. Wandell, 1996: two-dimensional kernels, summed across and transformed here.
    x = np.arange(-4.0, 4.0, 0.005)  # degrees
    weights = {0.0392: 0.531, 0.494: 0.330}, {0.0536: 0.488, 0.386: 0.371}
    for u in (0.1, 0.5, 1.0, 2.0, 5.0, 8.0):
        kept = []
        for channel in weights:
            line = np.zeros_like(x)
            for spread, weight in channel.items():
                kernel = np.exp(-(x**2) / (2 * spread**2))
                line += weight * kernel / kernel.sum()
            kept.append((line * np.cos(2 * np.pi * u * x)).sum() / line.sum())
        assert eye.colour_response(u) == pytest.approx(np.mean(kept), abs=1e-6)
