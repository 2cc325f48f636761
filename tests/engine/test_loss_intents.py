"""Intents compared, and the words of the recommendation."""

from typing import Any

import numpy as np
import pytest

from firstsheet.engine.loss.intents import (
    IntentTrial,
    intent_losses,
    recommend_intent,
    separation_kept,
)
from firstsheet.engine.records import Intent
from firstsheet.engine.records.plan import IntentLoss

RAMP = np.linspace(4, 95, 256)


def trial(intent: Intent, printed: Any, beside: Any = None, ramp: Any = RAMP) -> IntentTrial:
    return IntentTrial(
        intent=intent,
        printed_lab=np.asarray(printed),
        printed_ramp_l=np.asarray(ramp),
        printed_neighbour_lab=beside,
    )


def made_colours(n: int = 400) -> Any:
    return np.random.default_rng(8).uniform([20, -60, -60], [80, 60, 60], (n, 3))


def loss(intent: Intent, **changes: Any) -> IntentLoss:
    values: dict[str, Any] = {
        "intent": intent,
        "mean_de00": 1.0,
        "p95_de00": 3.0,
        "share_over_2_percent": 20.0,
        "share_over_5_percent": 4.0,
        "merged_levels": 5,
        "differs_from_chosen_max_de00": 3.0,
        "differs_from_relative_max_de00": 0.0 if intent == "relative" else 6.0,
    }
    return IntentLoss(**{**values, **changes})


def test_each_intent_is_measured_against_what_was_wanted(colour_science: Any) -> None:
    wanted = made_colours()
    shifted, far = np.add(wanted, [3.0, 0, 0]), wanted * [1, 0.7, 0.7]

    relative, perceptual = intent_losses(
        wanted, [trial("relative", shifted), trial("perceptual", far)], "relative"
    )

    expected = colour_science.delta_E(wanted, far, method="CIE 2000")
    assert perceptual.mean_de00 == pytest.approx(expected.mean(), abs=6e-4)
    assert perceptual.p95_de00 == pytest.approx(np.percentile(expected, 95), abs=6e-4)
    assert perceptual.share_over_2_percent == pytest.approx((expected >= 2).mean() * 100, abs=6e-4)
    assert perceptual.share_over_5_percent == pytest.approx((expected >= 5).mean() * 100, abs=6e-4)
    apart = colour_science.delta_E(shifted, far, method="CIE 2000").max()
    assert perceptual.differs_from_chosen_max_de00 == pytest.approx(apart, abs=6e-4)
    assert perceptual.differs_from_relative_max_de00 == pytest.approx(apart, abs=6e-4)
    assert relative.differs_from_chosen_max_de00 == 0.0
    assert relative.separation_kept is None


def test_a_floor_takes_shares_away_but_no_means() -> None:
    wanted = made_colours()
    trials = [trial("relative", np.add(wanted, [3.0, 0, 0]))]

    (plain,) = intent_losses(wanted, trials, "relative")
    (floored,) = intent_losses(wanted, trials, "relative", floor_de00=4.0)

    assert plain.share_over_2_percent > 90
    assert floored.share_over_2_percent == 0.0
    assert floored.mean_de00 == plain.mean_de00


