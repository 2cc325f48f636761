"""Lines from edge to edge are found; edges, textures and short lines are not."""

import numpy as np
import pytest
from scanmaker import ScanSpec, blur, make_scan  # type: ignore[import-not-found]

from firstsheet.engine.detail.dust.streaks import Streak, StreakSums
from firstsheet.engine.detail.survey import Plane

HEIGHT, WIDTH = 1024, 800


def _lines(plane: Plane) -> tuple[Streak, ...]:
    sums = StreakSums(plane.shape[1], plane.shape[0])
    for top in range(0, plane.shape[0], 256):
        sums.add(plane[top : top + 256], top)
    return sums.lines()


def _plane(seed: int = 1) -> Plane:
    rng = np.random.default_rng(seed)
    plane = 40 + 20 * np.sin(np.arange(HEIGHT) / 90)[:, None] + np.zeros(WIDTH)
    plane[300:600, 200:500] = 15.0  # something stands in the way
    return (plane + 1.5 * rng.standard_normal(plane.shape)).astype(np.float32)


@pytest.mark.parametrize(("slope", "height"), [(0.0, 3.0), (0.006, -3.0), (-0.01, 5.0)])
def test_a_scratch_from_top_to_foot_is_found_where_it_lies(slope: float, height: float) -> None:
    plane = _plane()
    for y in range(HEIGHT):
        x = round(400 + slope * y)
        plane[y, x : x + 2] += height

    (line,) = _lines(plane)

    assert line.upright
    assert line.start_px == pytest.approx(400.5, abs=2.5)
    assert line.slope == pytest.approx(slope, abs=0.003)
    assert np.sign(line.height_l) == np.sign(height)
    assert abs(line.height_l) == pytest.approx(abs(height), rel=0.5)


def test_a_faint_streak_of_a_sensor_along_the_rows_is_found() -> None:
    plane = _plane()
    plane[511] += 2.0

    (line,) = _lines(plane)

    assert not line.upright
    assert line.start_px == pytest.approx(511, abs=1)


def test_a_picture_without_scratches_has_no_line() -> None:
    assert _lines(_plane()) == ()


def test_edges_and_short_lines_are_no_scratches() -> None:
    plane = _plane()
    plane[:, 650:] += 10.0
    plane[:500, 100:102] += 6.0

    assert _lines(plane) == ()


@pytest.mark.parametrize("scene", ["town", "texture", "sky"])
def test_made_scans_have_no_line(scene: str) -> None:
    assert _lines(make_scan(ScanSpec(seed=3, size_px=800, scene=scene))) == ()


def test_a_wall_of_joints_is_a_pattern_and_no_scratches() -> None:
    plane = _plane().astype(np.float64)
    plane[:, ::40] -= 8.0

    assert _lines(np.asarray(blur(plane, 0.7), np.float32)) == ()


def test_a_mast_whose_top_lies_in_the_picture_is_no_scratch() -> None:
    plane = _plane()
    plane[120:, 700:703] -= 6.0

    assert _lines(plane) == ()
