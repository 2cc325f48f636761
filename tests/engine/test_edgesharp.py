"""The edge that judges a sharpening keeps the physics of an edge."""

import numpy as np
import pytest

from firstsheet.engine.sharpness.edge import EDGE_L, edge_after, edge_spectrum
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.print_chain import Chain, MtfShape
from firstsheet.engine.sharpness.strength import sharpened_chain

GAUSS = MtfShape(half_cpp=0.187391 / 0.9, tenth_cpp=0.341541 / 0.9)  # sigma 0.9 px, check values


def made(strength: float, radius_mm: float | None = None, shape: MtfShape | None = GAUSS) -> Chain:
    plan = sharpen_plan(
        wish=strength, radius_mm=radius_mm, surface="gloss", distance_mm=500, ppi=360
    )
    return sharpened_chain(Chain(shape=shape), plan)


def test_without_strength_the_edge_is_the_files_own() -> None:
    after = edge_after(made(0.0))
    assert np.allclose(after.plain_l, after.sharpened_l)
    assert (after.overshoot_l, after.halo_px, after.steepened) == (0.0, 0.0, 1.0)


@pytest.mark.published
def test_the_spectrum_of_an_untouched_gaussian_edge_is_a_gaussian() -> None:
    # exp(-2 pi^2 sigma^2 f^2): exact
    f, values = edge_spectrum(made(0.0))
    assert values == pytest.approx(np.exp(-2 * np.pi**2 * 0.81 * f**2), abs=0.003)


def test_overshoot_and_steepness_grow_with_strength_and_plateaus_stay() -> None:
    afters = [edge_after(made(strength)) for strength in (0.3, 0.8, 1.5, 3.0)]
    assert [one.overshoot_l for one in afters] == sorted({one.overshoot_l for one in afters})
    assert [one.steepened for one in afters] == sorted({one.steepened for one in afters})
    for one in afters:
        assert one.sharpened_l[[0, -1]] == pytest.approx(EDGE_L, abs=0.01)


def test_the_limit_takes_back_much_of_what_an_unlimited_filter_would_promise() -> None:
    held = made(1.5)
    free = sharpened_chain(held, sharpen_plan(
        wish=1.5, radius_mm=None, surface="gloss", distance_mm=500, ppi=360
    ).model_copy(update={"overshoot_limit_l": 1e9}))  # fmt: skip
    assert edge_after(held).overshoot_l < 0.6 * edge_after(free).overshoot_l
    assert edge_spectrum(held)[1].max() < edge_spectrum(free)[1].max()


def test_a_wider_radius_makes_wider_rims() -> None:
    widths = [edge_after(made(1.5, radius)).halo_px for radius in (0.07, 0.14, 0.3)]
    assert widths == sorted(widths)
    assert widths[0] < widths[-1]


def test_a_faint_edge_is_left_alone_by_the_gate() -> None:
    chain = made(2.0)
    closed = Chain(
        shape=chain.shape, gain=chain.gain, radius_px=chain.radius_px, limit_l=5.0,
        gate_l=(50.0, 60.0),  # higher than the edge is
    )  # fmt: skip
    assert edge_after(closed).overshoot_l == pytest.approx(0.0, abs=1e-6)
