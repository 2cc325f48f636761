"""Connected areas, held against scipy's own labelling."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from firstsheet.engine.connected import connected


@pytest.mark.parametrize("share", [0.1, 0.4, 0.55, 0.6, 0.9])
def test_random_marks_fall_into_the_same_areas(share: float) -> None:
    marks = np.random.default_rng(5).random((60, 90)) < share
    ours = connected(marks)
    theirs, count = ndimage.label(marks)

    assert ours.max() == count
    pairs = {(int(a), int(b)) for a, b in zip(ours.ravel(), theirs.ravel(), strict=True)}
    assert len(pairs) == count + 1


def test_a_long_snake_is_one_area() -> None:
    marks = np.zeros((41, 41), dtype=np.bool_)
    marks[::2] = True
    marks[1::4, -1] = True
    marks[3::4, 0] = True

    assert connected(marks).max() == 1


def test_neighbours_that_may_not_join_stay_apart() -> None:
    marks = np.ones((2, 3), dtype=np.bool_)
    beside = np.array([[True, False], [True, False]])

    assert connected(marks, beside).tolist() == [[1, 1, 2], [1, 1, 2]]
    assert connected(marks, beside, np.zeros((1, 3), dtype=np.bool_)).tolist() == [
        [1, 1, 2],
        [3, 3, 4],
    ]


def test_nothing_marked_is_no_area() -> None:
    assert connected(np.zeros((3, 4), dtype=np.bool_)).max() == 0
