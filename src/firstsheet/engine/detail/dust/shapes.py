"""Joins pixels that stand out into shapes, and measures them.

Takes the pixels that stand out; gives one shape per connected group: place, size, width,
straightness, sharpness. Theory: docs/theory/dust.md. Tests: tests/engine/detail/test_dust.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.connected import roots
from firstsheet.engine.detail.dust.cells import CELL_PX, Outstanding

__all__ = ["Shape", "shapes"]

Whole = NDArray[np.int64]
Floats = NDArray[np.float64]
_HAIR: Final = 4.0  # times its width from which a shape is long
_SHORTEST_PX: Final = 14.0  # of a hair or a line; shorter ones are long specks, or grain in a row
_BESIDE = ((0, 1), (1, -1), (1, 0), (1, 1), (0, 2), (2, 0))  # a gap of one pixel is bridged


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """One connected group of pixels, as stored."""

    x_px: float
    y_px: float
    left: int
    top: int
    right: int  # exclusive
    bottom: int
    pixels: int
    length_px: float
    width_px: float
    lean_rad: float  # of its main direction, from along the rows towards down
    bend_px: float  # how far it leaves its own straight line
    height_l: float  # of its strongest pixels, L*; bright positive
    times_limit: float
    sharpness: float  # largest step between pixels over the height
    softness_px: float  # how far the rim reaches from a quarter to three quarters of the height
    ground_l: float
    attached: bool  # goes on into drawing, or leaves the picture

    @property
    def slim(self) -> bool:
        """True where it is many times as long as wide."""
        return self.length_px >= _HAIR * self.width_px

    @property
    def is_long(self) -> bool:
        """True for a hair or a line, as against a speck."""
        return self.slim and self.length_px >= _SHORTEST_PX


def shapes(found: Outstanding, width: int, height: int) -> list[Shape]:
    """Every connected group of one sign that has at least one pixel above its limit."""
    if found.y.size == 0:
        return []
    made: list[Shape] = []
    for sign in (1.0, -1.0):
        chosen = np.flatnonzero(sign * found.off_l > 0)
        if chosen.size == 0:
            continue
        labels = _joined(found.y[chosen], found.x[chosen], width)
        order = np.argsort(labels, kind="stable")
        cuts = np.flatnonzero(np.diff(labels[order])) + 1
        peak = np.abs(found.off_l[chosen]) / found.limit_l[chosen]
        for group in np.split(order, cuts):
            if float(peak[group].max()) >= 1.0:
                made.append(_measured(found, chosen[group], sign, width, height))
    return made


def _joined(y: Whole, x: Whole, width: int) -> Whole:
    """Labels of connected pixels given in reading order."""
    key = y * (width + 4) + x
    first, second = [], []
    for dy, dx in _BESIDE:
        wanted = key + dy * (width + 4) + dx
        at = np.minimum(np.searchsorted(key, wanted), key.size - 1)
        hit = np.flatnonzero(key[at] == wanted)
        first.append(hit)
        second.append(at[hit])
    return roots(key.size, np.concatenate(first), np.concatenate(second))


def _measured(found: Outstanding, at: Whole, sign: float, width: int, height: int) -> Shape:
    """Place, size and look of one group."""
    off = sign * found.off_l[at].astype(np.float64)
    top_l = float(np.sort(off)[-max(1, off.size // 8) :].mean())
    body = off >= 0.5 * top_l
    y, x = found.y[at], found.x[at]
    by, bx = y[body].astype(np.float64), x[body].astype(np.float64)
    area = float(body.sum())
    length, bend, lean = _extent(by, bx)
    rim = _perimeter(y[body], x[body])
    thin = min(max(2.0 * area / max(0.9 * rim, 1.0), 1.0), length)
    if length > 3.0 * thin:  # along its own course, when it is curved
        length = max(length, area / thin)
    wide, narrow = (float((off >= share * top_l).sum()) for share in (0.25, 0.75))
    if length <= 3.0 * thin:
        soft = (wide / np.pi) ** 0.5 - (narrow / np.pi) ** 0.5
    else:
        soft = (wide - narrow) / (2.0 * length)
    cells = found.open_cells
    cell_y = np.minimum(y // CELL_PX, cells.shape[0] - 1)
    cell_x = np.minimum(x // CELL_PX, cells.shape[1] - 1)
    closed = not bool(cells[cell_y, cell_x].all())
    out = y.min() < 2 or x.min() < 2 or y.max() >= height - 2 or x.max() >= width - 2
    return Shape(
        x_px=float(bx.mean()) + 0.5,
        y_px=float(by.mean()) + 0.5,
        left=int(x.min()),
        top=int(y.min()),
        right=int(x.max()) + 1,
        bottom=int(y.max()) + 1,
        pixels=int(area),
        length_px=length,
        width_px=thin,
        lean_rad=lean,
        bend_px=bend,
        height_l=sign * top_l,
        times_limit=float((off / found.limit_l[at]).max()),
        sharpness=float(found.slope_l[at].max()) / top_l,
        softness_px=float(soft),
        ground_l=float(found.ground_l[at].mean()),
        attached=closed or bool(out),
    )


def _extent(y: Floats, x: Floats) -> tuple[float, float, float]:
    """Length along the main direction, the reach across it, px, and the direction."""
    dy, dx = y - y.mean(), x - x.mean()
    angle = 0.5 * np.arctan2(2.0 * (dx * dy).sum(), (dx * dx).sum() - (dy * dy).sum())
    along = dx * np.cos(angle) + dy * np.sin(angle)
    across = -dx * np.sin(angle) + dy * np.cos(angle)
    return float(np.ptp(along)) + 1.0, float(np.ptp(across)), float(angle)


def _perimeter(y: Whole, x: Whole) -> float:
    """Number of pixel sides that border on nothing."""
    rows, columns = int(np.ptp(y)) + 3, int(np.ptp(x)) + 3
    plane = np.zeros((rows, columns), np.bool_)
    plane[y - y.min() + 1, x - x.min() + 1] = True
    return float((plane[1:] != plane[:-1]).sum() + (plane[:, 1:] != plane[:, :-1]).sum())
