"""The loss map: the difference itself, its floor, its legend."""

from typing import Any

import numpy as np
import pytest

from firstsheet.pixels.lettering import draw_words, fold_words, words_width
from firstsheet.pixels.lossmap import band_words, loss_map, loss_picture
from firstsheet.pixels.scale import scale_colour

BANDS = (40.0, 30.0, 20.0, 9.97, 0.03)


def test_the_difference_is_that_of_colour_science(colour_science: Any) -> None:
    rng = np.random.default_rng(1)
    wanted = rng.uniform((5, -60, -60), (95, 60, 60), (6, 7, 3))
    printed = wanted + rng.normal(0, 6, wanted.shape)

    ours = loss_map(wanted, printed, 0.0)

    assert ours == pytest.approx(
        colour_science.delta_E(wanted, printed, method="CIE 2000"), abs=1e-9
    )


def test_below_the_noise_of_the_profile_nothing_is_a_loss() -> None:
    wanted = np.full((1, 3, 3), 50.0) * [1, 0, 0]
    printed = wanted + np.array([[0.5, 0, 0], [2.0, 0, 0], [30.0, 0, 0]])

    values = loss_map(wanted, printed, 1.4)

    assert values[0, 0] == 0.0
    assert values[0, 1] > 1.4
    assert values[0, 2] > 10


def picture(floor: float = 1.4) -> Any:
    values = np.zeros((300, 700))
    values[:, 350:] = 5.0
    values[:10] = 40.0
    return loss_picture(
        values, floor_de00=floor, bands_percent=BANDS, title="Ferry stairs on Chalk Matte 310"
    )


def test_each_pixel_has_the_colour_of_its_magnitude() -> None:
    out = picture()
    around = 24
    shown = out[around : around + 300, around : around + 700]

    assert (shown[100, 10] == np.rint(scale_colour(0.0) * 255)).all()
    assert (shown[100, 600] == np.rint(scale_colour(0.5) * 255)).all()
    assert (shown[5, 5] == np.rint(scale_colour(1.0) * 255)).all()


def test_the_surround_is_exactly_neutral() -> None:
    out = picture()

    for side in (out[:24], out[-24:], out[:, :24], out[:, -24:]):
        assert (side == 119).all()


def test_the_legend_bar_shows_the_whole_scale() -> None:
    legend = picture()[24 + 300 :, 24:-24].astype(int)
    first, last = (np.rint(scale_colour(end) * 255) for end in (0.0, 1.0))

    assert (legend[:, :2] == first).all(axis=-1).any()
    assert (legend[:, -2:] == last).all(axis=-1).any()


def test_the_legend_says_the_floor_and_grows_with_notes() -> None:
    plain, floored = picture(0.0), picture(1.4)

    assert floored.shape[0] > plain.shape[0]  # one sentence more


def test_shares_are_told_in_words() -> None:
    assert band_words((40.0, 30.0, 20.0, 9.97, 0.03)) == (
        "below 1: 40 %",
        "1 to 2: 30 %",
        "2 to 5: 20 %",
        "5 to 10: 10 %",
        "above 10: under 0.1 %",
    )
    assert band_words((100, 0, 0, 0, 0))[4] == "above 10: 0 %"


@pytest.mark.parametrize("width", [120, 400, 1500, 2600])
def test_the_legend_fits_pictures_of_any_width(width: int) -> None:
    out = loss_picture(
        np.zeros((width, width)), floor_de00=1.0, bands_percent=BANDS, title="A " * 60
    )

    assert (out[:, :24] == 119).all()
    assert (out[:, -24:] == 119).all()


def test_sentences_fold_to_the_width() -> None:
    lines = fold_words("one two three four five six seven", 20, 120)

    assert " ".join(lines) == "one two three four five six seven"
    assert len(lines) > 1
    assert all(words_width(line, 20) <= 120 for line in lines)


def test_words_that_fall_outside_are_cut_off() -> None:
    page = np.full((20, 30, 3), 119, np.uint16)

    draw_words(page, "far too long for this page", 20, 10, 18, (60000,) * 3)
    draw_words(page, "beside", 400, 10, 18, (60000,) * 3)

    assert page.max() > 119
