"""Looks at each shape again, closely: does it end, does it stand alone, is it sharp?

Takes a patch of lightness around a shape; says whether the shape stays a candidate. Shapes that
go on beyond their ends (rigging, joints, rims), that lie between two different levels (edges),
or that fade out slowly (clouds, things out of focus) are drawing.
Theory: docs/theory/dust.md. Tests: tests/engine/detail/test_dust.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.dust.shapes import Shape

__all__ = ["MARGIN_PX", "Closely", "body_of", "grown", "look_closely"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

MARGIN_PX: Final = 28  # around a shape that the patch must show, where the picture goes on
_NEAR_PX: Final = (5, 12)  # ring in which the surroundings must be back at their level
_STRIP_PX: Final = (3, 21)  # beyond each end, where nothing may go on
_FAN_DEGREES: Final = (-40.0, -20.0, 0.0, 20.0, 40.0)
_BACK: Final = 0.28  # of the height that may be left in the ring
_SIDES: Final = 0.30  # of the height by which parts of the ring may differ
_GOES_ON: Final = 0.22  # of the height in a strip beyond an end
_ERRORS: Final = 3.0  # standard errors that noise may add to each
_SECTORS: Final = 8


@dataclass(frozen=True, slots=True)
class Closely:
    """What the second look found."""

    stays: bool
    height_l: float  # mean over the whole shape, L*
    noise_l: float
    why_not: str = ""


def look_closely(patch: Floats, shape: Shape, left: int, top: int) -> Closely:
    """Judge a shape on its patch, whose first pixel lies at (left, top) of the picture."""
    sign = 1.0 if shape.height_l > 0 else -1.0
    off, body = body_of(patch, shape, left, top)
    near, far = grown(body, _NEAR_PX[0]), grown(body, _NEAR_PX[1])
    ring = far & ~near
    if body.sum() < 3 or ring.sum() < 40:
        return Closely(False, 0.0, 0.0, "no surroundings")
    around = off[ring]
    level = float(np.median(around))
    noise = 1.4826 * float(np.median(np.abs(around - level)))
    core = _eroded(body, 1)
    height = float(np.median(off[core if core.sum() >= 3 else body])) - level
    if height < max(2.5 * noise, 2.5):
        return Closely(False, height, noise, "not above the noise")
    close = grown(body, 6) & ~grown(body, 3)
    left_over = abs(float(off[close].mean()) - level)
    if left_over > _BACK * height + _ERRORS * noise / np.sqrt(close.sum() / 4.0):
        return Closely(False, height, noise, "fades slowly")
    if _differs(off, ring, body, height, noise):
        return Closely(False, height, noise, "between two levels")
    if _goes_on(off - level, body, height, noise):
        return Closely(False, height, noise, "goes on")
    return Closely(True, sign * height, noise)


def body_of(patch: Floats, shape: Shape, left: int, top: int) -> tuple[Floats, Mask]:
    """How far every pixel of a patch lies off the level, the shape's way, and the shape's own."""
    sign = 1.0 if shape.height_l > 0 else -1.0
    box = (
        slice(max(shape.top - top, 0), shape.bottom - top),
        slice(max(shape.left - left, 0), shape.right - left),
    )
    off = sign * (np.asarray(patch, dtype=np.float64) - shape.ground_l)
    body = np.zeros(off.shape, np.bool_)
    body[box] = off[box] >= 0.4 * abs(shape.height_l)
    return off, _eroded(grown(body, 2), 1)  # holes that grain tears are closed; the rim stays out


def grown(marks: Mask, by: int) -> Mask:
    """Mask and everything within so many pixels (squares and diamonds in turn)."""
    out = marks
    for step in range(by):
        wide = out.copy()
        wide[1:] |= out[:-1]
        wide[:-1] |= out[1:]
        before = wide.copy() if step % 2 else out
        wide[:, 1:] |= before[:, :-1]
        wide[:, :-1] |= before[:, 1:]
        out = wide
    return out


def _eroded(marks: Mask, by: int) -> Mask:
    return ~grown(~marks, by)


def _sectors(marks: Mask, body: Mask) -> NDArray[np.int64]:
    """Sector of each marked pixel, seen from the middle, along and across the body."""
    y, x = np.nonzero(body)
    middle_y, middle_x = y.mean(), x.mean()
    dy, dx = y - middle_y, x - middle_x
    lean = 0.5 * np.arctan2(2.0 * (dx * dy).sum(), (dx * dx).sum() - (dy * dy).sum())
    ry, rx = np.nonzero(marks)
    along = (rx - middle_x) * np.cos(lean) + (ry - middle_y) * np.sin(lean)
    across = -(rx - middle_x) * np.sin(lean) + (ry - middle_y) * np.cos(lean)
    reach = max(float(np.abs(along).max()), 1.0)
    part = np.clip(((along / reach + 1.0) * _SECTORS / 4.0).astype(int), 0, _SECTORS // 2 - 1)
    return np.asarray(part * 2 + (across > 0), dtype=np.int64)


def _differs(off: Floats, ring: Mask, body: Mask, height: float, noise: float) -> bool:
    """True where parts of the ring lie at different levels."""
    sector = _sectors(ring, body)
    values = off[ring]
    middles, errors = [], []
    for number in range(_SECTORS):
        part = values[sector == number]
        if part.size >= 12:
            middles.append(float(np.median(part)))
            errors.append(1.25 * noise / np.sqrt(part.size / 4.0))
    if len(middles) < 3:
        return True
    spread = max(middles) - min(middles)
    return bool(spread > _SIDES * height + _ERRORS * max(errors) * 1.4)


def _ends(body: Mask) -> list[tuple[float, float, float]]:
    """Both ends of the body and the direction outwards there: y, x, angle."""
    y, x = (part.astype(np.float64) for part in np.nonzero(body))
    dy, dx = y - y.mean(), x - x.mean()
    lean = 0.5 * np.arctan2(2.0 * (dx * dy).sum(), (dx * dx).sum() - (dy * dy).sum())
    along = dx * np.cos(lean) + dy * np.sin(lean)
    found = []
    for sign in (1.0, -1.0):
        reach = sign * along
        tip = reach >= reach.max() - 1.5
        near = reach >= reach.max() - 14.0
        ty, tx = y[tip].mean(), x[tip].mean()
        by, bx = y[near].mean(), x[near].mean()
        far = np.hypot(ty - by, tx - bx)
        angle = np.arctan2(ty - by, tx - bx) if far > 0.5 else lean + (0 if sign > 0 else np.pi)
        found.append((float(ty), float(tx), float(angle)))
    return found


def _goes_on(off: Floats, body: Mask, height: float, noise: float) -> bool:
    """True where a strip beyond an end, in any direction of a fan, still stands out."""
    first, last = _STRIP_PX
    steps = np.arange(first, last + 1)
    for y, x, angle in _ends(body):
        for turn in _FAN_DEGREES:
            lean = angle + np.radians(turn)
            lines = []
            for side in (-3, -2, -1, 0, 1, 2, 3):
                py = np.rint(y + steps * np.sin(lean) + side * np.cos(lean)).astype(int)
                px = np.rint(x + steps * np.cos(lean) - side * np.sin(lean)).astype(int)
                inside = (py >= 0) & (py < off.shape[0]) & (px >= 0) & (px < off.shape[1])
                if inside.sum() < 8:
                    return True  # it ends where the picture ends
                lines.append(float(off[py[inside], px[inside]].mean()))
            width = np.convolve(lines, np.full(3, 1 / 3), "valid")
            error = noise / np.sqrt(3 * steps.size / 3.0)
            if abs(float(width[np.abs(width).argmax()])) > _GOES_ON * height + _ERRORS * error:
                return True
    return False
