"""Looks at a shape in its wider surroundings: is it one thin thing among many, does it fade?

Takes a patch of lightness around a shape; says whether the shape stays a candidate. Drawing
comes in company: where thin things of the same strength lie about, or something thin touches the
shape, it is a piece of drawing. And dust ends where it ends; what slowly fades goes on unseen.
Theory: docs/theory/dust.md. Tests: tests/engine/detail/test_dustwide.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.dust.company import row_of_equals
from firstsheet.engine.detail.dust.evidence import body_of, grown
from firstsheet.engine.detail.dust.shapes import Shape

__all__ = ["WIDE_PX", "Widely", "look_widely"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Mask = NDArray[np.bool_]
Whole = NDArray[np.int64]

WIDE_PX: Final = 110  # around a shape that the patch must show, where the picture goes on
_THIN_REACH_PX: Final = 6  # to each side; what is wider than twice that and one is not thin
_NEAR_PX: Final = 28
_CLEAR_PX: Final = 6  # beyond the body, where its own rim has ended
_RIM_PX: Final = 3  # around another candidate
_NEAR: Final = 0.4  # of the shape's own strength that thin things near it may have
_NEAR_RANK: Final = 99.7  # per cent: single grains do not count
_ROUGH: Final = 0.2  # of its strength that the usual thin thing near it may have: grain
_AS_STRONG: Final = 0.5  # of its strength, from which a thin pixel farther off counts
# how far they are counted, px to each side of its box, and how many are too many: a speck
# belongs to what is near, a hair may be one of a few long lines
_ABOUT_SPECK: Final = (70, 300)
_ABOUT_LONG: Final = (WIDE_PX, 600)
_ALIKE: Final = 0.5  # least ratio of strengths within a row
_MOST_PEAKS: Final = 200
_LOW_AGAIN: Final = 0.5
# A mark that fades: mean of its weakest third over that of its strongest, from so many px of
# length on; and of its weaker end quarter over its middle value.
_THIRDS: Final = ((16, 0.62), (24, 0.70))
_QUARTER: Final = (40, 0.72)
_SLICE_PX: Final = 4
_COMPACT_PX: Final = 24.0  # longest shape around which spokes are looked for
_SPOKES: Final = 24
_SPOKE_PX: Final = (3, 24)  # beyond the rim
_SPOKE_WIDTHS: Final = ((1, 5), (4, 11))  # half width, and where its sides are taken, px
_SPOKE: Final = 0.05  # of the height
_SPOKE_ERRORS: Final = 4.0
_SIDE_PX: Final = 16


@dataclass(frozen=True, slots=True)
class Widely:
    """What the third look found."""

    stays: bool
    why_not: str = ""


def look_widely(
    patch: Floats, shape: Shape, left: int, top: int, candidates: Sequence[Shape] = ()
) -> Widely:
    """Judge a shape on its patch, whose first pixel lies at (left, top) of the picture.

    Other candidates are no company: dust lies beside dust.
    """
    off, body = body_of(patch, shape, left, top)
    if body.sum() < 3:
        return Widely(False, "no body")
    others = np.zeros(body.shape, np.bool_)
    for one in candidates:
        if (one.left, one.top) != (shape.left, shape.top):
            rows = slice(max(0, one.top - top - _RIM_PX), max(0, one.bottom - top + _RIM_PX))
            across = slice(max(0, one.left - left - _RIM_PX), max(0, one.right - left + _RIM_PX))
            others[rows, across] = True
    counts = ~(others | grown(body, _CLEAR_PX))
    why = _company(patch, shape, body, counts) or _fades(off, body)
    if not why and shape.length_px <= _COMPACT_PX:
        bare = np.where(others, np.median(off[counts]), off)
        why = "something touches it" if _touched(bare, body, abs(shape.height_l)) else ""
    return Widely(not why, why)


def _company(patch: Floats, shape: Shape, body: Mask, counts: Mask) -> str:
    """Why it is one thin thing among others, where these count, or nothing."""
    smooth = _threes(np.asarray(patch, dtype=np.float32))
    light = smooth + _closed(-smooth)
    dark = _closed(smooth) - smooth
    of_its_sign = light if shape.height_l > 0 else dark
    own = float(of_its_sign[grown(body, 1)].max())
    thin = np.maximum(light, dark)
    near = _window(body, _NEAR_PX)
    around = thin[near][counts[near]]
    if around.size == 0:
        return "no surroundings"
    if float(np.percentile(around, _NEAR_RANK)) > _NEAR * own:
        return "thin things beside it"
    if float(np.median(around)) > _ROUGH * own:
        return "on rough ground"
    reach, most = _ABOUT_LONG if shape.is_long else _ABOUT_SPECK
    about = _window(body, reach)
    if int((thin[about][counts[about]] > _AS_STRONG * own).sum()) > most:
        return "thin things all around"
    if _in_a_row(of_its_sign, body, own):
        return "one of a row"
    return ""


def _in_a_row(thin: Singles, body: Mask, own: float) -> bool:
    """True where specks as strong as this lie at equal distances on one line with it."""
    y, x = np.nonzero(body)
    if max(np.ptp(y), np.ptp(x)) > _COMPACT_PX:
        return False
    strong = (thin > _ALIKE * own) & (thin < own / _ALIKE) & (thin >= _highest(thin))
    strong &= ~grown(body, _CLEAR_PX)
    places = [
        (py, px) for py, px in np.argwhere(strong)[:_MOST_PEAKS] if _compact(thin, int(py), int(px))
    ]
    if len(places) < 2:
        return False
    peaks = np.array(places, dtype=np.float64)
    return row_of_equals(peaks[:, 1] - float(x.mean()), peaks[:, 0] - float(y.mean()))


def _compact(thin: Singles, y: int, x: int) -> bool:
    """True where a peak is low again a few pixels off, on all sides."""
    reach, inner = _THIN_REACH_PX + 1, _THIN_REACH_PX - 1
    ring = thin[max(0, y - reach) : y + reach + 1, max(0, x - reach) : x + reach + 1].copy()
    middle_y, middle_x = min(y, reach), min(x, reach)
    ring[
        max(0, middle_y - inner + 1) : middle_y + inner,
        max(0, middle_x - inner + 1) : middle_x + inner,
    ] = 0.0
    return bool(ring.max() < _LOW_AGAIN * thin[y, x])


def _threes(plane: Singles) -> Singles:
    """Means of 3 x 3 px."""
    wide = np.pad(plane, 1, mode="edge")
    rows = wide[:-2] + wide[1:-1] + wide[2:]
    return np.asarray((rows[:, :-2] + rows[:, 1:-1] + rows[:, 2:]) / np.float32(9))


def _closed(plane: Singles) -> Singles:
    """The plane with all thin dark things filled up."""
    return -_highest(-_highest(plane))


def _highest(plane: Singles) -> Singles:
    """Largest value within the reach of a thin thing."""
    side = 2 * _THIN_REACH_PX + 1
    out = np.pad(plane, _THIN_REACH_PX, mode="edge")
    for turned in (False, True):
        out = out.T if turned else out
        width = 1
        while width < side:
            step = min(width, side - width)
            out = np.maximum(out[:-step], out[step:])
            width += step
        out = out.T if turned else out
    return out


def _window(marks: Mask, by: int) -> tuple[slice, slice]:
    """The box around marks, so much larger on each side."""
    y, x = np.nonzero(marks)
    return (
        slice(max(0, int(y.min()) - by), int(y.max()) + by + 1),
        slice(max(0, int(x.min()) - by), int(x.max()) + by + 1),
    )


def _fades(off: Floats, body: Mask) -> str:
    """Why it is no thing that ends where it ends, or nothing."""
    box = _window(body, 1)
    inside = body[box]
    level = float(np.median(off[grown(body, 12) & ~grown(body, 5)]))
    height = off[box] - level
    course = _along(inside)
    length = int(course.max()) + 1
    if length < _THIRDS[0][0]:
        return ""
    count = max(3, length // _SLICE_PX)
    which = np.minimum(course[inside] * count // length, count - 1)
    sums = np.bincount(which[course[inside] >= 0], height[inside][course[inside] >= 0], count)
    seen = np.bincount(which[course[inside] >= 0], minlength=count)
    means = sums / np.maximum(seen, 1)
    thirds = [float(part.mean()) for part in np.array_split(means, 3)]
    least = [share for reach, share in _THIRDS if length >= reach][-1]
    if min(thirds) < least * max(thirds):
        return "fades along its course"
    end = max(1, count // 4)
    weaker = min(float(means[:end].mean()), float(means[-end:].mean()))
    if length >= _QUARTER[0] and weaker < _QUARTER[1] * float(np.median(means)):
        return "fades towards an end"
    return ""


def _along(body: Mask) -> Whole:
    """Steps from one end through the body, -1 where nothing leads."""
    y, x = np.nonzero(body)
    dy, dx = y - y.mean(), x - x.mean()
    lean = 0.5 * np.arctan2(2.0 * (dx * dy).sum(), (dx * dx).sum() - (dy * dy).sum())
    first = int(np.abs(dx * np.cos(lean) + dy * np.sin(lean)).argmax())
    steps = _steps(body, int(y[first]), int(x[first]))
    last = np.unravel_index(int(steps.argmax()), steps.shape)
    return _steps(body, int(last[0]), int(last[1]))


def _steps(body: Mask, y: int, x: int) -> Whole:
    """Steps to every pixel of a body from one of them, over sides and corners."""
    steps = np.full(body.shape, -1, np.int64)
    front = np.zeros(body.shape, np.bool_)
    front[y, x] = True
    count = 0
    while front.any():
        steps[front] = count
        count += 1
        wide = front.copy()
        wide[1:] |= front[:-1]
        wide[:-1] |= front[1:]
        front = wide.copy()
        front[:, 1:] |= wide[:, :-1]
        front[:, :-1] |= wide[:, 1:]
        front &= body & (steps < 0)
    return steps


def _touched(off: Floats, body: Mask, height: float) -> bool:
    """True where something long begins at its rim: a mast below its lamp, a rope at a block."""
    y, x = (part.astype(np.float64) for part in np.nonzero(body))
    middle_y, middle_x = y.mean(), x.mean()
    ring = off[grown(body, 12) & ~grown(body, 5)]
    noise = 1.4826 * float(np.median(np.abs(ring - np.median(ring))))
    reach = np.arange(_SPOKE_PX[0], _SPOKE_PX[1] + 1)[:, None]
    side = np.arange(-_SIDE_PX, _SIDE_PX + 1)
    for angle in np.arange(_SPOKES) * 2.0 * np.pi / _SPOKES:
        up, right = np.sin(angle), np.cos(angle)
        rim = float(((y - middle_y) * up + (x - middle_x) * right).max())
        py = np.rint(middle_y + (rim + reach) * up + side * right).astype(np.int64)
        px = np.rint(middle_x + (rim + reach) * right - side * up).astype(np.int64)
        if py.min() < 0 or px.min() < 0 or py.max() >= off.shape[0] or px.max() >= off.shape[1]:
            continue
        across = off[py, px].mean(axis=0)
        for half, gap in _SPOKE_WIDTHS:
            ridge = abs(_ridge(across, half, gap))
            error = 1.5 * noise * (3.0 / (reach.size * (2 * half + 1))) ** 0.5
            if ridge > _SPOKE * height and ridge > _SPOKE_ERRORS * max(error, 0.02):
                return True
    return False


def _ridge(across: Floats, half: int, gap: int) -> float:
    """How far the middle of a profile passes both its sides; 0 where it lies between them."""
    middle = float(across[_SIDE_PX - half : _SIDE_PX + half + 1].mean())
    left, right = (
        float(across[_SIDE_PX + way * gap - 2 : _SIDE_PX + way * gap + 3].mean()) for way in (-1, 1)
    )
    return max(middle - max(left, right), 0.0) or min(middle - min(left, right), 0.0)
