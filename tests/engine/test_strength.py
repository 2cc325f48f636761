"""The solved sharpening reaches its target, or says truly what stopped it."""

from dataclasses import replace

import pytest

from firstsheet.engine.records.sharpness import StrengthAnswer
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM, Chain, MtfShape
from firstsheet.engine.sharpness.print_response import SHARP_FROM, chain_acutance
from firstsheet.engine.sharpness.strength import Limits, sharpened_chain, solve_strength, wanted

CAMERA = MtfShape(half_cpp=0.2, tenth_cpp=0.38)


def _chain(surface: str, scale: float = 1.0) -> Chain:
    return Chain(shape=CAMERA, scale=scale, ppi=360, spread_mm=INK_SPREAD_MM[surface])


def _made(chain: Chain, answer: StrengthAnswer, surface: str, distance_mm: float) -> Chain:
    """The chain with the sharpening a plan would print with that answer."""
    plan = sharpen_plan(
        wish=answer.strength,
        radius_mm=answer.radius_mm,
        surface=surface,
        distance_mm=distance_mm,
        ppi=chain.ppi,
    )
    return sharpened_chain(chain, plan)


@pytest.mark.parametrize("surface", ["gloss", "matte", "canvas"])
@pytest.mark.parametrize("distance_mm", [500.0, 1500.0])
def test_one_step_of_strength_less_would_miss_the_target(surface: str, distance_mm: float) -> None:
    chain = _chain(surface)
    answer = solve_strength(chain, distance_mm, surface=surface)
    less = answer.model_copy(update={"strength": answer.strength - 0.05})

    assert answer.bound_by == "target"
    reached = chain_acutance(_made(chain, answer, surface, distance_mm), distance_mm)
    assert reached == pytest.approx(answer.reached, abs=1e-5)
    assert reached >= answer.target
    assert chain_acutance(_made(chain, less, surface, distance_mm), distance_mm) < answer.target


@pytest.mark.parametrize("surface", ["gloss", "matte", "canvas", "newsprint"])
@pytest.mark.parametrize("distance_mm", [250.0, 400.0, 1000.0])
@pytest.mark.parametrize("half_cpp", [0.08, 0.2, 0.35])
def test_no_limit_is_ever_broken(surface: str, distance_mm: float, half_cpp: float) -> None:
    chain = Chain(
        shape=MtfShape(half_cpp=half_cpp, tenth_cpp=1.8 * half_cpp),
        spread_mm=INK_SPREAD_MM[surface],
    )
    answer = solve_strength(chain, distance_mm, surface=surface)
    assert answer.halo_width_mm <= answer.halo_limit_mm + 1e-4
    assert answer.overshoot_l <= 5.0
    assert answer.noise_gain <= 1.25
    assert answer.reached >= answer.unsharpened


def test_a_blurred_file_is_given_more_strength_than_a_sharp_one() -> None:
    strengths = [
        solve_strength(
            Chain(shape=MtfShape(half_cpp=half, tenth_cpp=1.9 * half), spread_mm=0.025),
            500.0,
            surface="gloss",
        ).strength
        for half in (0.30, 0.16, 0.10)
    ]
    assert strengths[0] < strengths[1] < strengths[2]


def test_what_is_wanted_is_a_tenth_more_than_the_file_or_sharp_but_never_half_as_much_again() -> (
    None
):
    def file(half: float) -> Chain:
        return Chain(shape=MtfShape(half_cpp=half, tenth_cpp=1.9 * half), spread_mm=0.045)

    def own(half: float) -> float:
        return chain_acutance(replace(file(half), spread_mm=0.0), 500.0)

    assert wanted(file(0.3), 500.0) == pytest.approx(1.1 * own(0.3))
    assert wanted(file(0.14), 500.0) == SHARP_FROM
    assert wanted(file(0.05), 500.0) == pytest.approx(1.5 * own(0.05))


def test_a_kept_radius_is_kept() -> None:
    answer = solve_strength(_chain("matte"), 300.0, surface="matte", radius_mm=0.2)
    assert answer.radius_mm == pytest.approx(0.2, abs=1e-6)
    assert answer.bound_by == "halo"


def test_the_manual_normal_comes_near_the_target_of_an_ordinary_file() -> None:
    # the trade's normal and our solution agree where neither surface nor file is unusual
    for surface in ("gloss", "satin", "matte"):
        chain = Chain(shape=MtfShape(half_cpp=0.3, tenth_cpp=0.5), spread_mm=INK_SPREAD_MM[surface])
        plan = sharpen_plan(
            wish=1,
            radius_mm=None,
            surface=surface,
            distance_mm=500.0,
            ppi=360,
        )
        normal = chain_acutance(sharpened_chain(chain, plan), 500.0)
        assert normal == pytest.approx(wanted(chain, 500.0), abs=0.1)


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
    assert manual.radius_px == pytest.approx(answer.radius_px, rel=1e-4)


def test_more_ink_spread_asks_for_more_strength() -> None:
    gains = [
        solve_strength(replace(_chain("gloss"), spread_mm=spread), 700.0, surface="gloss").gain
        for spread in (0.0, 0.03, 0.06, 0.09)
    ]
    assert gains == sorted(gains)
    assert gains[0] < gains[-1]


def test_a_print_already_at_its_target_is_left_alone() -> None:
    answer = solve_strength(_chain("gloss"), 500.0, surface="gloss", target=0.3)
    assert (answer.gain, answer.bound_by, answer.halo_width_mm) == (0.0, "nothing needed", 0.0)
    assert "as sharp as wanted without any" in answer.sentence


def test_noise_that_passes_for_edges_binds_the_strength() -> None:
    quiet = solve_strength(_chain("canvas"), 500.0, surface="canvas", noise_l=1.0)
    noisy = solve_strength(_chain("canvas"), 500.0, surface="canvas", noise_l=3.5)
    assert quiet.bound_by == "target"
    assert noisy.bound_by == "noise"
    assert 1.0 < noisy.noise_gain <= 1.25
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
    limits = Limits(overshoot_l=100.0, halo_arc_minutes=60.0)
    answer = solve_strength(_chain("gloss"), 500.0, surface="gloss", target=9.0, limits=limits)
    assert answer.bound_by == "highest strength"
    assert answer.strength == pytest.approx(3.0, abs=1e-3)


def test_the_halo_limit_is_the_trades_quarter_millimetre_at_thirty_centimetres() -> None:
    assert Limits().halo_mm(300.0) == pytest.approx(0.25, abs=0.005)
