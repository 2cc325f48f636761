"""The survey reads little, keeps the right tiles, and refuses nonsense."""

import numpy as np
import pytest
from scanmaker import ScanSpec, make_scan  # type: ignore[import-not-found]

from firstsheet.engine.detail.survey import BAND_PX, Plane, choose_tiles


def _of(plane: Plane) -> tuple[int, int]:
    return plane.shape[1], plane.shape[0]


def test_a_small_picture_is_read_whole_and_each_row_once() -> None:
    plane = make_scan(ScanSpec(size_px=256))
    asked: list[tuple[int, int]] = []

    def read(top: int, bottom: int, left: int, right: int) -> Plane:
        asked.append((top, bottom))
        return np.asarray(plane[top:bottom, left:right])

    survey = choose_tiles(*_of(plane), read)
    assert asked == [(0, 128), (128, 256)]
    assert survey.read_px == plane.size


def test_a_tall_picture_is_read_in_spread_bands_only() -> None:
    height, width = 9000, 200
    biggest, rows = 0, 0

    def read(top: int, bottom: int, left: int, right: int) -> Plane:
        nonlocal biggest, rows
        biggest, rows = max(biggest, bottom - top), rows + bottom - top
        return np.full((bottom - top, right - left), 50.0, np.float32)

    survey = choose_tiles(width, height, read)
    assert biggest == BAND_PX
    assert rows < 0.25 * height
    assert np.isnan(survey.row_bend).sum() > 0.7 * height


def test_even_tiles_come_from_the_even_part_and_edge_tiles_from_the_edge() -> None:
    rng = np.random.default_rng(3)
    plane = (50 + 8 * rng.standard_normal((512, 512))).astype(np.float32)
    plane[:, :256] = 50 + 0.3 * rng.standard_normal((512, 256)).astype(np.float32)
    plane[128:256, 320:] += 40
    survey = choose_tiles(512, 512, lambda t, b, le, r: plane[t:b, le:r])

    best = [tile for tile in survey.even_tiles if float(tile.lightness.std()) < 1.0]
    assert len(best) >= 8
    assert all(tile.left < 256 for tile in best)
    assert survey.busy_tiles[0].left >= 256
    assert all(
        np.array_equal(
            tile.lightness,
            plane[tile.top : tile.top + 64, tile.left : tile.left + 64],
        )
        for tile in survey.even_tiles
    )


def test_the_same_picture_gives_the_same_tiles() -> None:
    plane = make_scan(ScanSpec(size_px=320, seed=4))
    one, two = (choose_tiles(320, 320, lambda t, b, le, r: plane[t:b, le:r]) for _ in range(2))
    assert [(t.top, t.left) for t in one.edge_tiles] == [(t.top, t.left) for t in two.edge_tiles]


def test_a_reader_that_gives_another_shape_is_refused() -> None:
    with pytest.raises(ValueError, match="asked for"):
        choose_tiles(64, 64, lambda *_: np.zeros((3, 3), np.float32))


def test_a_picture_of_a_few_pixels_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 16"):
        choose_tiles(8, 64, lambda *_: np.zeros((64, 8), np.float32))


def test_strips_are_long_and_few_and_the_busiest() -> None:
    rng = np.random.default_rng(5)
    plane = np.full((128 * 12, 2048), 50.0, np.float32)
    plane[:, 1024:1536] += rng.standard_normal((128 * 12, 512)).astype(np.float32)
    survey = choose_tiles(2048, 128 * 12, lambda t, b, le, r: plane[t:b, le:r])

    assert len(survey.strips) == 12  # of 48
    assert {tile.left for tile in survey.strips} == {1024}
    assert all(tile.lightness.shape == (128, 512) for tile in survey.strips)
    assert all(
        np.array_equal(
            tile.lightness, plane[tile.top : tile.top + 128, tile.left : tile.left + 512]
        )
        for tile in survey.strips
    )
