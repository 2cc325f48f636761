"""What comes in company, is touched, or fades is drawing; the same thing alone is marked.

Truth: things drawn here on an even, grainy ground, and pictures of riggingmaker.py.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from riggingmaker import make_rigging  # type: ignore[import-not-found]
from scanmaker import blur, decode  # type: ignore[import-not-found]

from firstsheet.engine.colour.lab import y_to_lightness
from firstsheet.engine.detail.dust.search import find_dust
from firstsheet.engine.records.detail import Mark

Floats = NDArray[np.float64]
SIZE = 512


def _marks(encoded: Floats) -> tuple[Mark, ...]:
    rng = np.random.default_rng(3)
    grainy = blur(encoded, 0.7) + 0.004 * rng.standard_normal(encoded.shape)
    light = np.asarray(y_to_lightness(decode(grainy)), dtype=np.float32)

    def read(top: int, bottom: int, left: int, right: int) -> NDArray[np.float32]:
        return light[top:bottom, left:right]

    return find_dust(light.shape[1], light.shape[0], read).marks


def _ground() -> Floats:
    return np.full((SIZE, SIZE), 0.6)


def _draw(encoded: Floats, points: Floats, tone: Floats | float, width_px: float = 2.2) -> None:
    for (y, x), value in zip(points, np.broadcast_to(tone, len(points)), strict=True):
        top, left = max(0, int(y - width_px)), max(0, int(x - width_px))
        here = encoded[top : int(y + width_px) + 2, left : int(x + width_px) + 2]
        rows, columns = np.indices(here.shape)
        here[(rows + top - y) ** 2 + (columns + left - x) ** 2 <= (width_px / 2) ** 2] = value


def _arc(length_px: float, middle: tuple[float, float] = (256.0, 256.0)) -> Floats:
    t = np.linspace(-0.5, 0.5, int(3 * length_px))
    return np.stack([middle[0] + 25 * t**2, middle[1] + length_px * t], axis=1)


def test_a_hair_that_ends_where_it_ends_is_marked_and_one_that_fades_is_not() -> None:
    whole, fading = _ground(), _ground()
    course = _arc(80)
    _draw(whole, course, 0.2)
    _draw(fading, course, np.linspace(0.2, 0.58, len(course)))

    assert [mark.kind for mark in _marks(whole)] in (["hair"], ["line"])
    assert _marks(fading) == ()


def test_one_speck_is_marked_and_a_row_of_rivets_is_not() -> None:
    one, row = _ground(), _ground()
    _draw(one, np.array([[250.0, 250.0]]), 0.2, 4.5)
    _draw(row, np.array([[250.0 + 12 * n, 180.0 + 62 * n] for n in range(3)]), 0.2, 4.5)

    assert len(_marks(one)) == 1
    assert _marks(row) == ()


@pytest.mark.parametrize("mast", [0.52, 0.3])
def test_a_lamp_at_the_top_of_a_mast_is_not_marked(mast: float) -> None:
    encoded = _ground()
    encoded[250:, 250:256] = mast
    _draw(encoded, np.array([[248.0, 252.5]]), 0.97, 8.0)

    assert _marks(encoded) == ()


def test_a_piece_of_rope_among_ropes_is_not_marked() -> None:
    encoded = _ground()
    _draw(encoded, _arc(40), 0.2)
    for start, end in ((60, 0), (420, 511), (330, 350), (170, 150)):
        along = np.linspace(0, 1, 512)[:, None]
        _draw(encoded, np.array([[start, 0.0]]) * (1 - along) + along * [[end, 511.0]], 0.25)

    assert _marks(encoded) == ()


def test_a_seam_beside_seams_is_not_marked() -> None:
    encoded = _ground()
    for place in (180.0, 256.0, 330.0):
        _draw(encoded, _arc(70, (place, 256.0)), 0.35)

    assert _marks(encoded) == ()


@pytest.mark.slow
def test_pictures_full_of_rigging_seams_and_ripples_get_hardly_a_mark() -> None:
    found = [
        mark
        for seed in range(6000, 6020)
        for mark in _marks(make_rigging(seed, 512))
        if mark.kind != "line from edge to edge"  # a rope may truly run from edge to edge
    ]

    assert len(found) <= 6  # 20 pictures; without these criteria 60 and more
