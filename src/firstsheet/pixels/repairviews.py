"""Repairs side by side: each place as meant, as it would print unrepaired, and repaired.

Takes places cut out of a proof, with words; gives one picture on an exact neutral grey, in the
proof's own space. Every pixel of a place is one of the proof's, a whole number of them, or the
mean of them. Theory: docs/theory/proof.md. Tests: tests/pixels/test_repairviews.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.pixels.lettering import draw_words, fold_words
from firstsheet.pixels.proof import TABLE_TOP

__all__ = ["RepairView", "fitted", "most_px", "repair_views"]

_MOST_PX: Final = 420  # along a side of a place
_MANY: Final = 8  # places from which on each is shown smaller, so that the picture stays bounded
_LEAST_PX: Final = 120
_COLUMN_PX: Final = 300  # at least, for the words below
_GAP_PX: Final = 18
_TYPE_PX: Final = 17.0
_INK: Final = (65535 * 0.97,) * 3

Codes = NDArray[np.uint16]


@dataclass(frozen=True, eq=False)
class RepairView:
    """One repair: words above, three pictures of one size, words below each, a sentence."""

    title: str
    pictures: tuple[Codes, Codes, Codes]  # (h, w, 3), encoded: meant, unrepaired, repaired
    captions: tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]  # lines
    sentence: str


def most_px(count: int) -> int:
    """How long a side of each of so many places may be."""
    return max(_LEAST_PX, _MOST_PX * _MANY // max(count, _MANY))


def fitted(lab: NDArray[Any], longest_px: int) -> NDArray[Any]:
    """A place in the size it is shown: each pixel several times over, or means of blocks.

    Parameters
    ----------
    lab
        (h, w, 3).
    longest_px
        Of a side.
    """
    height, width = lab.shape[:2]
    longest = max(height, width)
    if longest <= longest_px:
        times = longest_px // longest
        return np.repeat(np.repeat(lab, times, 0), times, 1)
    step = -(-longest // longest_px)
    down, across = (max(1, side // step) for side in (height, width))
    part = lab[: down * step, : across * step]
    block = part.reshape(down, part.shape[0] // down, across, part.shape[1] // across, 3)
    means: NDArray[Any] = block.mean(axis=(1, 3))
    return means


def repair_views(views: Sequence[RepairView], *, words: Sequence[str]) -> Codes:
    """Set the repairs one below the other.

    Parameters
    ----------
    words
        Sentences above them all.

    Returns
    -------
    NDArray
        (H, W, 3) uint16 in the space of the views.
    """
    column = max(_COLUMN_PX, *(one.pictures[0].shape[1] for one in views))
    inner = 3 * column + 2 * _GAP_PX
    around = 36
    line = math.ceil(1.45 * _TYPE_PX)
    small = 0.86 * _TYPE_PX
    head = [part for one in words for part in fold_words(one, _TYPE_PX, inner)]
    heights = [_height(one, column, inner, line, small) for one in views]
    total = 2 * around + line * len(head) + sum(heights)
    out = np.full((total, inner + 2 * around, 3), round(TABLE_TOP * 65535), np.uint16)
    y = around
    for part in head:
        draw_words(out, part, around, y, _TYPE_PX, _INK)
        y += line
    for one, height in zip(views, heights, strict=True):
        _draw(out, one, around, y + line, column, inner, line, small)
        y += height
    return out


def _height(view: RepairView, column: int, inner: int, line: int, small: float) -> int:
    captions = max(len(_folded(one, small, column)) for one in view.captions)
    sentence = len(fold_words(view.sentence, small, inner))
    title = len(fold_words(view.title, 1.15 * _TYPE_PX, inner))
    rows = title + captions + sentence
    picture_px: int = view.pictures[0].shape[0]
    return line + line * rows + picture_px + line


def _folded(lines: Sequence[str], size_px: float, width_px: int) -> list[str]:
    return [part for one in lines for part in fold_words(one, size_px, width_px)]


def _draw(
    out: Codes,
    view: RepairView,
    left: int,
    top: int,
    column: int,
    inner: int,
    line: int,
    small: float,
) -> None:
    y = top
    for part in fold_words(view.title, 1.15 * _TYPE_PX, inner):
        draw_words(out, part, left, y, 1.15 * _TYPE_PX, _INK)
        y += line
    y += line // 4
    below = 0
    for at, (picture, caption) in enumerate(zip(view.pictures, view.captions, strict=True)):
        x = left + at * (column + _GAP_PX)
        height, width = picture.shape[:2]
        out[y : y + height, x : x + width] = picture
        lines = _folded(caption, small, column)
        for row, part in enumerate(lines):
            draw_words(out, part, x, y + height + line // 4 + row * line, small, _INK)
        below = max(below, len(lines))
    y += view.pictures[0].shape[0] + line // 4 + line * below
    for part in fold_words(view.sentence, small, inner):
        draw_words(out, part, left, y, small, _INK)
        y += line
