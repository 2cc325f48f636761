"""Has a shape its like among the others: a row of equal specks, lines that run alongside?

Takes the shapes that stand out, also those that are no candidates; says which have kin. Eyelets,
rivets and beads come in rows at equal distances, seams and stays side by side; dust does neither.
Theory: docs/theory/dust.md. Tests: tests/engine/detail/test_dustkin.py.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.dust.shapes import Shape

__all__ = ["Kin", "row_of_equals"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

_ROW_PX: Final = 110.0  # from one to the next of a row, at most
_TOUCHING_PX: Final = 8.0  # nearer ones are pieces of one thing
_SPECK_PX: Final = 30.0  # longest that may stand in a row
_ROW_SLIP: Final = (2.0, 0.05)  # px, and share of the step, by which a place in a row may be off
_ALIKE: Final = 0.5  # least ratio of heights, and of lengths, within a row
_ROW_STEPS: Final = (-1, 2, -2, 3)  # where another of the row would stand, in steps
_LONG_PX: Final = 12.0
_LONG: Final = 3.0  # times its width from which a direction means something
_BESIDE_PX: Final = 130.0  # gap within which lines are neighbours
_PARALLEL: Final = math.radians(5.0)
_BENT: Final = math.radians(20.0)  # for lines that follow each other
_OFF_COURSE: Final = 0.25  # of the distance, by which the next may lie beside the course
_AS_STRONG: Final = 0.25  # least ratio of heights of lines side by side


class Kin:
    """All shapes of a picture, to ask each about the others."""

    def __init__(self, shapes: list[Shape]) -> None:
        rows = [
            (one.x_px, one.y_px, one.left, one.right, one.top, one.bottom,
             one.length_px, one.width_px, one.lean_rad, one.height_l)
            for one in shapes
        ]  # fmt: skip
        columns = np.array(rows, dtype=np.float64).reshape(-1, 10).T
        self._x, self._y, self._left, self._right, self._top, self._bottom = columns[:6]
        self._length, self._width, self._lean, self._height = columns[6:]

    def has(self, shape: Shape) -> bool:
        """True where a shape stands in a row of its like, or lines run beside it."""
        return self._in_a_row(shape) or self._beside_lines(shape)

    def _others(self, shape: Shape, alike: float) -> Mask:
        """Everything but the shape itself that stands out about as much."""
        ratio = np.abs(self._height) / abs(shape.height_l)
        same = (self._left == shape.left) & (self._top == shape.top)
        return np.asarray((ratio > alike) & (ratio < 1.0 / alike) & ~same)

    def _in_a_row(self, shape: Shape) -> bool:
        """True where two more lie on one line with it, at whole steps of one distance."""
        if shape.length_px >= _SPECK_PX:
            return False
        ratio = self._length / shape.length_px
        chosen = self._others(shape, _ALIKE) & (self._length < _SPECK_PX)
        chosen &= (self._height > 0) == (shape.height_l > 0)
        chosen &= (ratio > _ALIKE) & (ratio < 1.0 / _ALIKE)
        dx, dy = self._x[chosen] - shape.x_px, self._y[chosen] - shape.y_px
        return row_of_equals(dx, dy)

    def _beside_lines(self, shape: Shape) -> bool:
        """True where a long shape has another long one of its own direction beside it."""
        if shape.length_px < max(_LONG_PX, _LONG * shape.width_px):
            return False
        chosen = self._others(shape, _AS_STRONG) & (self._length >= _LONG_PX)
        chosen &= self._length >= _LONG * self._width
        across = np.maximum(self._left - shape.right, shape.left - self._right)
        down = np.maximum(self._top - shape.bottom, shape.top - self._bottom)
        chosen &= np.maximum(across, down) < _BESIDE_PX
        turn = np.abs((self._lean - shape.lean_rad + math.pi / 2) % math.pi - math.pi / 2)
        return bool((chosen & (turn < _PARALLEL)).any()) or self._in_line(
            shape, chosen & (turn < _BENT)
        )

    def _in_line(self, shape: Shape, chosen: Mask) -> bool:
        """True where one of the chosen lies on a long shape's own course, like the next stitch."""
        dx, dy = self._x[chosen] - shape.x_px, self._y[chosen] - shape.y_px
        along = np.abs(dx * math.cos(shape.lean_rad) + dy * math.sin(shape.lean_rad))
        across = np.abs(dy * math.cos(shape.lean_rad) - dx * math.sin(shape.lean_rad))
        return bool((across < _OFF_COURSE * along).any())


def row_of_equals(dx_px: Floats, dy_px: Floats) -> bool:
    """Do two of these places lie on one line with the origin, at whole steps of one distance?"""
    far = np.hypot(dx_px, dy_px)
    within = far < max(map(abs, _ROW_STEPS)) * _ROW_PX
    dx, dy, far = dx_px[within], dy_px[within], far[within]
    for at in np.flatnonzero((far > _TOUCHING_PX) & (far < _ROW_PX)):
        slip = _ROW_SLIP[0] + _ROW_SLIP[1] * far[at]
        for step in _ROW_STEPS:
            off = np.hypot(dx - step * dx[at], dy - step * dy[at])
            if (off < slip * max(1.0, abs(step) / 1.5)).any():
                return True
    return False
