"""Bare paper, paper black and melting edges, on pictures whose areas and lengths are known."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.regions.ends import (
    at_black,
    at_paper_white,
    edge_melt,
    largest_area_mm2,
)


def picture(height: int = 40, width: int = 60) -> np.ndarray:
    lab = np.zeros((height, width, 3))
    lab[..., 0] = 50.0
    return lab


def test_the_edge_that_melts_is_measured_on_each_side() -> None:
    lab = picture()
    lab[0, 10:50] = (99.5, 0.0, 0.0)
    lab[20:30, -1] = (98.5, 0.5, 0.5)
    lab[5, 5:20] = (100.0, 0.0, 0.0)  # inside: no edge
    edge = edge_melt(lab, 0.5)

    assert (edge.top_mm, edge.right_mm, edge.bottom_mm, edge.left_mm) == (20.0, 5.0, 0.0, 0.0)
    assert edge.total_mm == 25.0


def test_paper_white_means_within_two_of_bare_paper_and_no_candidate_is_passed_over() -> None:
    light, tint = np.meshgrid(np.linspace(93.0, 100.0, 71), np.linspace(-4.0, 4.0, 41))
    lab = np.stack([light, tint, 0.5 * tint], axis=-1)
    exact = delta_e_2000(lab, [100.0, 0.0, 0.0]) <= 2.0

    assert np.array_equal(at_paper_white(lab), exact)
    assert 0 < exact.sum() < exact.size


def test_black_is_what_prints_like_the_darkest() -> None:
    lab = picture(1, 3)
    lab[0, :, 0] = (16.9, 17.9, 18.0)

    assert at_black(lab, 16.9).tolist() == [[True, True, False]]


def test_the_largest_connected_area_is_in_square_millimetres() -> None:
    marks = np.zeros((100, 120), dtype=np.bool_)
    marks[10:30, 10:40] = True
    marks[50:90, 50:100] = True
    marks[0, ::2] = True

    assert largest_area_mm2(marks, 0.5) == 40 * 50 * 0.25
    assert largest_area_mm2(np.zeros((4, 4), dtype=np.bool_), 0.5) == 0.0


def test_on_a_large_picture_the_area_is_told_on_a_grid() -> None:
    marks = np.zeros((1000, 1500), dtype=np.bool_)
    marks[100:500, 200:1000] = True

    assert largest_area_mm2(marks, 0.2) == pytest.approx(400 * 800 * 0.04, rel=0.01)
