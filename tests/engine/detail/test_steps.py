"""Steps of known height and length come back; noise and fine gradients are smooth."""

import numpy as np
import pytest
from scanmaker import ScanSpec, make_scan  # type: ignore[import-not-found]

from firstsheet.engine.detail.steps import step_facts
from firstsheet.engine.detail.survey import Tile, choose_tiles


def _tiles(plane: np.ndarray) -> tuple[Tile, ...]:
    height, width = plane.shape
    return choose_tiles(width, height, lambda t, b, le, r: plane[t:b, le:r]).even_tiles


@pytest.mark.parametrize("down", [False, True])
def test_a_staircase_gives_back_its_steps(down: bool) -> None:
    ramp = 40 + 0.9 * (np.arange(320) // 12)  # 12 px long, 0.9 L* high
    plane = np.tile(ramp, (320, 1)).astype(np.float32)
    facts = step_facts(_tiles(plane.T if down else plane))
    assert facts.told == "stepped"
    assert facts.step_l == pytest.approx(0.9, abs=0.01)
    assert facts.run_px == pytest.approx(12, abs=2.5)


def test_a_sixteen_bit_sky_is_smooth_and_a_coarse_one_stepped() -> None:
    assert step_facts(_tiles(make_scan(ScanSpec(scene="sky", grain=0.0)))).told == "smooth"
    coarse = step_facts(_tiles(make_scan(ScanSpec(scene="sky", grain=0.0, bits=6))))
    assert coarse.told == "stepped"
    assert coarse.step_l is not None
    assert 1.0 < coarse.step_l < 2.2  # 100 L* over 63 codes is 1.6


def test_grain_hides_the_steps_of_eight_bits() -> None:
    assert step_facts(_tiles(make_scan(ScanSpec(scene="sky", grain=0.02, bits=8)))).told == "smooth"


def test_a_flat_picture_has_no_gradient_to_judge() -> None:
    assert step_facts(_tiles(np.full((256, 256), 60.0, np.float32))).told == "cannot tell"
