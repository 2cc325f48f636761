"""The print's chain against exact responses, and its plain sentences."""

import math
from dataclasses import replace

import numpy as np
import pytest

from firstsheet.engine.records import Stock
from firstsheet.engine.sharpness.eye import gaussian_mtf
from firstsheet.engine.sharpness.print_chain import (
    INK_SPREAD_MM,
    Chain,
    MtfShape,
    kernel_response,
    shape_response,
)
from firstsheet.engine.sharpness.print_response import (
    SHARP_FROM,
    SOFT_BELOW,
    chain_acutance,
    chain_response,
    edge_profile,
    look,
)

CAMERA = MtfShape(half_cpp=0.2, tenth_cpp=0.38)


@pytest.mark.published
@pytest.mark.parametrize(
    ("kernel", "quarter", "half"),
    [
        ("mitchell", 0.845021, 0.383263),
        ("catmull-rom", 0.939019, 0.492767),
        ("bspline", 0.657023, 0.164256),
    ],
)
def test_kernel_responses_are_those_of_the_cubic_family(
    kernel: str, quarter: float, half: float
) -> None:
    # Mitchell and Netravali, SIGGRAPH 1988; their Fourier integral taken by another library.
    assert kernel_response([0.25, 0.5], kernel) == pytest.approx([quarter, half], abs=2e-5)


def test_the_triangle_has_the_squared_sinc_of_the_textbooks() -> None:
    f = np.array([0.125, 0.25, 0.5, 0.75])
    assert kernel_response(f, "triangle") == pytest.approx(np.sinc(f) ** 2, abs=2e-5)


def test_a_gaussian_blur_goes_through_its_two_points_everywhere() -> None:
    sigma = 0.9
    shape = MtfShape(half_cpp=0.187391 / sigma, tenth_cpp=0.341541 / sigma)
    f = np.linspace(0, 0.6, 13)
    assert shape_response(f, shape) == pytest.approx(gaussian_mtf(f, sigma), abs=1e-5)


def test_the_parts_of_the_chain_multiply() -> None:
    chain = Chain(shape=CAMERA, scale=1.0, ppi=254.0, spread_mm=0.05, gain=0.8, radius_px=1.5)
    f = 2.0  # cycles/mm; the pixel is 0.1 mm
    by_hand = (
        float(shape_response(0.2, CAMERA))
        * (1 + 0.8 * (1 - math.exp(-2 * math.pi**2 * 1.5**2 * 0.2**2)))
        * math.sin(0.2 * math.pi)
        / (0.2 * math.pi)
        * math.exp(-2 * math.pi**2 * 0.05**2 * 2.0**2)
    )
    assert float(chain_response(f, chain)) == pytest.approx(by_hand, rel=1e-9)


def test_the_edge_profile_of_a_gaussian_chain_is_the_error_function() -> None:
    sigma_mm = 0.3  # so wide that pixels do not matter
    x = np.linspace(-1.0, 1.0, 21)
    expected = [0.5 * (1 + math.erf(v / sigma_mm / math.sqrt(2))) for v in x]
    found = edge_profile(Chain(ppi=2000.0, spread_mm=sigma_mm), x)
    assert found == pytest.approx(expected, abs=1e-3)


def test_sharpening_raises_the_edge_above_its_plateau_and_the_plain_chain_does_not() -> None:
    chain = Chain(shape=CAMERA, ppi=360, spread_mm=0.025, gain=1.0)
    x = np.linspace(0.0, 1.0, 101)
    assert edge_profile(chain, x).max() > 1.05
    assert edge_profile(chain, x, sharpened=False).max() < 1.01


@pytest.mark.parametrize("surface", INK_SPREAD_MM)
def test_ink_takes_acutance_away_on_every_surface(surface: str) -> None:
    clean = Chain(shape=CAMERA, ppi=360)
    spread = replace(clean, spread_mm=INK_SPREAD_MM[surface])
    assert chain_acutance(spread, 400.0) < chain_acutance(clean, 400.0)


def test_every_surface_of_a_stock_has_an_ink_spread() -> None:
    surfaces = Stock.model_fields["surface"].annotation.__args__  # type: ignore[union-attr]
    assert set(surfaces) == set(INK_SPREAD_MM)


def test_distances_in_the_answer_have_the_acutance_they_claim() -> None:
    chain = Chain(shape=CAMERA, scale=1.4, ppi=360, spread_mm=0.045)
    answer = look(chain, 500.0)
    assert answer.sharp_from_mm is not None
    assert answer.soft_below_mm is not None
    assert chain_acutance(chain, answer.sharp_from_mm) == pytest.approx(SHARP_FROM, abs=1e-3)
    assert chain_acutance(chain, answer.soft_below_mm) == pytest.approx(SOFT_BELOW, abs=1e-3)
    assert answer.sentence == (
        f"Looks sharp from {answer.sharp_from_mm / 10:.0f} cm; "
        f"softens below {answer.soft_below_mm / 10:.0f} cm."
    )


def test_a_hopeless_file_is_called_soft_and_a_far_one_is_told_in_metres() -> None:
    hopeless = MtfShape(half_cpp=0.0005, tenth_cpp=0.001)
    assert look(Chain(shape=hopeless, scale=2.0), 500.0).sentence == (
        "Looks soft from any distance within a room."
    )
    assert " m; softens" in look(Chain(shape=CAMERA, scale=6.0), 500.0).sentence


def test_enlarging_a_file_moves_the_sharp_distance_away_in_proportion() -> None:
    once = look(Chain(shape=CAMERA, scale=2.0, ppi=720), 500.0).sharp_from_mm
    twice = look(Chain(shape=CAMERA, scale=4.0, ppi=720), 500.0).sharp_from_mm
    assert once is not None
    assert twice is not None
    assert twice / once == pytest.approx(2.0, rel=0.05)
