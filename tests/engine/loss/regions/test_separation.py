"""Steps of a texture, measured at the scales the eye sees."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.regions.separation import (
    CELL,
    cell_means,
    cell_steps,
    eye_scales,
    shrunk,
)

ALL = (1.0, 1.0, 1.0)


def grey(light: np.ndarray) -> np.ndarray:
    lab = np.zeros((*light.shape, 3), dtype=np.float32)
    lab[..., 0] = light
    return lab


def checks(side: int, step: float, size: int = 64) -> np.ndarray:
    down, across = np.indices((size, size)) // side
    return 50.0 + step * np.where((down + across) % 2 == 0, 1.0, -1.0)


def test_checks_of_one_pixel_count_as_their_own_deviation() -> None:
    assert cell_steps(grey(checks(1, 3.0)), ALL) == pytest.approx(np.full((8, 8), 3.0), rel=1e-5)


@pytest.mark.parametrize(("side", "level"), [(1, 0), (2, 1), (4, 2)])
def test_checks_are_seen_at_their_own_scale_alone(side: int, level: int) -> None:
    weights = [0.0, 0.0, 0.0]
    weights[level] = 0.5
    others = [0.0 if at == level else 1.0 for at in range(3)]

    assert cell_steps(grey(checks(side, 2.0)), weights) == pytest.approx(np.full((8, 8), 1.0))
    assert cell_steps(grey(checks(side, 2.0)), others).max() < 1e-5


def test_scales_hold_all_the_variance_within_a_cell() -> None:
    noise = np.random.default_rng(2).normal(50.0, 2.0, (CELL, CELL))
    every_pair = [cell_steps(grey(checks(2**k, 1.0)), ALL).mean() for k in range(3)]
    light = 50.0 + np.sum([checks(2**k, 1.0 + k) - 50.0 for k in range(3)], axis=0)

    assert every_pair == pytest.approx([1.0, 1.0, 1.0])
    assert cell_steps(grey(light), ALL).mean() == pytest.approx(np.sqrt(1 + 4 + 9), rel=0.02)
    assert 0.0 < cell_steps(grey(noise), ALL)[0, 0] <= noise.std() * 1.0001


@pytest.mark.parametrize("kept", [0.0, 0.25, 0.54, 1.0, 1.14])
def test_a_texture_flattened_by_a_known_share_keeps_that_share(kept: float) -> None:
    noise = np.random.default_rng(3).normal(0.0, 2.0, (64, 96))
    wanted, printed = (cell_steps(grey(40.0 + k * noise), (0.4, 1.0, 0.7)) for k in (1.0, kept))

    assert printed.sum() / wanted.sum() == pytest.approx(kept, abs=1e-4)


def test_a_shift_to_equal_distance_from_mid_grey_takes_no_step() -> None:
    noise = np.random.default_rng(4).normal(0.0, 2.0, (64, 64))

    assert cell_steps(grey(70.0 + noise), ALL) == pytest.approx(
        cell_steps(grey(30.0 + noise), ALL), rel=0.02
    )


def test_a_step_near_black_counts_as_ciede2000_counts_it() -> None:
    lab = grey(checks(1, 0.5, 8) - 42.0)  # 7.5 and 8.5
    expected = float(delta_e_2000([8.5, 0.0, 0.0], [7.5, 0.0, 0.0])) / 2.0

    assert cell_steps(lab, ALL)[0, 0] == pytest.approx(expected, rel=1e-4)


def test_a_chroma_step_among_vivid_colours_counts_less() -> None:
    # CIE94 divides chroma differences by 1 + 0.045 C: CIE 116-1995
    lab = np.zeros((8, 8, 3), dtype=np.float32)
    lab[..., 0], lab[..., 1] = 50.0, 60.0 + (checks(1, 3.7, 8) - 50.0)

    assert cell_steps(lab, ALL)[0, 0] == pytest.approx(3.7 / (1.0 + 0.045 * 60.0), rel=1e-4)


def test_a_step_filter_answers_best_at_the_frequency_named() -> None:
    from firstsheet.engine.loss.regions import separation

    x = np.linspace(0.01, 3.0, 30_000)
    best = x[np.argmax(np.sin(x) ** 2 / x)]

    assert pytest.approx(2.0 * best / np.pi, abs=5e-4) == separation._CYCLES_PER_STEP


@pytest.mark.published
def test_weights_are_the_printed_sensitivities() -> None:
    # 8, 4 and 2 cycles/degree: 0.98078, 0.81053, 0.52797; peak 0.980878 (Mannos, Sakrison 1974)
    per_degree_mm = 500.0 * np.pi / 180.0
    mm_per_px = 0.742 / (2.0 * 8.0 / per_degree_mm)
    scales = eye_scales(mm_per_px=mm_per_px, distance_mm=500.0, long_side_px=1500)

    assert scales.shrink == 1
    assert scales.weights == pytest.approx(
        (0.98078 / 0.980878, 0.81053 / 0.980878, 0.52797 / 0.980878), abs=2e-5
    )


def test_from_farther_away_finer_pixels_are_averaged_first() -> None:
    shrink = [
        eye_scales(mm_per_px=0.2, distance_mm=mm, long_side_px=1500).shrink
        for mm in (300.0, 1000.0, 2000.0, 4000.0, 50_000.0)
    ]

    assert shrink[0] == 1
    assert shrink == sorted(shrink)
    assert shrink[-1] == 4  # 375 px; 187 would be too few to tell a place


def test_close_to_a_large_print_the_finest_scale_is_told() -> None:
    scales = eye_scales(mm_per_px=1.0, distance_mm=300.0, long_side_px=1500)

    assert scales.shrink == 1
    assert scales.finest_mm == pytest.approx(2.0 / 0.742)


def test_impossible_distances_are_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        eye_scales(mm_per_px=0.2, distance_mm=0.0, long_side_px=1500)


def test_shrinking_averages_and_fills_whole_cells() -> None:
    picture = np.arange(6 * 10 * 3, dtype=np.float64).reshape(6, 10, 3)
    small = shrunk(picture, 2)

    assert small.shape == (8, 8, 3)
    assert small[0, 0] == pytest.approx(picture[:2, :2].mean(axis=(0, 1)))
    assert small[-1, -1] == pytest.approx(picture[-1, -1])
    assert cell_means(small).shape == (1, 1, 3)
    assert cell_means(small[..., 0]).shape == (1, 1)
