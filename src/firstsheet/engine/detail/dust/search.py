"""Dust, hairs and scratches: candidates, each with its place, size and confidence.

Takes the picture's size and a reader of lightness; gives DustFacts. Candidates are marked for
the eye to judge; nothing is ever removed. What could as well be drawing (stars and lamps on dark
ground, whatever goes on into drawing, what stands in a crowd of its like) is left out, and where
the picture is too busy to tell, that share is stated.
Theory: docs/theory/dust.md. Tests: tests/engine/detail/test_dust.py.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.dust.cells import CELL_PX, Outstanding, outstanding
from firstsheet.engine.detail.dust.company import Kin
from firstsheet.engine.detail.dust.evidence import MARGIN_PX, look_closely
from firstsheet.engine.detail.dust.shapes import Shape, shapes
from firstsheet.engine.detail.dust.streaks import Streak
from firstsheet.engine.detail.dust.wide import WIDE_PX, look_widely
from firstsheet.engine.detail.survey import Read
from firstsheet.engine.records.detail import DustFacts, Mark, MarkKind

__all__ = ["KEPT_MARKS", "find_dust"]


KEPT_MARKS: Final = 60  # the worst are kept
_LEAST_PIXELS: Final = 5
_GRAIN_ROW: Final = 14  # pixels that a long speck must have
_LARGEST_SPECK: Final = 1 / 60  # of the shorter side; larger things are things
_LONGEST: Final = 1 / 5  # of the shorter side
_STRAIGHT: Final = 1.6  # widths by which a straight line may leave its own course
_WIDEST_LINE_PX: Final = 6.5
_SHARP: Final = 0.17  # of the height, between neighbouring pixels
_SOFT_PX: Final = 3.2
_NIGHT_L: Final = 45.0  # ground below which a bright speck may be a star, a lamp, a glint
_CROWD_PX: Final = 160.0
_CROWD: Final = 4  # alike ones as near as that: a pattern, letters, birds
_ALONE: Final = 0.1  # share of the likely that must stay, or all of them are drawing
_LEAST_OPEN: Final = 0.02  # share of the picture
_SURE: Final = 0.5


def find_dust(width: int, height: int, read: Read) -> DustFacts:
    """Look through the whole picture once, in full-width bands from top to bottom.

    Raises
    ------
    ValueError
        If the reader gives another shape than asked.
    """
    if min(width, height) < 8 * CELL_PX:
        return DustFacts(marks=(), count=0, looked_percent=0.0, left_out=0, told="cannot tell")
    return _judged(outstanding(width, height, read), width, height, read)


def _judged(found: Outstanding, width: int, height: int, read: Read) -> DustFacts:
    """Weigh what stands out, and look again, closely, at what may be dust."""
    open_share = float(found.open_cells.mean()) if found.open_cells.size else 0.0
    lines = [_streak_mark(one, width, height) for one in found.streaks.lines()]
    seen = [] if found.overflowed else shapes(found, width, height)
    likely = [one for one in seen if _dust_like(one, min(width, height))]
    alone = _closely(_not_in_crowds(likely), width, height, read)
    pattern = len(likely) >= 40 and len(alone) < _ALONE * len(likely)
    kin = Kin(seen)
    free = [] if pattern else [closer for one, closer in alone if not kin.has(one)]
    marks = [_mark(one) for one in _widely(free, likely, width, height, read)]
    marks = [one for one in marks if one.confidence >= _SURE and not _on_a_line(one, lines)]
    marks = sorted(lines + marks, key=_weight, reverse=True)
    unable = found.overflowed or open_share < _LEAST_OPEN or pattern
    return DustFacts(
        marks=tuple(marks[:KEPT_MARKS]),
        count=len(marks),
        looked_percent=round(100.0 * open_share, 1),
        left_out=len(seen) - (len(marks) - len(lines)),
        told="found" if marks else "cannot tell" if unable else "none",
    )


def _dust_like(shape: Shape, side: int) -> bool:
    """Alone in even surroundings, small, sharp, and no star."""
    if shape.attached or shape.pixels < _LEAST_PIXELS:
        return False
    if shape.sharpness < _SHARP or shape.softness_px > _SOFT_PX:
        return False
    if shape.is_long:
        return shape.length_px <= _LONGEST * side and shape.width_px <= _WIDEST_LINE_PX
    if shape.slim and shape.pixels < _GRAIN_ROW:
        return False
    if shape.height_l > 0 and shape.ground_l < _NIGHT_L:
        return False
    return shape.length_px <= max(_LARGEST_SPECK * side, 2.0 * CELL_PX)


def _not_in_crowds(likely: list[Shape]) -> list[Shape]:
    """Those with few of the same sign and like size nearby."""
    if len(likely) <= _CROWD:
        return likely
    place = np.array([(one.y_px, one.x_px) for one in likely])
    size = np.array([one.length_px for one in likely])
    bright = np.array([one.height_l > 0 for one in likely])
    kept = []
    for number, one in enumerate(likely):
        near = np.abs(place - place[number]).max(axis=1) <= max(_CROWD_PX, 4 * one.length_px)
        alike = (size > size[number] / 3) & (size < size[number] * 3) & (bright == bright[number])
        if int((near & alike).sum()) - 1 < _CROWD:
            kept.append(one)
    return kept


def _closely(likely: list[Shape], width: int, height: int, read: Read) -> list[tuple[Shape, Shape]]:
    """Those that stay candidates when their patches are read again, top to bottom.

    Each as it was seen, and with its height over the whole shape.
    """
    kept = []
    for shape in sorted(likely, key=lambda one: (one.top, one.left)):
        patch, left, top = _patch(shape, MARGIN_PX, width, height, read)
        looked = look_closely(patch, shape, left, top)
        if looked.stays:
            kept.append((shape, replace(shape, height_l=looked.height_l)))
    return kept


def _widely(
    alone: list[Shape], likely: list[Shape], width: int, height: int, read: Read
) -> list[Shape]:
    """Those that stay candidates in their wider surroundings, read top to bottom."""
    kept = []
    for shape in alone:
        patch, left, top = _patch(shape, WIDE_PX, width, height, read)
        if look_widely(patch, shape, left, top, likely).stays:
            kept.append(shape)
    return kept


def _patch(
    shape: Shape, margin_px: int, width: int, height: int, read: Read
) -> tuple[NDArray[np.float64], int, int]:
    """A shape with so much around it, and the place of its first pixel: left, top."""
    top, left = max(0, shape.top - margin_px), max(0, shape.left - margin_px)
    bottom, right = min(height, shape.bottom + margin_px), min(width, shape.right + margin_px)
    return np.asarray(read(top, bottom, left, right), dtype=np.float64), left, top


def _kind(shape: Shape) -> MarkKind:
    if not shape.is_long:
        return "bright speck" if shape.height_l > 0 else "dark speck"
    straight = shape.bend_px <= _STRAIGHT * shape.width_px + 1.0
    return "line" if straight else "hair"


def _mark(shape: Shape) -> Mark:
    kind = _kind(shape)
    return Mark(
        kind=kind,
        x_px=round(shape.x_px, 1),
        y_px=round(shape.y_px, 1),
        left_px=shape.left,
        top_px=shape.top,
        right_px=shape.right,
        bottom_px=shape.bottom,
        length_px=round(shape.length_px, 1),
        width_px=round(shape.width_px, 1),
        height_l=round(shape.height_l, 1),
        confidence=round(_confidence(shape, kind), 2),
    )


def _confidence(shape: Shape, kind: MarkKind) -> float:
    """More for what is long, high and sharp; a speck alone may always be of the scene."""
    least, most = {"hair": (0.6, 0.95), "line": (0.5, 0.9)}.get(kind, (0.35, 0.8))
    high = 1.0 - math.exp(-(shape.times_limit - 1.0) / 0.7)
    sharp = min(1.0, shape.sharpness / 0.45)
    return least + (most - least) * high * sharp


def _streak_mark(streak: Streak, width: int, height: int) -> Mark:
    """A line from edge to edge as a mark."""
    along = height if streak.upright else width
    end = streak.start_px + streak.slope * along
    low, high = sorted((streak.start_px, end))
    middle = 0.5 * (low + high) + 0.5
    across = (math.floor(low), math.ceil(high) + 1)
    x, y = (across, (0, height)) if streak.upright else ((0, width), across)
    return Mark(
        kind="line from edge to edge",
        x_px=round(middle if streak.upright else width / 2, 1),
        y_px=round(height / 2 if streak.upright else middle, 1),
        left_px=x[0],
        top_px=y[0],
        right_px=x[1],
        bottom_px=y[1],
        length_px=float(along),
        width_px=2.0,
        height_l=round(streak.height_l, 1),
        confidence=round(0.5 + 0.45 * min(1.0, (streak.held - 0.8) / 0.15), 2),
    )


def _on_a_line(mark: Mark, lines: list[Mark]) -> bool:
    """True where a mark is a piece of a line from edge to edge."""
    return any(
        line.left_px - 3 <= mark.x_px <= line.right_px + 3
        and line.top_px - 3 <= mark.y_px <= line.bottom_px + 3
        for line in lines
    )


def _weight(mark: Mark) -> float:
    """How much a mark will disturb: its height over the eye's size of it."""
    return abs(mark.height_l) * math.sqrt(mark.length_px * mark.width_px) * mark.confidence
