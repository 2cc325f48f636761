"""Marks on a small picture: a slender diamond around each place, its number beside it.

Takes encoded sRGB pixels and places; gives a new picture with margin and list. A mark never covers
what it marks; it is drawn dark and light, so that it shows on any ground and in any colour vision.
Tests: tests/pixels/test_marked.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from firstsheet.pixels.lettering import draw_words, fold_words

__all__ = ["PlaceLike", "marked_picture"]

Bytes = NDArray[np.uint8]

_SURROUND: Final = 119  # R = G = B
_INK: Final = (246, 246, 246)
_LIGHT: Final = (250, 250, 250)
_DARK: Final = (16, 16, 16)
_LEAST_PX: Final = 13.0  # from the middle of a mark to its corners
_LISTED: Final = 12
_LENGTHY: Final = 0.9  # of a side from which a place is marked at its ends only


class PlaceLike(Protocol):
    """What is needed of a place."""

    @property
    def number(self) -> int: ...
    @property
    def box_px(self) -> tuple[float, float, float, float]: ...
    @property
    def words(self) -> str: ...


def marked_picture(
    rgb: Bytes, places: Sequence[PlaceLike], *, scale: float, words: str, title: str
) -> Bytes:
    """Draw the marks, and the list of the worst below.

    Parameters
    ----------
    rgb
        (h, w, 3), encoded sRGB.
    places
        Worst first; their pixels are those of the whole picture.
    scale
        Pixels of `rgb` per pixel of the whole picture.
    words
        The sentence under the picture.
    """
    height, width = rgb.shape[:2]
    around = max(28, round(0.03 * max(height, width)))
    inner = max(width, 640)
    type_px = max(15.0, 0.013 * inner)
    lines = _lines(places, words, title, type_px, inner)
    line_px = math.ceil(1.5 * type_px)
    out = np.full(
        (2 * around + height + around // 2 + line_px * len(lines), inner + 2 * around, 3),
        _SURROUND, np.uint8,
    )  # fmt: skip
    left = around + (inner - width) // 2
    out[around : around + height, left : left + width] = rgb
    for place in reversed(places):  # the worst lies on top
        _draw(out, place, scale, (left, around), (width, height), type_px)
    top = around + height + around // 2
    for line in lines:
        draw_words(out, line, around, top, type_px, _INK)
        top += line_px
    return out


def _lines(
    places: Sequence[PlaceLike], words: str, title: str, type_px: float, width: int
) -> list[str]:
    lines = fold_words(f"{title}. {words}", type_px, width)
    for place in places[:_LISTED]:
        lines += fold_words(f"{place.number}  {place.words}", type_px, width)
    if len(places) > _LISTED:
        lines.append(f"and {len(places) - _LISTED} more, marked above")
    return lines


def _draw(
    out: Bytes,
    place: PlaceLike,
    scale: float,
    corner: tuple[int, int],
    size: tuple[int, int],
    type_px: float,
) -> None:
    """One mark with its number."""
    x0, y0, x1, y1 = (value * scale for value in place.box_px)
    x, y = corner[0] + 0.5 * (x0 + x1), corner[1] + 0.5 * (y0 + y1)
    left, top = corner
    if x1 - x0 > _LENGTHY * size[0] or y1 - y0 > _LENGTHY * size[1]:
        lying = x1 - x0 > y1 - y0
        ends = (
            [(left - 14.0, y), (left + size[0] + 14.0, y)]
            if lying
            else [(x, top - 14.0), (x, top + size[1] + 14.0)]
        )
        for end_x, end_y in ends:
            _diamond(out, end_x, end_y, 8.0)
        _number(out, place.number, ends[0][0], ends[0][1], 10.0, type_px)
        return
    reach = max(_LEAST_PX, 0.71 * math.hypot(x1 - x0, y1 - y0) + 7.0)
    _diamond(out, x, y, reach)
    _number(out, place.number, x, y, reach, type_px)


def _diamond(out: Bytes, x: float, y: float, reach: float) -> None:
    """Outline of a square that stands on its corner: dark, and light inside it."""
    bottom, right = min(out.shape[0], int(y + reach) + 4), min(out.shape[1], int(x + reach) + 4)
    top, left = max(0, int(y - reach) - 3), max(0, int(x - reach) - 3)
    py, px = np.mgrid[top:bottom, left:right]
    away = (np.abs(px + 0.5 - x) + np.abs(py + 0.5 - y)) / math.sqrt(2.0) - reach / math.sqrt(2.0)
    part = out[top:bottom, left:right]
    part[np.abs(away) <= 1.9] = _DARK
    part[np.abs(away + 0.4) <= 0.8] = _LIGHT


def _number(out: Bytes, number: int, x: float, y: float, reach: float, type_px: float) -> None:
    """The number at the upper right of the mark, light on its own dark shade."""
    left, top = int(x + 0.62 * reach) + 3, int(y - 0.62 * reach - type_px)
    for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        draw_words(out, str(number), left + dx, top + dy, type_px, _DARK)
    draw_words(out, str(number), left, top, type_px, _LIGHT)
