"""Takes the picture's gradients through the very chain of its print.

Takes an opened picture, what was measured of it, and a way onto a paper; gives the steps as the
print shows them. Theory: docs/theory/print-steps.md. Tests: tests/jobs/test_plan_extras.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from firstsheet.engine.bands import StopCheck
from firstsheet.engine.detail.survey import EVEN_PX
from firstsheet.engine.detail.verdict import DetailFacts
from firstsheet.engine.printsteps import StepsOnPaper, steps_on_paper
from firstsheet.jobs.ways import Way

if TYPE_CHECKING:
    from firstsheet.files.opening import OpenedPicture

__all__ = ["steps_through"]

_LINES = 6  # of each gradient


def steps_through(
    opened: OpenedPicture, detail: DetailFacts, way: Way, stop: StopCheck
) -> StepsOnPaper | None:
    """Steps of the gradients on paper; None where the picture holds no even gradient."""
    squares = []
    for top, left, along_rows in sorted(detail.steps.places):
        stop()
        square = opened.source.block(top, top + EVEN_PX, left, left + EVEN_PX)
        square = square if along_rows else square.swapaxes(0, 1)
        squares.append(square[:: EVEN_PX // _LINES][:_LINES])
    if not squares:
        return None
    codes = np.array(squares)
    full = 1.0 if codes.dtype.kind == "f" else float(np.iinfo(codes.dtype).max)
    flat = codes.reshape(-1, EVEN_PX, codes.shape[-1]) / full
    shape = (*codes.shape[:3], 3)
    wanted = np.asarray(way.wanted_lab(flat, stop)).reshape(shape)
    printed = np.asarray(way.printed_lab(flat, stop)).reshape(shape)
    return steps_on_paper(codes, wanted, printed)
