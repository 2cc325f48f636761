"""The block grid is found where Pillow's JPEG put it, and nowhere else."""

import numpy as np
import pytest
from scanmaker import ScanSpec, make_scan  # type: ignore[import-not-found]

from firstsheet.engine.detail.jpegblocks import block_facts
from firstsheet.engine.detail.survey import choose_tiles
from firstsheet.engine.records.detail import BlockFacts


def _facts(plane: np.ndarray) -> BlockFacts:
    height, width = plane.shape
    return block_facts(choose_tiles(width, height, lambda t, b, le, r: plane[t:b, le:r]))


@pytest.mark.parametrize("quality", [95, 75, 40])
def test_a_saved_jpeg_shows_its_grid(quality: int) -> None:
    facts = _facts(make_scan(ScanSpec(seed=5, jpeg_quality=quality)))
    assert facts.told != "none"
    assert (facts.offset_x_px, facts.offset_y_px) == (0, 0)


def test_harder_compression_makes_higher_borders() -> None:
    heights = [
        _facts(make_scan(ScanSpec(seed=5, jpeg_quality=quality))).border_l or 0.0
        for quality in (95, 70, 30)
    ]
    assert heights == sorted(heights)
    assert heights[2] > 0.3


def test_a_crop_moves_the_grid() -> None:
    plane = make_scan(ScanSpec(seed=5, jpeg_quality=60))
    facts = _facts(plane[2:, 3:])
    assert (facts.offset_x_px, facts.offset_y_px) == (5, 6)


@pytest.mark.parametrize("seed", range(6))
def test_an_uncompressed_scan_shows_none(seed: int) -> None:
    scene = ("town", "texture", "sky")[seed % 3]
    facts = _facts(make_scan(ScanSpec(seed=seed, scene=scene, bits=8)))
    assert (facts.told, facts.border_l) == ("none", None)


def test_doubled_pixels_are_no_block_grid() -> None:
    rng = np.random.default_rng(1)
    small = 50 + 5 * rng.standard_normal((128, 128))
    assert _facts(small.repeat(2, 0).repeat(2, 1).astype(np.float32)).told == "none"
