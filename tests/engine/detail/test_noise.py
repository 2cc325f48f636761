"""Noise carried to paper obeys its own arithmetic, and the eye loses it with distance."""

import math
import warnings

import numpy as np
import pytest

from firstsheet.engine.detail.grain import RADII_CPP
from firstsheet.engine.records.detail import NoiseFacts
from firstsheet.engine.records.sharpness import PrintNoise
from firstsheet.engine.sharpness.print_noise import print_noise, visible_ratio


def _white(sigma_l: float, lightness: float = 60.0) -> NoiseFacts:
    return NoiseFacts(
        tiles=20, sigma_l=sigma_l, lightness=lightness, half_cpp=1.0, tenth_cpp=1.0,
        floor_share=0.0, size_px=1.0, power=tuple([sigma_l**2] * RADII_CPP.size),
        confidence=0.9, told="measured",
    )  # fmt: skip


def _on_paper(facts: NoiseFacts, scale: float = 1.0, distance_mm: float = 500.0) -> PrintNoise:
    found = print_noise(facts, scale=scale, ppi=300.0, distance_mm=distance_mm)
    assert found is not None
    return found


def test_halving_the_size_halves_white_noise_and_enlarging_keeps_it() -> None:
    assert _on_paper(_white(2.0)).sigma_l == pytest.approx(2.0, rel=1e-3)
    assert _on_paper(_white(2.0), scale=0.5).sigma_l == pytest.approx(1.0, rel=0.02)
    assert _on_paper(_white(2.0), scale=2.0).sigma_l == pytest.approx(2.0, rel=1e-3)


def test_a_grain_of_one_pixel_is_one_pixel_on_paper_times_the_scale() -> None:
    assert _on_paper(_white(2.0), scale=2.0).size_mm == pytest.approx(2 * 25.4 / 300, abs=1e-3)
    assert _on_paper(_white(2.0), scale=0.5).size_mm == pytest.approx(25.4 / 300, abs=1e-3)


def test_twice_the_noise_is_twice_as_far_above_threshold() -> None:
    one, two = _on_paper(_white(1.0)), _on_paper(_white(2.0))
    assert two.times_threshold == pytest.approx(2 * one.times_threshold, abs=0.02)


def test_one_octave_channel_by_hand() -> None:
    # White power v over the octave around 4 c/deg, no blur to speak of: area of the ring.
    pitch, distance, sigma = 0.01, 1000.0, 2.0
    per_mm = np.array([4 / math.sqrt(2), 4 * math.sqrt(2)]) / (distance * math.pi / 180)
    area = math.pi * float(per_mm[1] ** 2 - per_mm[0] ** 2) * pitch**2
    rms_contrast = 3 / (50 + 16) * sigma * math.sqrt(area)
    power = np.full(RADII_CPP.size, sigma**2)
    ratio = visible_ratio(
        power, file_mm=pitch, print_mm=pitch, lightness=50.0, distance_mm=distance,
        spread_mm=0.0, illuminance_lux=500.0,
    )  # fmt: skip
    # the library warns that it cannot plot, and changes how arrays are printed
    with warnings.catch_warnings(), np.printoptions():
        warnings.simplefilter("ignore")
        from colour import contrast
    luminance = 500.0 * ((50 + 16) / 116) ** 3 / math.pi
    sensitivity = contrast.contrast_sensitivity_function_Barten1999(
        4.0,
        sigma=contrast.sigma_Barten1999(0.5 / 60, 0.08 / 60, 2.5),
        E=contrast.retinal_illuminance_Barten1999(luminance, 2.5),
    )
    at_four = rms_contrast * math.sqrt(2) * float(sensitivity)
    assert ratio >= at_four * 0.999
    only_four = visible_ratio(
        power, file_mm=pitch, print_mm=pitch,
        lightness=50.0, distance_mm=distance, spread_mm=0.0, illuminance_lux=500.0,
        channels_per_degree=(4.0,),
    )  # fmt: skip
    assert only_four == pytest.approx(at_four, rel=0.01)


def test_noise_is_lost_with_distance_and_the_distance_is_the_one_told() -> None:
    near = _on_paper(_white(2.5), distance_mm=300.0)
    assert near.visible
    assert near.gone_from_mm is not None
    assert not _on_paper(_white(2.5), distance_mm=near.gone_from_mm * 1.05).visible
    assert _on_paper(_white(2.5), distance_mm=near.gone_from_mm * 0.95).visible
    assert near.sentence.startswith("Fine grain, 0.08 mm on the print, not visible beyond ")


def test_faint_noise_is_never_seen_and_nothing_measured_gives_nothing() -> None:
    assert _on_paper(_white(0.05)).sentence.endswith("not seen at any distance.")
    unmeasured = _white(1.0).model_copy(update={"sigma_l": None})
    assert print_noise(unmeasured, scale=1.0, ppi=300.0, distance_mm=500.0) is None
