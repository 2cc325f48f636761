"""Steps on paper: heights and lengths of made staircases, and when the eye sees them."""

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.engine.loss.steps import StepsOnPaper, steps_findings, steps_on_paper, steps_seen
from firstsheet.engine.records import Place
from firstsheet.engine.records.plan import SizePlan

Floats = NDArray[np.float64]


def _staircase(
    run_px: int, step_l: float, start_l: float = 50.0
) -> tuple[NDArray[np.int64], Floats]:
    """Codes and neutral Lab of one gradient of four lines."""
    level = np.arange(64) // run_px
    codes = np.broadcast_to(level[None, None, :, None], (1, 4, 64, 1)).copy()
    lab = np.zeros((1, 4, 64, 3))
    lab[..., 0] = start_l + step_l * level
    return codes, lab


def _size(width_mm: float) -> SizePlan:
    return SizePlan(
        crop_left_px=0, crop_top_px=0, crop_width_px=4000, crop_height_px=3000,
        crop_loss_percent=0.0, crop_loss_mm=(0, 0, 0, 0), width_px=1, height_px=1, ppi=360,
        width_mm=width_mm, height_mm=width_mm * 0.75, effective_ppi=254, scale=1.0,
        enlarged=False, resample="none", verdicts=(),
    )  # fmt: skip


def test_height_and_length_of_a_staircase_come_back() -> None:
    codes, wanted = _staircase(8, 0.5)

    steps = steps_on_paper(codes, wanted, wanted)

    assert steps.run_px == pytest.approx(8, abs=0.1)
    assert steps.printed_l == pytest.approx(0.5, abs=1e-3)
    # CIEDE2000 of neutrals near L* 50 is the difference in L*, weighed by S_L, which is 1 at 50
    assert steps.printed_de00 == pytest.approx(0.5, rel=0.04)


def test_a_paper_that_flattens_or_steepens_a_gradient_changes_the_steps() -> None:
    codes, wanted = _staircase(8, 0.5)
    steep = wanted.copy()
    steep[..., 0] = 50 + 2.0 * (wanted[..., 0] - 50)

    lower = steps_on_paper(codes, wanted, np.full_like(wanted, 20.0))
    higher = steps_on_paper(codes, wanted, steep)

    assert lower.stepped == 0
    assert higher.printed_de00 == pytest.approx(2 * (higher.wanted_de00 or 0), rel=0.06)


def test_a_gradient_whose_codes_change_all_the_time_has_no_steps() -> None:
    codes, wanted = _staircase(1, 0.05)

    assert steps_on_paper(codes, wanted, wanted).stepped == 0


def test_higher_steps_are_seen_more_and_from_far_away_short_ones_are_not() -> None:
    near, far = Place(distance_mm=400), Place(distance_mm=4000)

    def seen(step_l: float, run_mm: float, light: float, at: Place, spread: float = 0.03) -> float:
        return steps_seen(step_l, run_mm, light, at, spread_mm=spread)

    assert seen(1.0, 3.0, 50, near) == pytest.approx(2 * seen(0.5, 3.0, 50, near))
    assert seen(0.4, 3.0, 60, near) > 1  # one step of 8 bits in a clean sky is seen
    assert seen(0.4, 0.3, 60, far) < 0.1
    assert seen(0.02, 3.0, 60, near) < 1
    # broad bands of a sky: each rim is as plain as those of shorter steps
    runs = [seen(0.4, run, 60, near) for run in (0.3, 1.0, 3.0, 10.0, 30.0, 100.0)]
    assert all(b > 0.99 * a for a, b in pairwise(runs))
    assert runs[-1] == pytest.approx(runs[-2], rel=0.01)
    # a Gaussian of sigma passes exp(-2 (pi f sigma)^2); here the first harmonic is the strongest
    softer = seen(0.4, 0.3, 60, near, 0.08) / seen(0.4, 0.3, 60, near, 0.025)
    squares = 0.08**2 - 0.025**2
    assert softer == pytest.approx(np.exp(-2.0 * (np.pi / 0.3) ** 2 * squares), rel=1e-6)


def _steps(printed: float, wanted: float = 0.4) -> StepsOnPaper:
    return StepsOnPaper(
        gradients=20, stepped=12, run_px=40.0, wanted_de00=wanted, printed_de00=printed,
        highest_de00=printed, printed_l=printed, lightness=60.0,
    )  # fmt: skip


def test_the_finding_tells_height_length_and_whether_they_are_seen() -> None:
    (found,) = steps_findings(_steps(0.8), _size(400), Place(distance_mm=500), surface="satin")

    assert found.weight == "caution"
    assert found.found == (
        "12 of 20 gradients looked at go in steps: on this print ΔE00 0.80 high and 4.0 mm long, "
        "the paper makes them higher (ΔE00 0.40 in the file)."
    )
    assert found.consequence.startswith("From 50 cm (20 in) they are seen as bands (")
    assert found.figures["run_mm"] == 4.0


def test_steps_that_are_not_seen_are_fine_and_ask_for_nothing() -> None:
    (found,) = steps_findings(
        _steps(0.02, 0.02), _size(400), Place(distance_mm=3000), surface="satin"
    )

    assert found.weight == "fine"
    assert found.choices == ()


def test_smooth_gradients_give_no_finding() -> None:
    codes, wanted = _staircase(1, 0.05)

    assert (
        steps_findings(steps_on_paper(codes, wanted, wanted), _size(400), Place(), surface="matte")
        == ()
    )
    assert steps_findings(None, _size(400), Place(), surface="matte") == ()


def test_steps_of_pure_colour_are_seen_long_and_from_near_but_not_fine_or_from_far() -> None:
    near, far = Place(distance_mm=400), Place(distance_mm=4000)

    def seen(step_l: float, run_mm: float, at: Place = near, colour: float = 0.0) -> float:
        return steps_seen(step_l, run_mm, 60, at, spread_mm=0.03, colour_de00=colour)

    long, short = (seen(0.0, run, colour=0.8) / seen(0.8, run) for run in (30.0, 0.5))

    assert seen(0.0, 10.0, colour=0.8) > 1
    assert 0.7 < long < 1.6  # coarse ripples: about as plain as lightness
    assert short < 0.4  # fine ripples of colour melt long before those of lightness
    assert seen(0.0, 0.5, far, colour=0.8) < 0.1
    both = np.hypot(seen(0.3, 5.0), seen(0.0, 5.0, colour=0.4))
    assert seen(0.3, 5.0, colour=0.4) == pytest.approx(both)


def test_a_staircase_of_hue_is_measured_as_colour_science_measures_it(colour_science: Any) -> None:
    hue = np.radians(150 + 2.0 * (np.arange(64) // 8))
    lab = np.zeros((1, 4, 64, 3))
    lab[..., 0], lab[..., 1], lab[..., 2] = 55, 40 * np.cos(hue), 40 * np.sin(hue)
    codes = np.broadcast_to((np.arange(64) // 8)[None, None, :, None], (1, 4, 64, 1))

    steps = steps_on_paper(codes, lab, lab)

    stairs = lab[0, 0, ::8]
    heights = colour_science.delta_E(stairs[1:], stairs[:-1], method="CIE 2000")
    assert steps.printed_l == 0
    assert steps.printed_colour_de00 == pytest.approx(np.median(heights), abs=2e-3)
    assert steps.printed_de00 == pytest.approx(np.median(heights), abs=2e-3)
    (found,) = steps_findings(steps, _size(400), Place(distance_mm=400), surface="satin")
    assert "nearly all of it colour" in found.found
