"""Colours, places and losses in words."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.loss.regions.words import region_words, share_words
from firstsheet.engine.naming import (
    colour_words,
    place_words,
    tones_words,
    toward_words,
)


def lab(red: int, green: int, blue: int) -> list[float]:
    codes = np.array([red, green, blue]) / 255.0
    return [float(one) for one in xyz_to_lab(SPACES["srgb"].to_xyz_d50(codes))]


@pytest.mark.parametrize(
    ("codes", "word"),
    [
        ((255, 0, 0), "red"),
        ((255, 140, 0), "orange"),
        ((255, 255, 0), "yellow"),
        ((0, 160, 0), "green"),
        ((0, 170, 170), "turquoise"),
        ((0, 0, 255), "blue"),
        ((128, 0, 255), "violet"),
        ((255, 0, 255), "pink"),
        ((255, 182, 193), "pink"),
        ((110, 70, 40), "brown"),
        ((0, 0, 100), "deep"),
        ((128, 128, 128), "grey"),
        ((0, 0, 0), "black"),
        ((255, 255, 255), "white"),
        ((190, 210, 235), "pale"),
    ],
)
def test_a_colour_has_the_name_people_give_it(codes: tuple[int, int, int], word: str) -> None:
    assert word in colour_words(lab(*codes)).split()


def test_every_hue_has_a_name() -> None:
    for degrees in range(0, 360, 3):
        a, b = 40.0 * np.cos(np.radians(degrees)), 40.0 * np.sin(np.radians(degrees))

        assert "grey" not in colour_words([50.0, a, b])


@pytest.mark.parametrize(
    ("box", "centre", "words"),
    [
        ((0.0, 0.0, 0.2, 0.2), (0.1, 0.1), "upper left"),
        ((0.4, 0.0, 0.6, 0.2), (0.5, 0.1), "top centre"),
        ((0.8, 0.4, 1.0, 0.6), (0.9, 0.5), "right"),
        ((0.4, 0.4, 0.6, 0.6), (0.5, 0.5), "centre"),
        ((0.4, 0.8, 0.6, 1.0), (0.5, 0.9), "foot centre"),
        ((0.8, 0.8, 1.0, 1.0), (0.999, 1.0), "lower right"),
        ((0.0, 0.8, 1.0, 1.0), (0.5, 0.9), "across the foot"),
        ((0.0, 0.0, 0.2, 1.0), (0.1, 0.5), "down the left"),
        ((0.0, 0.0, 1.0, 1.0), (0.5, 0.5), "all over"),
    ],
)
def test_a_place_is_named_by_thirds(
    box: tuple[float, float, float, float], centre: tuple[float, float], words: str
) -> None:
    assert place_words(box, centre) == words


def test_a_turn_leads_to_the_next_hue_or_to_the_one_it_reaches() -> None:
    blue, red = lab(0, 0, 255), lab(255, 0, 0)

    assert toward_words(blue, 5.0) == "violet"
    assert toward_words(blue, -5.0) == "turquoise"
    assert toward_words(red, 20.0) == "orange"
    assert toward_words(red, -5.0) == "crimson"
    assert toward_words(lab(255, 0, 255), 25.0) == "crimson"


@pytest.mark.parametrize(
    ("percent", "words"), [(0.02, "under 0.1 %"), (0.94, "0.9 %"), (0.96, "1 %"), (37.4, "37 %")]
)
def test_a_share_is_said_as_finely_as_it_matters(percent: float, words: str) -> None:
    assert share_words(percent) == words


def test_many_tones_are_named_by_their_lightness() -> None:
    assert [tones_words(light) for light in (10, 50, 90)] == [
        "dark tones",
        "mid tones",
        "light tones",
    ]


def sentence(*kinds: str, kept: float | None = 0.54) -> str:
    return region_words(
        name="deep blue, lower left, 3 % of the picture",
        kinds=kinds,
        modelling_kept=kept,
        turn_degrees=20.0,
        toward="violet",
        moved_de00=6.7,
        skin_shift=4.2,
        cast_words="3.1 toward yellow",
    )


def test_a_loss_is_said_in_one_sentence() -> None:
    assert sentence("flattened", "hue") == (
        "deep blue, lower left, 3 % of the picture: only 54 % of the tonal separation survives, "
        "hue turns 20° toward violet."
    )
    assert "should be neutral and prints 3.1 toward yellow" in sentence("neutral")
    assert "merges into one black; 54 % of its detail is left" in sentence("black")
    assert "burns out to paper white; 54 % of its detail is left" in sentence("paper-white")
    assert "coloured like skin and shifts by 4.2" in sentence("skin-like")


def test_a_harmless_shift_is_told_to_be_left_alone() -> None:
    assert sentence("moved", kept=1.14).endswith(
        "shifts by ΔE00 6.7, but separation (114 % of it) and hue are kept; nothing to do."
    )
    assert "there is no detail in it to lose; nothing to do" in sentence("moved", kept=None)


def test_a_faint_modelling_that_is_lost_is_not_said_to_be_kept() -> None:
    assert "38 % of the tonal separation survives, but this will not be noticed" in sentence(
        "moved", kept=0.38
    )