def test_separation_is_told_where_colours_move() -> None:
    wanted = np.array([[40.0, 50, -60], [40.0, 52, -60], [50, 0, 0], [52, 0, 0]])
    beside = np.add(wanted, [2.0, 0, 0])
    clipped = np.array([[40.0, 30, -30], [40.0, 30, -30], [50, 0, 0], [52, 0, 0]])
    clipped_beside = np.add(
        clipped, [[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [2.0, 0.0, 0.0]]
    )
    kept = wanted * [1, 0.7, 0.7]

    relative, perceptual = intent_losses(
        wanted,
        [
            trial("relative", clipped, clipped_beside),
            trial("perceptual", kept, np.add(kept, [1.0, 0, 0])),
        ],
        "relative",
        wanted_neighbour_lab=beside,
    )

    assert relative.separation_kept == 0.0  # both moved patches became flat
    assert perceptual.separation_kept == pytest.approx(0.5)


def test_separation_of_a_flat_patch_cannot_be_told() -> None:
    grey = np.array([[50.0, 0, 0]])

    assert separation_kept(grey, grey, grey, grey) is None
    assert separation_kept(grey, grey + 1, grey, grey + 1) == pytest.approx(1.0)
    assert separation_kept(np.zeros((0, 3)), np.zeros((0, 3)), grey[:0], grey[:0]) is None


def test_an_intent_that_was_not_tried_cannot_be_the_chosen_one() -> None:
    with pytest.raises(ValueError, match="chosen intent absolute was not tried"):
        intent_losses(made_colours(), [trial("relative", made_colours())], "absolute")


def test_equal_intents_are_said_to_be_equal_with_the_number() -> None:
    intents = [
        loss("perceptual", differs_from_relative_max_de00=0.38),
        loss("relative"),
        loss("saturation", differs_from_relative_max_de00=0.4),
    ]

    intent, reason = recommend_intent(intents)

    assert intent == "relative"
    assert reason == (
        "No visible difference between the intents (largest difference ΔE00 0.4): relative "
        "colorimetric, by habit."
    )


def test_two_equal_intents_beside_a_different_third_are_named() -> None:
    intents = [
        loss("perceptual", differs_from_relative_max_de00=0.2),
        loss("relative"),
        loss("absolute", differs_from_relative_max_de00=7.0),
    ]

    _, reason = recommend_intent(intents)

    assert reason == (
        "No visible difference between perceptual and relative colorimetric (largest "
        "difference ΔE00 0.2): relative colorimetric, by habit."
    )


@pytest.mark.parametrize(
    ("relative", "perceptual", "winner", "reason"),
    [
        (
            {"share_over_2_percent": 3.2},
            {"share_over_2_percent": 41.0},
            "relative",
            "Relative colorimetric moves only 3.2 % of the picture by more than ΔE00 2; "
            "perceptual moves 41.0 %.",
        ),
        (
            {"separation_kept": 0.54},
            {"separation_kept": 0.81},
            "perceptual",
            "Perceptual keeps 81 % of the separation where colours move, relative colorimetric "
            "54 %.",
        ),
        (
            {"separation_kept": 0.8},
            {"separation_kept": 0.7},
            "relative",
            "Relative colorimetric keeps 80 % of the separation where colours move, perceptual "
            "70 %.",
        ),
        (
            {"separation_kept": 0.8, "merged_levels": 37},
            {"separation_kept": 0.82, "merged_levels": 6},
            "perceptual",
            "Perceptual prints 6 of the 256 grey levels as the darkest, relative colorimetric 37.",
        ),
        (
            {"share_over_5_percent": 6.0, "mean_de00": 1.4},
            {"share_over_5_percent": 9.5, "mean_de00": 2.6},
            "relative",
            "Relative colorimetric moves 6.0 % of the picture by more than ΔE00 5, perceptual "
            "9.5 %; mean 1.4 against 2.6.",
        ),
    ],
)
def test_the_reason_names_the_number_that_decided(
    relative: dict[str, float], perceptual: dict[str, float], winner: str, reason: str
) -> None:
    intents = [loss("perceptual", **perceptual), loss("relative", **relative), loss("saturation")]

    assert recommend_intent(intents) == (winner, reason)


def test_a_vivid_picture_is_never_recommended_saturation_or_absolute() -> None:
    intents = [
        loss("perceptual"),
        loss("relative"),
        loss("saturation", share_over_5_percent=0.0, separation_kept=1.0),
        loss("absolute", share_over_5_percent=0.0, separation_kept=1.0),
    ]

    assert recommend_intent(intents)[0] in ("perceptual", "relative")


def test_a_single_intent_stands() -> None:
    assert recommend_intent([loss("absolute")]) == (
        "absolute",
        "Only absolute colorimetric was compared, so it stands.",
    )
    with pytest.raises(ValueError, match="no intent"):
        recommend_intent([])
