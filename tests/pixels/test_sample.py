"""Codes on a grid, taken while the rows of a sheet go by in any order, from any thread."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.engine.streams import Rows
from firstsheet.pixels.sample import SAMPLE_SIDE, SamplingSink, sample_places


class Kept:
    """Takes rows and keeps copies of them."""

    def __init__(self) -> None:
        self.rows: dict[int, Rows] = {}

    def write(self, top: int, rows: Rows) -> None:
        self.rows[top] = rows.copy()


def sheet(dtype: type) -> NDArray[Any]:
    rng = np.random.default_rng(3)
    return rng.integers(0, np.iinfo(dtype).max, (90, 120, 3)).astype(dtype)


def test_the_middles_of_equal_stretches_are_taken() -> None:
    places = sample_places(10, 64)

    assert list(places[:3]) == [11, 13, 15]  # 10 + 64/32 × (1/2, 3/2, 5/2)
    assert len(places) == SAMPLE_SIDE
    assert places[-1] == 73


def test_rows_in_any_order_give_the_same_codes_and_go_on_unchanged() -> None:
    whole = sheet(np.uint16)
    next_sink = Kept()
    sink = SamplingSink(next_sink, left=20, top=10, width=80, height=70)
    tops = list(range(0, 90, 9))
    np.random.default_rng(5).shuffle(tops)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda top: sink.write(top, whole[top : top + 9]), tops))

    codes = sink.codes()
    assert codes.shape == (SAMPLE_SIDE, SAMPLE_SIDE, 3)
    assert (codes[0, 0] == whole[11, 21]).all()  # 10 + 70/64 and 20 + 80/64, rounded down
    assert (codes[31, 31] == whole[78, 98]).all()  # 10 + 70 × 63/64, 20 + 80 × 63/64
    assert (np.concatenate([next_sink.rows[top] for top in sorted(tops)]) == whole).all()


def test_a_buffer_that_is_used_again_does_no_harm() -> None:
    whole = sheet(np.uint16)
    sink = SamplingSink(None, left=0, top=0, width=120, height=90)
    buffer = np.empty((9, 120, 3), np.uint16)
    for top in range(0, 90, 9):
        buffer[:] = whole[top : top + 9]
        sink.write(top, buffer)

    assert (sink.codes()[5, 7] == whole[15, 28]).all()  # 90 × 5.5/32, 120 × 7.5/32


def test_eight_bit_codes_are_widened_so_that_white_stays_white() -> None:
    sink = SamplingSink(None, left=0, top=0, width=40, height=40)
    sink.write(0, np.full((40, 40, 3), 255, np.uint8))

    assert (sink.codes() == 65535).all()


def test_a_picture_smaller_than_the_grid_repeats_its_pixels() -> None:
    sink = SamplingSink(None, left=2, top=3, width=4, height=5)
    whole = sheet(np.uint16)
    sink.write(0, whole)

    assert (sink.codes()[0, 0] == whole[3, 2]).all()
    assert (sink.codes()[-1, -1] == whole[7, 5]).all()


def test_no_row_of_the_picture_is_told() -> None:
    with pytest.raises(ValueError, match="no row"):
        SamplingSink(None, 0, 0, 10, 10).codes()
