"""Repairs as they are said."""

from __future__ import annotations

from typing import Any

import pytest

from firstsheet.engine.loss.repair.words import repair_words
from firstsheet.engine.records.losses import RegionLoss


def region(**changed: Any) -> RegionLoss:
    given: dict[str, Any] = {
        "colour": "deep blue",
        "place": "lower left",
        "kinds": ("hue",),
        "weight": "caution",
        "pieces": 1,
        "area_percent": 3.0,
        "area_mm2": 900.0,
        "box": (0.0, 0.5, 0.2, 1.0),
        "wanted_lab": (32.0, 60.0, -100.0),
        "printed_lab": (30.0, 30.0, -50.0),
        "mean_de00": 12.0,
        "wanted_steps_de": 2.0,
        "modelling_kept": 0.54,
        "hue_turn_degrees": 22.0,
        "hue_toward": "violet",
        "lost": 3.0,
        "visibility": 1.0,
        "rank": 9.0,
        "words": "deep blue",
    }
    return RegionLoss(**given | changed)


@pytest.mark.parametrize(
    ("after", "said", "left"),
    [
        (
            {"modelling_kept": 0.82, "hue_turn_degrees": -6.0, "lost": 0.0},
            "54 % of the tonal separation survives without it, 82 % with it and turns 22° in hue "
            "without it, 6° with it; ",
            "",
        ),
        (
            {"modelling_kept": 0.61},
            "54 % of the tonal separation survives without it, 61 % with it",
            "Not all of",
        ),
        ({"modelling_kept": 0.60, "lost": 0.0}, "60 % with it", "still missing is too faint"),
        (
            {"modelling_kept": 0.50, "lost": 1.2},
            "54 % of the tonal separation survives without it, 50 % with",
            "It costs separation there.",
        ),
        ({"modelling_kept": None, "hue_turn_degrees": None}, "changes as its swatches show", ""),
    ],
)
def test_a_repair_says_what_comes_back_and_what_does_not(
    after: dict[str, Any], said: str, left: str
) -> None:
    words = repair_words("chroma", region(), region(**after), 0.94)

    assert words.startswith("deep blue, lower left: ")
    assert said in words
    assert "the rest of the picture moves by at most ΔE00 0.9. Make it less vivid" in words
    assert (left in words) if left else words.endswith("at the same hue.")
