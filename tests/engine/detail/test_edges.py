"""Natural edges against Gaussian edges whose response is exact."""

import math

import numpy as np
import pytest
from scanmaker import ScanSpec, crossing_cpp, make_scan  # type: ignore[import-not-found]

from firstsheet.engine.colour.lab import y_to_lightness
from firstsheet.engine.detail.edges import (
    FREQUENCIES_CPP,
    edge_facts,
    edge_profiles,
    mtf_of_profile,
    read_crossing,
)
from firstsheet.engine.detail.survey import Plane, Tile, choose_tiles

_erf = np.vectorize(math.erf)


def slanted_edge(sigma_px: float, degrees: float, *, lying: bool = False) -> Plane:
    """A step drawn with the error function, in linear light, given as L*."""
    y, x = np.mgrid[0:128, 0:128] - 63.3
    angle = math.radians(degrees)
    across = x * math.cos(angle) + y * math.sin(angle)
    light = 0.1 + 0.5 * 0.5 * (1 + _erf(across / sigma_px / math.sqrt(2)))
    plane = np.asarray(y_to_lightness(light), dtype=np.float32)
    return np.ascontiguousarray(plane.T) if lying else plane


@pytest.mark.published
@pytest.mark.parametrize("lying", [False, True])
@pytest.mark.parametrize("degrees", [5.0, -7.0, 12.0])
@pytest.mark.parametrize("sigma_px", [0.7, 1.0, 1.5, 2.2])
def test_a_slanted_gaussian_edge_gives_back_its_blur(
    sigma_px: float, degrees: float, lying: bool
) -> None:
    # ISO 12233 slanted edge; a Gaussian has f50 * sigma = 0.187391 exactly.
    facts = edge_facts(edge_profiles((Tile(0, 0, slanted_edge(sigma_px, degrees, lying=lying)),)))

    assert facts.half_cpp is not None
    assert facts.tenth_cpp is not None
    assert facts.half_cpp * sigma_px == pytest.approx(0.187391, rel=0.01)
    assert facts.tenth_cpp * sigma_px == pytest.approx(0.341541, rel=0.02)
    quarter = float(np.interp(0.25, FREQUENCIES_CPP, facts.curve))
    assert quarter == pytest.approx(math.exp(-2 * (math.pi * sigma_px * 0.25) ** 2), abs=0.01)


def test_upright_edges_speak_for_x_and_lying_ones_for_y() -> None:
    upright = Tile(0, 0, slanted_edge(0.8, 6.0))
    lying = Tile(0, 0, slanted_edge(1.4, 6.0, lying=True))
    facts = edge_facts(edge_profiles((upright, lying)))
    assert facts.half_x_cpp == pytest.approx(0.187391 / 0.8, rel=0.01)
    assert facts.half_y_cpp == pytest.approx(0.187391 / 1.4, rel=0.01)


def test_a_falling_edge_measures_as_a_rising_one() -> None:
    rising = slanted_edge(1.0, 8.0)
    falling = np.ascontiguousarray(rising[:, ::-1])
    halves = [edge_facts(edge_profiles((Tile(0, 0, p),))).half_cpp for p in (rising, falling)]
    assert halves[0] == pytest.approx(halves[1], rel=0.01)


def test_a_sharp_step_profile_has_the_response_of_its_bins_only() -> None:
    step = np.where(np.arange(112) < 56, 0.0, 1.0)
    assert mtf_of_profile(step)[:33] == pytest.approx(np.ones(33), abs=0.08)


def test_a_curve_that_never_falls_crosses_at_the_end() -> None:
    assert read_crossing(np.ones(65), 0.5) == 1.0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("lens", "scanner", "grain"),
    [(0.4, 0.8, 0.01), (0.9, 0.4, 0.01), (0.8, 0.8, 0.02), (1.5, 1.0, 0.01), (0.4, 1.6, 0.03)],
)
def test_edges_of_made_scans_give_the_cut_off_within_a_tenth(
    lens: float, scanner: float, grain: float
) -> None:
    spec = ScanSpec(seed=5, size_px=512, lens_sigma_px=lens, scanner_sigma_px=scanner, grain=grain)
    plane = make_scan(spec)
    survey = choose_tiles(512, 512, lambda t, b, le, r: plane[t:b, le:r])
    facts = edge_facts(edge_profiles(survey.edge_tiles))

    sigma = math.hypot(lens, scanner)
    assert facts.half_cpp == pytest.approx(crossing_cpp(sigma, 0.5), rel=0.05)
    assert facts.tenth_cpp == pytest.approx(crossing_cpp(sigma, 0.1), rel=0.10)
    assert facts.confidence > 0.5


def test_a_picture_without_edges_cannot_tell() -> None:
    plane = make_scan(ScanSpec(scene="sky", size_px=256))
    survey = choose_tiles(256, 256, lambda t, b, le, r: plane[t:b, le:r])
    facts = edge_facts(edge_profiles(survey.edge_tiles))
    assert (facts.told, facts.half_cpp, facts.confidence) == ("cannot tell", None, 0.0)


def test_edges_of_two_kinds_with_none_between_tell_nothing() -> None:
    # Nine tenths of the way from soft to sharp lies no edge: the sharp one alone is a chance.
    planes = [slanted_edge(3.0, 5.0), slanted_edge(3.0, -7.0), slanted_edge(0.6, 12.0)]
    profiles = [edge_profiles((Tile(0, 0, plane),))[0] for plane in planes]
    halves = sorted(one.half_cpp for one in profiles)
    assert halves[2] > 3 * halves[1]  # 0.187391 / sigma for a Gaussian: 0.062 and 0.312
    facts = edge_facts(profiles)
    assert (facts.told, facts.half_cpp, facts.confidence) == ("cannot tell", None, 0.0)
