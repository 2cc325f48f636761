"""What lies at paper white and at the paper's black, and which edges melt into the border.

Takes printed colour relative to the paper; gives shares, connected areas and lengths on paper.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_paper_ends.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.connected import connected
from firstsheet.engine.loss.shadows import SHADOW_TOLERANCE_L
from firstsheet.engine.records.losses import EdgeMelt

__all__ = [
    "PAPER_WHITE_DE00",
    "ClippedCounts",
    "at_black",
    "at_paper_white",
    "clipped_counts",
    "edge_melt",
    "largest_area_mm2",
]

PAPER_WHITE_DE00: Final = 2.0  # common practice, no source: a picture's edge needs this to be seen
_PAPER: Final = (100.0, 0.0, 0.0)
_FARTHEST_L: Final = 4.0  # Delta E00 2 near white is 3.4 L*; nothing darker need be looked at
_GRID: Final = 400  # connected areas are told on a grid no finer than this


@dataclass(frozen=True, slots=True, kw_only=True)
class ClippedCounts:
    """What lies at the ends of the scale, before it is said how large a pixel is."""

    black_l: float  # the darkest L* the paper shows
    white_percent: float
    white_largest_px: float
    black_percent: float
    black_largest_px: float
    edge_px: EdgeMelt  # pixels instead of mm


def clipped_counts(printed_lab: NDArray[Any], black_l: float) -> ClippedCounts:
    """Count what lies at bare paper and at the paper's black, pixel by pixel."""
    white, black = at_paper_white(printed_lab), at_black(printed_lab, black_l)
    return ClippedCounts(
        black_l=black_l,
        white_percent=float(white.mean()) * 100.0,
        white_largest_px=largest_area_mm2(white, 1.0),
        black_percent=float(black.mean()) * 100.0,
        black_largest_px=largest_area_mm2(black, 1.0),
        edge_px=edge_melt(printed_lab, 1.0),
    )


def at_paper_white(printed_lab: NDArray[Any]) -> NDArray[np.bool_]:
    """Where printed colour lies within Delta E00 2 of bare paper, (h, w)."""
    near = printed_lab[..., 0] > 100.0 - _FARTHEST_L
    white = np.zeros(near.shape, dtype=np.bool_)
    white[near] = delta_e_2000(printed_lab[near], _PAPER) <= PAPER_WHITE_DE00
    return white


def at_black(printed_lab: NDArray[Any], black_l: float) -> NDArray[np.bool_]:
    """Where printed colour lies within 1 L* of the darkest the paper prints, (h, w)."""
    black: NDArray[np.bool_] = printed_lab[..., 0] <= black_l + SHADOW_TOLERANCE_L
    return black


def largest_area_mm2(marks: NDArray[np.bool_], mm_per_px: float) -> float:
    """Largest connected area, mm2, told on a grid of at most 400 cells a side.

    A cell belongs where more than half of it is marked; its own share is what counts.

    Examples
    --------
    >>> largest_area_mm2(np.array([[True, True, False], [False, False, True]]), 2.0)
    8.0
    """
    if not marks.any():
        return 0.0
    side = -(-max(marks.shape) // _GRID)
    height, width = marks.shape
    whole = np.pad(marks, ((0, -height % side), (0, -width % side)))
    cells = whole.reshape(whole.shape[0] // side, side, -1, side).sum(axis=(1, 3))
    labels = connected(2 * cells > side * side)
    counts = np.bincount(labels.ravel(), weights=cells.ravel())
    return float(counts[1:].max(initial=0.0)) * mm_per_px**2


def edge_melt(printed_lab: NDArray[Any], mm_per_px: float) -> EdgeMelt:
    """Length of each side of the picture that lies within Delta E00 2 of the bare border."""
    sides = (printed_lab[0], printed_lab[:, -1], printed_lab[-1], printed_lab[:, 0])
    top, right, bottom, left = (
        float(np.count_nonzero(at_paper_white(side)) * mm_per_px) for side in sides
    )
    return EdgeMelt(
        top_mm=top,
        right_mm=right,
        bottom_mm=bottom,
        left_mm=left,
        total_mm=top + right + bottom + left,
    )
