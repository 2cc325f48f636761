"""Takes the picture's gradients through the very chain of its print.

Takes an opened picture, what was measured of it, and a way onto a paper; gives the steps as the
print shows them. Theory: docs/theory/print-steps.md. Tests: tests/jobs/test_plan_extras.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.survey import EVEN_PX
from firstsheet.engine.loss.steps import StepsOnPaper, steps_on_paper
from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.streams import StopCheck
from firstsheet.jobs.planning.colour_path import ColourPath

if TYPE_CHECKING:
    from firstsheet.files.reading.opening import OpenedPicture

__all__ = ["steps_through"]

_LINES = 6  # of each gradient
_END_PX = 8  # of a square, that are compared
_LEAST_RISE = 0.5  # of a* and b*, from end to end; the same as is asked of L*


def steps_through(
    opened: OpenedPicture, detail: DetailFacts, way: ColourPath, stop: StopCheck
) -> StepsOnPaper | None:
    """Steps of the gradients on paper; None where the picture holds no even gradient."""
    squares = []
    for top, left, along_rows in sorted(detail.steps.places):
        squares.append(_lines(_square(opened, top, left, stop), along_rows))
    for top, left in sorted(detail.steps.level_places):
        square = _square(opened, top, left, stop)
        along = _colour_rises(np.asarray(way.wanted_lab(_flat(square), stop)))
        if along is not None:
            squares.append(_lines(square, along))
    if not squares:
        return None
    codes = np.array(squares)
    flat = _flat(codes.reshape(-1, EVEN_PX, codes.shape[-1]))
    shape = (*codes.shape[:3], 3)
    wanted = np.asarray(way.wanted_lab(flat, stop)).reshape(shape)
    printed = np.asarray(way.printed_lab(flat, stop)).reshape(shape)
    return steps_on_paper(codes, wanted, printed)


def _square(opened: OpenedPicture, top: int, left: int, stop: StopCheck) -> NDArray[Any]:
    """Codes of an even square, as stored."""
    stop()
    return np.asarray(opened.source.block(top, top + EVEN_PX, left, left + EVEN_PX))


def _lines(square: NDArray[Any], along_rows: bool) -> NDArray[Any]:
    """Some lines of a square, along its gradient."""
    turned = square if along_rows else square.swapaxes(0, 1)
    return turned[:: EVEN_PX // _LINES][:_LINES]


def _flat(codes: NDArray[Any]) -> NDArray[np.float64]:
    """Codes as shares of the full code."""
    full = 1.0 if codes.dtype.kind == "f" else float(np.iinfo(codes.dtype).max)
    return np.asarray(codes / full)


def _colour_rises(lab: NDArray[np.float64]) -> bool | None:
    """Whether a* and b* change along the rows (True) or down (False); None where they do not."""
    ends = (
        lab[:, -_END_PX:, 1:].mean(axis=(0, 1)) - lab[:, :_END_PX, 1:].mean(axis=(0, 1)),
        lab[-_END_PX:, :, 1:].mean(axis=(0, 1)) - lab[:_END_PX, :, 1:].mean(axis=(0, 1)),
    )
    across, down = (float(np.hypot(*end)) for end in ends)
    if max(across, down) < _LEAST_RISE:
        return None
    return across >= down
