"""Repairs as they are said."""

from __future__ import annotations

from typing import Any

import pytest

from firstsheet.engine.regions.record import RegionLoss
from firstsheet.engine.repair.words import proposal_words


def region(**changed: Any) -> RegionLoss:
    given: dict[str, Any] = {
        "colour": "deep blue",
        "place": "lower left",
        "kinds": ("hue",),
        "weight": "mind",
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
    ("after", "reached", "said"),
    [
        (
            {"modelling_kept": 0.82, "hue_turn_degrees": -6.0},
            True,
            "keeps 82 % of its modelling instead of 54 % and turns 6° instead of 22°. Where",
        ),
        (
            {"modelling_kept": 0.61, "hue_turn_degrees": 22.0},
            False,
            "of its modelling instead of 54 %. It does not give back all that was asked. Where",
        ),
        (
            {"modelling_kept": 0.60, "hue_turn_degrees": 22.0},
            True,
            "keeps 60 % of its modelling instead of 54 % (what is still missing is too faint to be",
        ),
        (
            {"modelling_kept": 0.50, "hue_turn_degrees": 7.0},
            True,
            "turns 7° instead of 22°, but keeps 50 % of its modelling instead of 54 %. Where",
        ),
    ],
)
def test_a_proposal_says_what_comes_back_and_what_it_costs(
    after: dict[str, Any], reached: bool, said: str
) -> None:
    words = proposal_words("chroma", region(), region(**after), (0.02, 0.94), reached)

    assert words.startswith("Make it less vivid at the same hue: the deep blue, lower left, then ")
    assert said in words
    assert words.endswith(
        "Where nothing is lost the print moves by ΔE00 0.02 on average, 0.9 at most."
    )
