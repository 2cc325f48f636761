"""How far a print moves where it was not meant to, by scikit-image and by counting."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from firstsheet.engine.loss.repair.elsewhere import away_from, moved_de00


def test_a_cell_and_its_neighbours_are_no_part_of_the_rest() -> None:
    cells = np.zeros((4, 5), bool)
    cells[1, 1] = True

    rest = away_from(cells, 3, (11, 14))  # the last cells reach over the picture

    assert rest.shape == (11, 14)
    assert not rest[:9, :9].any()
    assert rest[9:].all()
    assert rest[:, 9:].all()


def test_mean_and_largest_are_those_of_another_library() -> None:
    rng = np.random.default_rng(8)
    before = np.stack([rng.uniform(10, 90, (20, 30)), *rng.uniform(-40, 40, (2, 20, 30))], -1)
    after = before.copy()
    after[:10] += rng.normal(0.0, 3.0, (10, 30, 3))
    where = np.ones((20, 30), bool)
    where[:, :5] = False

    mean, most = moved_de00(before, after, where)

    expected = deltaE_ciede2000(before, after)[where]
    assert mean == pytest.approx(expected.mean(), abs=1e-6)
    assert most == pytest.approx(expected.max(), abs=1e-6)


def test_what_does_not_move_is_no_change() -> None:
    still = np.full((8, 8, 3), 50.0)

    assert moved_de00(still, still + 0.001, np.ones((8, 8), bool)) == (0.0, 0.0)
