"""The reference that puts fields on pictures, against another library and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from firstsheet.engine.loss.repair.grid import apply_fields, grid_nodes, mask_over, shift_at
from firstsheet.engine.loss.repair.record import RepairField


def colours(count: int = 400) -> np.ndarray:
    random = np.random.default_rng(3)
    return random.uniform([0.0, -128.0, -128.0], [100.0, 128.0, 128.0], (count, 3))


def test_a_shift_between_nodes_is_what_another_library_interpolates() -> None:
    interpolate = pytest.importorskip("scipy.interpolate")
    shift = np.random.default_rng(5).normal(0.0, 5.0, (9, 9, 9, 3)).astype(np.float32)
    axes = (np.linspace(0, 100, 9), np.linspace(-128, 128, 9), np.linspace(-128, 128, 9))
    expected = interpolate.RegularGridInterpolator(axes, shift.astype(np.float64))(colours())

    assert_allclose(shift_at(shift, colours()), expected, atol=1e-9)


def test_a_shift_is_exact_at_the_nodes_and_held_beyond_the_grid() -> None:
    shift = np.random.default_rng(6).normal(0.0, 5.0, (5, 5, 5, 3))

    assert_allclose(shift_at(shift, grid_nodes(5)), shift, atol=1e-12)
    assert_allclose(shift_at(shift, np.array([120.0, 0.0, 140.0])), shift[4, 2, 4], atol=1e-12)


def test_a_mask_is_read_at_the_centres_of_its_samples() -> None:
    mask = np.array([[0.0, 1.0]])

    assert_allclose(mask_over(mask, (1, 4)), [[0.0, 0.25, 0.75, 1.0]])


def test_a_part_of_a_picture_takes_the_same_mask_as_the_whole() -> None:
    mask = np.random.default_rng(7).uniform(0.0, 1.0, (5, 6))
    whole = mask_over(mask, (40, 60))

    assert_allclose(mask_over(mask, (10, 30), (0.5, 0.25, 1.0, 0.5)), whole[10:20, 30:], atol=1e-12)


def test_fields_act_one_after_another_and_leave_the_picture_given_alone() -> None:
    lighter = RepairField(np.full((2, 2, 2, 3), (10.0, 0.0, 0.0), np.float32), None)
    nodes = np.zeros((2, 2, 2, 3), np.float32)
    nodes[1] = (0.0, 20.0, 0.0)  # red with lightness
    redder = RepairField(nodes, np.array([[0.0, 1.0]], np.float32))
    picture = np.full((1, 2, 3), (40.0, 0.0, 0.0))
    changed = apply_fields(picture, [lighter, redder])

    assert_allclose(changed[0], [[50.0, 0.0, 0.0], [50.0, 10.0, 0.0]])
    assert_allclose(picture, np.full((1, 2, 3), (40.0, 0.0, 0.0)))
