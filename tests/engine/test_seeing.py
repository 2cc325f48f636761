"""Ink and eye take away what their responses say, and nothing of the tones."""

import numpy as np
import pytest
from scipy import ndimage

from firstsheet.engine.sharpness.viewing_filter import (
    detail_place,
    eye_passes,
    seen_light,
    seen_step,
)


@pytest.mark.published
def test_the_eye_passes_what_mannos_and_sakrison_say_beyond_their_peak() -> None:
    # A(f) at 20, 30, 40, 60 c/deg over its peak of 0.980878: published formula, check values
    expected = np.array([0.50268, 0.18698, 0.05901, 0.00448]) / 0.980878
    assert eye_passes([20, 30, 40, 60]) == pytest.approx(expected, abs=2e-5)
    assert eye_passes([0, 1, 7.89]) == pytest.approx([1, 1, 1], abs=1e-4)


def test_ink_alone_is_a_gaussian_blur_of_light_as_scipy_makes_it() -> None:
    light = np.random.default_rng(2).random((60, 80, 3))
    ours = seen_light(light, pitch_mm=0.05, spread_mm=0.06)
    theirs = ndimage.gaussian_filter(light, (1.2, 1.2, 0), mode="nearest", truncate=8)
    assert ours[8:-8, 8:-8] == pytest.approx(theirs[8:-8, 8:-8], abs=2e-3)


def test_an_even_tone_stays_as_it_is_from_every_distance() -> None:
    tone = np.broadcast_to([0.3, 0.4, 0.2], (40, 50, 3))
    for distance_mm in (300.0, 2000.0):
        seen = seen_light(tone, pitch_mm=0.07, spread_mm=0.05, distance_mm=distance_mm)
        assert seen == pytest.approx(tone, abs=1e-6)


@pytest.mark.parametrize("per_degree", [4.0, 15.0, 25.0])
def test_a_grating_keeps_the_share_that_the_eye_passes(per_degree: float) -> None:
    distance_mm, pitch_mm = 500.0, 0.0353
    per_mm = per_degree / (distance_mm * np.pi / 180)
    wave = np.sin(2 * np.pi * per_mm * pitch_mm * np.arange(1200))
    light = np.broadcast_to((0.5 + 0.3 * wave)[None, :, None], (24, 1200, 3))
    seen = seen_light(light, pitch_mm=pitch_mm, spread_mm=0.0, distance_mm=distance_mm)
    middle = seen[12, 300:900, 1]
    share = (middle.max() - middle.min()) / 0.6
    assert share == pytest.approx(float(eye_passes(per_degree)), abs=0.02)


def test_averaging_first_gives_the_same_look_as_averaging_last() -> None:
    plane = ndimage.gaussian_filter(np.random.default_rng(4).random((240, 240)), 1.5)
    light = np.repeat(plane[..., None], 3, axis=2)
    fine = seen_light(light, pitch_mm=0.05, spread_mm=0.05, distance_mm=1000)
    blocks = light.reshape(80, 3, 80, 3, 3).mean(axis=(1, 3))
    coarse = seen_light(blocks, pitch_mm=0.15, spread_mm=0.05, distance_mm=1000, averaged=3)
    centres = fine[1::3, 1::3]
    error = np.abs(coarse - centres)[8:-8, 8:-8].max()
    assert error < 0.06 * (centres.max() - centres.min())


def test_the_farther_away_the_coarser_the_raster_that_suffices() -> None:
    steps = [seen_step(360, distance, 4000) for distance in (300, 500, 1000, 3000)]
    assert steps == sorted(steps)
    assert steps[-1] > steps[0]
    assert seen_step(360, 300, 30000) >= 10  # a very large print is still shown small


def test_the_detail_is_looked_for_where_edges_are() -> None:
    plane = np.full((200, 300), 50.0)
    plane[120:160, 200:240:10] = 90.0
    left, top = detail_place(plane, width_px=60, height_px=60)
    assert left <= 215
    assert left + 60 >= 225
    assert top <= 125
    assert top + 60 >= 155
