"""Lines round places: where they lie, what they leave alone, how they are numbered."""

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.outline import Outline
from firstsheet.pixels.lossmap import OUTLINES_WORDS, loss_picture
from firstsheet.pixels.outlines import draw_outlines

SQUARE = Outline(
    loops=(((0.25, 0.25), (0.75, 0.25), (0.75, 0.75), (0.25, 0.75)),), number_at=(0.5, 0.5)
)


def drawn(grey: int, unit_px: float = 1.0) -> NDArray[np.uint8]:
    pixels = np.full((220, 420, 3), grey, np.uint8)
    draw_outlines(pixels, [SQUARE], left_px=10, top_px=10, size_px=(400, 200), unit_px=unit_px)
    return pixels


@pytest.mark.parametrize("grey", [0, 128, 255])
def test_a_line_is_seen_on_any_ground(grey: int) -> None:
    row = drawn(grey)[80, 90:131, 0].astype(int)  # across the left side, at 110

    assert row.max() - row.min() > 120


def test_only_the_lines_and_the_number_change_pixels() -> None:
    changed = np.any(drawn(128) != 128, axis=-1)
    y, x = np.mgrid[:220, :420] + 0.5
    sides = (
        np.minimum(np.abs(x - 110), np.abs(x - 310)),
        np.minimum(np.abs(y - 60), np.abs(y - 160)),
    )
    near_line = ((sides[0] < 3.5) & (np.abs(y - 110) < 54)) | (
        (sides[1] < 3.5) & (np.abs(x - 210) < 104)
    )
    near_number = np.hypot(x - 210, y - 110) < 13

    assert changed.any()
    assert not changed[~(near_line | near_number)].any()
    assert changed[(np.abs(x - 110) < 1) & (np.abs(y - 110) < 45)].all()


def test_lines_are_as_wide_as_the_unit_asks() -> None:
    thin, wide = (int((drawn(255, unit)[80, 90:131, 0] < 250).sum()) for unit in (1.0, 2.0))

    assert 1.5 * thin <= wide <= 3 * thin


def test_the_map_keeps_its_colours_but_under_the_lines_and_says_what_they_are() -> None:
    values = np.full((300, 700), 5.0)
    bands = (0.0, 0.0, 0.0, 100.0, 0.0)
    plain, lined = (
        loss_picture(
            values, floor_de00=1.0, bands_percent=bands, title="Slipway", outlines=outlines
        )
        for outlines in ((), (SQUARE,))
    )
    where = slice(24, 324), slice(24, 724)
    same = (plain[where] == lined[where]).all(axis=-1)

    assert 0.95 < same.mean() < 0.999
    assert lined.shape[0] > plain.shape[0]  # a line more in the legend
    assert "number" in OUTLINES_WORDS


def test_a_place_at_the_edge_is_cut_off_there() -> None:
    edge = Outline(loops=(((0.0, 0.0), (0.1, 0.0), (0.1, 1.0), (0.0, 1.0)),), number_at=(0.0, 0.5))
    pixels = np.full((100, 100, 3), 128, np.uint8)
    draw_outlines(pixels, [edge], left_px=0, top_px=0, size_px=(100, 100), unit_px=1.0)

    assert (pixels[50, :8] == 255).any()
