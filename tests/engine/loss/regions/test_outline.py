"""Outlines of areas that were made, so that their size and shape are known."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.engine.loss.regions.outline import Outline, outline_of


def drawn(cells: np.ndarray) -> Outline:
    high, wide = cells.shape
    return outline_of(cells, cell_px=8, shape=(8 * high, 8 * wide))


def area(loop: tuple[tuple[float, float], ...]) -> float:
    """Shoelace formula, in shares of the whole."""
    x, y = np.array(loop).T
    return float(abs(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1))))


def inside(loop: tuple[tuple[float, float], ...], at: tuple[float, float]) -> bool:
    """Even-odd rule along a ray to the right."""
    odd = False
    for (x1, y1), (x2, y2) in zip(loop, (*loop[1:], loop[0]), strict=True):
        if (y1 > at[1]) != (y2 > at[1]) and at[0] < x1 + (at[1] - y1) / (y2 - y1) * (x2 - x1):
            odd = not odd
    return odd


def test_a_rectangle_is_drawn_as_large_as_it_is_but_for_its_cut_corners() -> None:
    cells = np.zeros((40, 60), dtype=bool)
    cells[10:30, 20:50] = True
    (loop,) = drawn(cells).loops

    assert area(loop) == pytest.approx(0.5 * 0.5, rel=0.01)
    assert min(x for x, _ in loop) == pytest.approx(20 / 60, abs=1e-4)
    assert max(y for _, y in loop) == pytest.approx(30 / 40, abs=1e-4)
    assert len(loop) <= 8


def test_a_disc_is_drawn_round_with_few_points() -> None:
    down, across = np.mgrid[:80, :80]
    cells = np.hypot(down - 39.5, across - 39.5) < 30.0
    (loop,) = drawn(cells).loops
    radii = [80 * np.hypot(x - 0.5, y - 0.5) for x, y in loop]

    assert area(loop) == pytest.approx(np.pi * 30.0**2 / 80**2, rel=0.03)
    assert max(radii) - min(radii) < 1.6
    assert len(loop) < 100  # of 240 edges of cells


def test_a_hole_is_a_line_of_its_own_and_the_number_stands_beside_it() -> None:
    cells = np.zeros((40, 40), dtype=bool)
    cells[4:36, 4:36] = True
    cells[14:26, 10:24] = False
    outline = drawn(cells)
    outer, hole = outline.loops

    assert area(hole) == pytest.approx(12 * 14 / 1600, rel=0.03)
    assert inside(outer, outline.number_at)
    assert not inside(hole, outline.number_at)


def test_pieces_are_drawn_apart_and_crumbs_left_out() -> None:
    cells = np.zeros((40, 40), dtype=bool)
    cells[2:20, 2:20] = True
    cells[24:36, 24:36] = True
    cells[2, 38] = True

    assert len(drawn(cells).loops) == 2


def test_areas_that_touch_at_a_corner_stay_apart() -> None:
    cells = np.zeros((20, 20), dtype=bool)
    cells[2:10, 2:10] = True
    cells[10:18, 10:18] = True
    first, second = drawn(cells).loops

    assert area(first) == pytest.approx(area(second))
    assert area(first) == pytest.approx(64 / 400, rel=0.03)


def test_the_last_cells_end_where_the_picture_ends() -> None:
    cells = np.ones((3, 3), dtype=bool)
    (loop,) = outline_of(cells, cell_px=8, shape=(20, 24)).loops

    assert max(y for _, y in loop) == 1.0
    assert max(x for x, _ in loop) == 1.0


def test_a_single_cell_still_has_a_line() -> None:
    cells = np.zeros((5, 5), dtype=bool)
    cells[2, 2] = True

    assert len(drawn(cells).loops[0]) == 4
