"""Rims of known height and width come back."""

import math

import numpy as np
import pytest
from scanmaker import ScanSpec, make_scan  # type: ignore[import-not-found]

from firstsheet.engine.detail.edges import edge_profiles
from firstsheet.engine.detail.halo import halo_facts
from firstsheet.engine.detail.survey import Tile, choose_tiles
from firstsheet.engine.records.detail import HaloFacts
from firstsheet.engine.sharpness.print_halo import halo_on_print

_erf = np.vectorize(math.erf)


def _step(across: np.ndarray, sigma: float) -> np.ndarray:
    return np.asarray(0.5 * (1 + _erf(across / sigma / math.sqrt(2))))


def _sharpened_edge(edge_sigma: float, gain: float, radius: float) -> np.ndarray:
    """A lightness edge plus gain times its difference from a blurred copy, exact."""
    y, x = np.mgrid[0:128, 0:128] - 63.4
    across = x * math.cos(math.radians(6)) + y * math.sin(math.radians(6))
    wide = math.hypot(edge_sigma, radius)
    rise = (1 + gain) * _step(across, edge_sigma) - gain * _step(across, wide)
    return (35 + 30 * rise).astype(np.float32)


@pytest.mark.parametrize(("gain", "radius"), [(0.5, 1.0), (1.0, 1.0), (0.8, 2.0)])
def test_the_overshoot_of_a_known_sharpening_comes_back(gain: float, radius: float) -> None:
    edge_sigma = 0.7
    x = np.linspace(0, 12, 4801)
    wide = math.hypot(edge_sigma, radius)
    beyond = (1 + gain) * _step(x, edge_sigma) - gain * _step(x, wide) - 1
    width = 2 * float((beyond >= 0.5 * beyond.max()).sum()) * (x[1] - x[0])

    profiles = edge_profiles((Tile(0, 0, _sharpened_edge(edge_sigma, gain, radius)),))
    facts = halo_facts(profiles)

    assert facts.overshoot_percent == pytest.approx(100 * beyond.max(), abs=1.0)
    assert facts.undershoot_percent == pytest.approx(100 * beyond.max(), abs=1.0)
    assert facts.told in ("slight", "clear")
    assert facts.width_px == pytest.approx(width, abs=0.6)


def test_a_plain_blurred_edge_has_no_rim() -> None:
    facts = halo_facts(edge_profiles((Tile(0, 0, _sharpened_edge(1.0, 0.0, 1.0)),)))
    assert (facts.told, facts.width_px) == ("none", None)


def _made(**parts: float) -> HaloFacts:
    plane = make_scan(ScanSpec(seed=5, **parts))
    survey = choose_tiles(384, 384, lambda t, b, le, r: plane[t:b, le:r])
    return halo_facts(edge_profiles(survey.edge_tiles))


def test_made_scans_are_told_apart() -> None:
    assert _made().told == "none"
    assert _made(grain=0.03, electronic=0.003).told == "none"
    assert _made(sharpen_gain=1.0, sharpen_sigma_px=1.5).told == "clear"


def test_without_edges_nothing_is_said() -> None:
    assert halo_facts([]).told == "cannot tell"


def test_the_rim_is_told_in_millimetres_at_print_size() -> None:
    facts = HaloFacts(
        edges=9, overshoot_percent=12.0, undershoot_percent=11.0, width_px=5.0, told="clear",
        confidence=0.9,
    )  # fmt: skip
    on_print = halo_on_print(facts, scale=1.0, ppi=254.0, distance_mm=500.0)
    assert on_print is not None
    assert on_print.width_mm == pytest.approx(0.5)
    assert on_print.sentence == (
        "Sharpened already: 12 % overshoot, 0.50 mm at this size, visible from 50 cm; use less "
        "output sharpening or get an unsharpened scan."
    )
    far = halo_on_print(facts, scale=1.0, ppi=254.0, distance_mm=2000.0)
    assert far is not None
    assert "not visible from 200 cm." in far.sentence
    none = facts.model_copy(update={"width_px": None, "told": "none"})
    assert halo_on_print(none, scale=1.0, ppi=254.0, distance_mm=500.0) is None
