"""Lines round places on a picture, and a number in each: light with a dark rim.

Takes encoded sRGB pixels and outlines in shares of the picture; changes the pixels in place. The
look is that of the lines on the page, so that a place is found again: seen on any colour and
without colour vision, and thin, for the colours below are what matters.
Tests: tests/pixels/test_outlines.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.outline import Outline, Point
from firstsheet.pixels.lettering import draw_words

__all__ = ["draw_outlines"]

_RIM: Final = (1.9, 0.72)  # half width, units, and how dark it is
_LINE: Final = 0.75
_DISC: Final = (10.5, 0.70)  # radius, units, and how dark its rim is
_TYPE: Final = 12.5
_ROWS: Final = 256  # blended at a time

Bytes = NDArray[np.uint8]


def draw_outlines(
    pixels: Bytes,
    outlines: Sequence[Outline],
    *,
    left_px: int,
    top_px: int,
    size_px: tuple[int, int],
    unit_px: float,
) -> None:
    """Draw all lines, then the numbers over them, from 1 in the order given.

    Parameters
    ----------
    pixels
        (H, W, 3), changed in place.
    left_px, top_px, size_px
        Where the picture lies in them; its width and height.
    unit_px
        The length the widths are told in; 1 draws as the page does.
    """
    if not outlines:
        return
    width, height = size_px
    reach = _RIM[0] * unit_px + 1.0
    away = np.full((height, width), reach, dtype=np.float32)
    for one in outlines:
        for loop in one.loops:
            for start, end in _segments(loop, size_px):
                _nearer(away, start, end, reach)
    place = pixels[top_px : top_px + height, left_px : left_px + width]
    for top in range(0, height, _ROWS):
        part = away[top : top + _ROWS]
        rim = _RIM[1] * _cover(_RIM[0] * unit_px - part)
        _blend(place[top : top + _ROWS], rim, 0.0)
        _blend(place[top : top + _ROWS], _cover(_LINE * unit_px - part), 255.0)
    for number, one in enumerate(outlines, start=1):
        x, y = left_px + one.number_at[0] * width, top_px + one.number_at[1] * height
        _disc(pixels, x, y, unit_px)
        size = _TYPE * unit_px
        draw_words(
            pixels, str(number), round(x), round(y - 0.62 * size), size, (10, 10, 10),
            align="middle",
        )  # fmt: skip


def _segments(
    loop: Sequence[Point], size_px: tuple[int, int]
) -> Iterator[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Straight pieces of a closed line, pixels."""
    places = np.asarray(loop, dtype=np.float64) * size_px
    return zip(places, np.roll(places, -1, axis=0), strict=True)


def _nearer(away: NDArray[np.float32], start: Any, end: Any, reach: float) -> None:
    """Lower the distances about one piece, pixel centres at halves."""
    high, wide = away.shape
    left, top = np.floor(np.minimum(start, end) - reach).astype(int)
    right, bottom = np.ceil(np.maximum(start, end) + reach).astype(int)
    left, top, right, bottom = max(left, 0), max(top, 0), min(right, wide), min(bottom, high)
    if left >= right or top >= bottom:
        return
    along = end - start
    length = max(float(along @ along), 1e-12)
    x = np.arange(left, right) + 0.5 - start[0]
    y = (np.arange(top, bottom) + 0.5 - start[1])[:, None]
    share = np.clip((x * along[0] + y * along[1]) / length, 0.0, 1.0)
    here = away[top:bottom, left:right]
    np.minimum(here, np.hypot(x - share * along[0], y - share * along[1]), out=here)


def _cover(inside: NDArray[Any]) -> NDArray[Any]:
    """How much of a pixel is covered whose centre lies so far within an edge."""
    return np.clip(inside + 0.5, 0.0, 1.0)


def _blend(place: Bytes, share: NDArray[Any], grey: float) -> None:
    covered = share > 0.0
    under = place[covered].astype(np.float64)
    place[covered] = np.rint(under + (grey - under) * share[covered][:, None])


def _disc(pixels: Bytes, x: float, y: float, unit_px: float) -> None:
    """A white disc with a dark rim."""
    radius = _DISC[0] * unit_px
    left, top = max(0, int(x - radius) - 2), max(0, int(y - radius) - 2)
    part = pixels[top : int(y + radius) + 3, left : int(x + radius) + 3]
    rows, columns = np.arange(part.shape[0]), np.arange(part.shape[1])
    away = np.hypot(columns + left + 0.5 - x, (rows + top + 0.5 - y)[:, None])
    _blend(part, _cover(radius - away), 255.0)
    _blend(part, _DISC[1] * _cover(0.5 * unit_px - np.abs(away - radius)), 0.0)
