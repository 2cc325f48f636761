"""Black-and-white: what the file is, and what the paper makes of its greys."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.engine.loss.regions.neutral import cast_words, file_tone, grey_axis


def greys(seed: int = 1, n: int = 20_000) -> np.ndarray:
    lab = np.zeros((n, 3))
    lab[:, 0] = np.random.default_rng(seed).uniform(2.0, 98.0, n)
    return lab


def ramp(shift_a: np.ndarray | float, shift_b: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    wanted = np.zeros((256, 3))
    wanted[:, 0] = np.linspace(0.0, 100.0, 256)
    printed = wanted.copy()
    printed[:, 0] = 17.0 + 0.83 * wanted[:, 0]
    printed[:, 1] += shift_a
    printed[:, 2] += shift_b
    return wanted, printed


def test_a_grey_picture_is_neutral() -> None:
    assert file_tone(greys()).kind == "neutral"
    assert "throughout" in file_tone(greys()).words


def test_noise_of_less_than_a_chroma_of_one_is_still_neutral() -> None:
    lab = greys()
    lab[:, 1:] += np.random.default_rng(2).normal(0.0, 0.25, (len(lab), 2))

    assert file_tone(lab).kind == "neutral"


def test_a_sepia_picture_is_evenly_toned() -> None:
    lab = greys()
    strength = np.sin(np.pi * lab[:, 0] / 100.0)
    lab[:, 1], lab[:, 2] = 4.0 * strength, 9.0 * strength
    tone = file_tone(lab)

    assert tone.kind == "evenly-toned"
    assert "9.7 toward orange" in tone.words or "9.8 toward orange" in tone.words


def test_warm_lights_over_cool_shadows_are_split_toned() -> None:
    lab = greys()
    lab[:, 2] = 0.12 * (lab[:, 0] - 50.0)
    tone = file_tone(lab)

    assert tone.kind == "split-toned"
    assert "blue" in tone.words
    assert "yellow" in tone.words


def test_a_grey_picture_with_a_red_boat_is_in_colour() -> None:
    lab = greys()
    lab[:600, 1:] = (50.0, 30.0)

    assert file_tone(lab).kind == "colour"


def test_greys_that_stay_are_said_to_stay() -> None:
    axis = grey_axis(*ramp(0.3, -0.4))

    assert axis.neutral
    assert axis.largest_shift == pytest.approx(0.5)
    assert axis.words == "Printed greys stay neutral: at most 0.5 off in a*, b*."


def test_an_even_cast_has_no_cross_over() -> None:
    axis = grey_axis(*ramp(0.0, 2.0))

    assert not axis.neutral
    assert axis.crossovers_l == ()
    assert axis.mean_shift == pytest.approx(2.0)
    assert "2.0 toward yellow in the mid tones" in axis.words
    assert "without a cross-over" in axis.words


def test_a_cast_that_changes_side_is_told_where() -> None:
    light = np.linspace(0.0, 100.0, 256)
    axis = grey_axis(*ramp(0.0, 0.06 * (light - 42.0)))

    assert axis.crossovers_l == pytest.approx((42.0,), abs=0.01)
    assert "crosses over at L* 42" in axis.words
    assert "toward blue in the shadows" in axis.words
    assert "toward yellow in the lights" in axis.words


def test_wavering_below_what_is_seen_is_no_cross_over() -> None:
    light = np.linspace(0.0, 100.0, 256)

    assert grey_axis(*ramp(0.4 * np.sin(light / 5.0), 2.0)).crossovers_l == ()


def test_tones_darker_than_the_limit_are_left_out() -> None:
    light = np.linspace(0.0, 100.0, 256)
    axis = grey_axis(*ramp(np.where(light < 8.0, 6.0, 0.0), 0.0))

    assert axis.neutral


def test_a_toned_ramp_is_held_against_its_own_tone() -> None:
    wanted, printed = ramp(0.0, 0.0)
    wanted[:, 2] = printed[:, 2] = 8.0

    assert grey_axis(wanted, printed).neutral


@pytest.mark.parametrize(
    ("a", "b", "word"), [(2, 0, "red"), (0, 2, "yellow"), (-2, 0, "green"), (0, -2, "blue")]
)
def test_a_cast_is_named_after_the_axes_of_cielab(a: float, b: float, word: str) -> None:
    assert cast_words(a, b) == f"2.0 toward {word}"
