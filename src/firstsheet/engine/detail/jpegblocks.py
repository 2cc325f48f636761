"""Does the picture show the 8 x 8 blocks of JPEG?

Takes a Survey; gives how much larger the steps across block borders are than elsewhere, and
where the grid lies. Theory: docs/theory/true-detail.md.
Tests: tests/engine/detail/test_jpegblocks.py.
"""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.survey import Survey
from firstsheet.engine.records.detail import BlockFacts

__all__ = ["block_facts"]

Floats = NDArray[np.float64]

_SIDE: Final = 8
_FAINT: Final = 0.012  # octaves of excess; our own step, from made pictures
_PLAIN_L: Final = 0.3  # L* by which borders stand out; our own step
_ALONE: Final = 0.5  # share of the highest phase that no other may reach
_SURE: Final = 6.0  # standard errors


def block_facts(survey: Survey) -> BlockFacts:
    """Compare the steps across every eighth border with all the others, both ways."""
    across = _excess(survey.column_step)
    down = _excess(survey.row_step)
    if across is None or down is None:
        return BlockFacts(
            excess_percent=0.0,
            border_l=None,
            offset_x_px=None,
            offset_y_px=None,
            told="none",
            confidence=0.0,
        )
    octaves = min(across[0], down[0])
    sure = min(across[1], down[1])
    told: Literal["none", "faint", "plain"] = "none"
    if sure >= _SURE and octaves >= _FAINT:
        told = "faint"
    grid = told != "none"
    border_l = _border_height(survey, across[2], down[2]) if grid else None
    if border_l is not None and border_l >= _PLAIN_L:
        told = "plain"
    return BlockFacts(
        excess_percent=round(100.0 * (2.0 ** max(octaves, 0.0) - 1.0), 2) if grid else 0.0,
        border_l=None if border_l is None else round(border_l, 3),
        offset_x_px=across[2] if grid else None,
        offset_y_px=down[2] if grid else None,
        told=told,
        confidence=round(1.0 - float(np.exp(-abs(sure - 0.5 * _SURE) / 3.0)), 3),
    )


def _excess(step_trace: Floats) -> tuple[float, float, int] | None:
    """Largest excess of one phase of eight: octaves, standard errors, and which."""
    trace = step_trace.copy()
    trace[0] = np.nan  # no step before the first pixel
    known = np.isfinite(trace)
    if known.sum() < 12 * _SIDE:
        return None
    neighbours = np.full(trace.size, np.nan)
    neighbours[2:-2] = 0.25 * (trace[:-4] + trace[1:-3] + trace[3:-1] + trace[4:])
    rise = trace - neighbours
    phase = np.arange(trace.size) % _SIDE
    usable = np.isfinite(rise)
    means = np.array([np.median(rise[usable & (phase == k)]) for k in range(_SIDE)])
    best = int(means.argmax())
    middle = float(np.median(np.delete(means, best)))
    if float(np.delete(means, best).max()) - middle > _ALONE * float(means[best] - middle):
        return 0.0, 0.0, best  # several borders of eight stand out: another rhythm
    others = rise[usable & (phase != best)]
    spread = 1.4826 * float(np.median(np.abs(others - np.median(others))))
    count = int((usable & (phase == best)).sum())
    error = 1.2533 * max(spread, 1e-6) / np.sqrt(count)
    return (
        float(means[best] - np.median(others)),
        float((means[best] - np.median(others)) / error),
        best,
    )


def _border_height(survey: Survey, offset_x: int, offset_y: int) -> float | None:
    """Mean height of the steps across borders above the mean of the others, in quiet tiles."""
    surplus = []
    for tile in survey.even_tiles + survey.busy_tiles:
        for plane, start, offset in (
            (tile.lightness, tile.left, offset_x),
            (tile.lightness.T, tile.top, offset_y),
        ):
            step = np.abs(np.diff(plane, axis=1)).mean(axis=0)
            border = (start + 1 + np.arange(step.size)) % _SIDE == offset
            surplus.append(float(step[border].mean() - step[~border].mean()))
    return float(np.mean(surplus)) if surplus else None
