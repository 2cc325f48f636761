"""The solved sharpening reaches its target, or says truly what stopped it."""

from dataclasses import replace

import pytest

from firstsheet.engine.printmtf import INK_SPREAD_MM, Chain, MtfShape, chain_acutance
from firstsheet.engine.sharpness import sharpen_plan
from firstsheet.engine.strength import Limits, solve_strength

CAMERA = MtfShape(half_cpp=0.2, tenth_cpp=0.38)


def _chain(surface: str, scale: float = 1.0) -> Chain:
    return Chain(shape=CAMERA, scale=scale, ppi=360, spread_mm=INK_SPREAD_MM[surface])


@pytest.mark.parametrize("surface", ["gloss", "matte", "canvas"])
@pytest.mark.parametrize("distance_mm", [300.0, 500.0, 1500.0])
def test_the_solved_gain_gives_the_target_when_put_back_into_the_chain(
    surface: str, distance_mm: float
) -> None:
    chain = _chain(surface)
    answer = solve_strength(chain, distance_mm, surface=surface)
    sharpened = replace(chain, gain=answer.gain, radius_px=answer.radius_px)

    assert answer.bound_by == "target"
    assert chain_acutance(sharpened, distance_mm) == pytest.approx(answer.target, abs=1e-4)


def test_the_strength_means_the_same_gain_as_the_manual_one() -> None:
    answer = solve_strength(_chain("matte"), 500.0, surface="matte")
    manual = sharpen_plan(
        wish=answer.strength,
        radius_mm=answer.radius_mm,
        surface="matte",
        distance_mm=500.0,
        ppi=360,
    )
    assert manual.gain == pytest.approx(answer.gain, rel=1e-3)
    assert manual.halo_width_mm == pytest.approx(answer.halo_width_mm, abs=1e-3)


def test_more_ink_spread_asks_for_more_strength() -> None:
    gains = [
        solve_strength(replace(_chain("gloss"), spread_mm=spread), 500.0, surface="gloss").gain
        for spread in (0.0, 0.03, 0.06, 0.09)
    ]
    assert gains == sorted(gains)
    assert gains[0] < gains[-1]


def test_a_print_already_at_its_target_is_left_alone() -> None:
    answer = solve_strength(_chain("gloss"), 500.0, surface="gloss", target=0.3)
    assert (answer.gain, answer.bound_by, answer.halo_width_mm) == (0.0, "nothing needed", 0.0)
    assert "already as sharp" in answer.sentence


def test_noise_that_passes_for_edges_binds_the_strength() -> None:
    quiet = solve_strength(_chain("canvas"), 500.0, surface="canvas", noise_l=1.0)
    noisy = solve_strength(_chain("canvas"), 500.0, surface="canvas", noise_l=3.5)
    assert quiet.bound_by == "target"
    assert noisy.bound_by == "noise"
    assert noisy.noise_gain == pytest.approx(1.25, abs=1e-3)
    assert noisy.gain < quiet.gain
    assert "roughen" in noisy.sentence


def test_overshoot_already_in_the_file_eats_from_the_limit() -> None:
    free = solve_strength(_chain("matte"), 500.0, surface="matte", target=2.0)
    eaten = solve_strength(
        _chain("matte"), 500.0, surface="matte", target=2.0, present_overshoot_share=0.08
    )
    none_left = solve_strength(
        _chain("matte"), 500.0, surface="matte", target=2.0, present_overshoot_share=0.3
    )
    assert eaten.gain < free.gain
    assert free.overshoot_l <= 5.0 + 1e-3
    assert eaten.overshoot_l <= 5.0 - 0.08 * 40 + 1e-3
    assert none_left.gain < 0.5 * free.gain
    assert none_left.bound_by == "overshoot"


def test_the_halo_stays_below_its_limit_even_close_up() -> None:
    answer = solve_strength(_chain("newsprint"), 200.0, surface="newsprint", target=3.0)
    assert answer.halo_width_mm <= answer.halo_limit_mm + 1e-3
    assert answer.bound_by == "halo"


def test_the_highest_strength_is_a_limit_too() -> None:
    limits = Limits(overshoot_l=100.0)
    answer = solve_strength(_chain("gloss"), 500.0, surface="gloss", target=9.0, limits=limits)
    assert answer.bound_by == "highest strength"
    assert answer.strength == pytest.approx(3.0, abs=1e-3)


def test_the_halo_limit_is_the_trades_quarter_millimetre_at_thirty_centimetres() -> None:
    assert Limits().halo_mm(300.0) == pytest.approx(0.25, abs=0.005)
