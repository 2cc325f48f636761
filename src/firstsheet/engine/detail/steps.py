"""Steps in gradients: runs of one value and the jump to the next.

Takes even tiles of lightness; gives how long the runs are and how high the steps, where a
gradient is no longer smooth. Theory: docs/theory/true-detail.md.
Tests: tests/engine/detail/test_steps.py.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.survey import Tile
from firstsheet.engine.records.detail import StepFacts

__all__ = ["step_facts"]

Floats = NDArray[np.float64]

_SAME_L: Final = 0.002  # L* below which neighbours count as one value (16-bit steps are finer)
_LEAST_RUN_PX: Final = 4.0
_LEAST_STEP_L: Final = 0.15
_LEAST_TILES: Final = 2


def step_facts(tiles: tuple[Tile, ...]) -> StepFacts:
    """Look at even tiles that hold a gradient, along the direction in which it rises.

    Noise breaks runs up, so a noisy gradient is smooth; an empty one says nothing.
    """
    runs, heights, stepped, looked = [], [], 0, 0
    places: list[tuple[int, int, bool]] = []
    level: list[tuple[int, int]] = []
    for tile in tiles:
        plane = tile.lightness.astype(np.float64)
        rise_x = plane[:, -8:].mean() - plane[:, :8].mean()
        rise_y = plane[-8:].mean() - plane[:8].mean()
        if max(abs(rise_x), abs(rise_y)) < 0.5:
            level.append((tile.top, tile.left))
            continue
        looked += 1
        places.append((tile.top, tile.left, bool(abs(rise_x) >= abs(rise_y))))
        run, height = _runs(plane if abs(rise_x) >= abs(rise_y) else plane.T)
        if run >= _LEAST_RUN_PX and height >= _LEAST_STEP_L:
            stepped += 1
            runs.append(run)
            heights.append(height)
    if looked < _LEAST_TILES:
        return StepFacts(
            tiles=looked,
            run_px=None,
            step_l=None,
            stepped_percent=None,
            told="cannot tell",
            confidence=0.0,
            places=tuple(places),
            level_places=tuple(level),
        )
    share = stepped / looked
    return StepFacts(
        tiles=looked,
        run_px=round(float(np.median(runs)), 1) if runs else None,
        step_l=round(float(np.median(heights)), 3) if runs else None,
        stepped_percent=round(100.0 * share, 1),
        told="stepped" if share >= 0.3 else "smooth",
        confidence=round(
            (1.0 - float(np.exp(-looked / 4.0))) * min(1.0, 3.0 * abs(share - 0.3)), 3
        ),
        places=tuple(places),
        level_places=tuple(level),
    )


def _runs(plane: Floats) -> tuple[float, float]:
    """Mean length of runs of equal values along rows, and median height of the steps."""
    change = np.abs(np.diff(plane, axis=1))
    steps = change[change > _SAME_L]
    if steps.size == 0:
        return 0.0, 0.0
    return plane.size / (steps.size + plane.shape[0]), float(np.median(steps))
