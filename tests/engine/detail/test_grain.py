"""Noise of known spectrum comes back; texture is not taken for noise."""

import math

import numpy as np
import pytest
from scanmaker import ScanSpec, blur, crossing_cpp, make_scan  # type: ignore[import-not-found]

from firstsheet.engine.detail.grain import RADII_CPP, fit_spectrum, noise_facts, radial_power
from firstsheet.engine.detail.survey import Tile, choose_tiles


def _tiles(plane: np.ndarray) -> tuple[Tile, ...]:
    height, width = plane.shape
    return choose_tiles(width, height, lambda t, b, le, r: plane[t:b, le:r]).even_tiles


def test_white_noise_has_its_variance_at_every_frequency() -> None:
    rng = np.random.default_rng(1)
    power = np.mean([radial_power(2.0 * rng.standard_normal((64, 64))) for _ in range(40)], axis=0)
    assert power[3:] == pytest.approx(np.full(28, 4.0), rel=0.06)


def test_a_tilt_and_a_bow_are_not_noise() -> None:
    y, x = np.mgrid[0:64, 0:64] / 64.0
    assert radial_power(30 * x + 10 * y - 8 * x * y + 5 * y**2).max() < 1e-12


@pytest.mark.parametrize(("fc", "power", "floor"), [(0.15, 2.0, 0.0), (0.3, 1.5, 0.05)])
def test_the_fit_finds_the_spectrum_it_is_given(fc: float, power: float, floor: float) -> None:
    made = np.exp(-2 * (RADII_CPP / fc) ** power) + floor + 1e-9
    fit = fit_spectrum(made)
    tenth = fc * math.log(10) ** (1 / power)
    assert fit.crossing_cpp(0.1) == pytest.approx(tenth, rel=0.03)
    assert fit.misfit < 0.05


@pytest.mark.slow
@pytest.mark.parametrize("scanner", [0.7, 0.9, 1.2, 1.6, 2.0])
@pytest.mark.parametrize("seed", [5, 6])
def test_grain_shows_the_scanners_cut_off_within_a_tenth(scanner: float, seed: int) -> None:
    plane = make_scan(
        ScanSpec(seed=seed, scene="sky", grain=0.03, scanner_sigma_px=scanner, electronic=0.0002)
    )
    facts = noise_facts(_tiles(plane))
    assert facts.half_cpp == pytest.approx(crossing_cpp(scanner, 0.5), rel=0.10)
    assert facts.tenth_cpp == pytest.approx(crossing_cpp(scanner, 0.1), rel=0.10)


def test_the_strength_of_noise_is_its_standard_deviation_in_lightness() -> None:
    rng = np.random.default_rng(2)
    facts = noise_facts(_tiles((55 + 1.5 * rng.standard_normal((384, 384))).astype(np.float32)))
    assert facts.sigma_l == pytest.approx(1.5, rel=0.03)
    assert facts.size_px == pytest.approx(1.0, abs=0.2)
    assert facts.lightness == pytest.approx(55, abs=0.5)


def test_coarser_grain_has_larger_grains() -> None:
    rng = np.random.default_rng(2)
    sizes = []
    for sigma in (0.0, 1.0, 2.0):
        noise = blur(rng.standard_normal((384, 384)), sigma)
        plane = (55 + 1.2 * noise / noise.std()).astype(np.float32)
        sizes.append(noise_facts(_tiles(plane)).size_px or 0.0)
    assert sizes == sorted(sizes)
    # power of a Gaussian blur halves at sqrt(ln 2) / (2 pi sigma)
    assert sizes[2] == pytest.approx(0.5 / (math.sqrt(math.log(2)) / (2 * math.pi * 2)), rel=0.12)


@pytest.mark.parametrize("seed", range(4))
def test_texture_is_not_called_grain(seed: int) -> None:
    facts = noise_facts(_tiles(make_scan(ScanSpec(scene="texture", seed=seed))))
    assert facts.told == "cannot tell"


def test_a_clean_eight_bit_gradient_has_no_noise() -> None:
    facts = noise_facts(_tiles(make_scan(ScanSpec(scene="sky", grain=0.0, bits=8))))
    assert facts.told == "cannot tell"


def test_packaged_close_ups_of_grass_and_gravel_are_not_called_grain() -> None:
    from skimage import data

    for name in ("grass", "gravel", "brick"):
        plane = (getattr(data, name)().astype(np.float32) / 255 * 100).astype(np.float32)
        assert noise_facts(_tiles(plane)).told == "cannot tell", name
