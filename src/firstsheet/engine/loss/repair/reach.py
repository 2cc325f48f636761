"""How far the paper reaches: the chroma it still shows at each lightness and hue.

Takes what the paper shows of colours; gives a smooth table over Oklab lightness and hue.
Theory: docs/theory/repairs.md. Tests: tests/engine/loss/repair/test_repair_colours.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.hue import lab_of_oklab, oklab_of_lab

__all__ = ["Paper", "PaperReach", "Printed", "paper_reach"]

Floats = NDArray[np.float64]
Printed = Callable[[Any], NDArray[Any]]

LIGHTS: Final = 25  # of Oklab, 0..1
HUES: Final = 48
_LEAST: Final = 0.02
_LADDER: Final = np.concatenate([np.arange(0.04, 0.16, 0.01), np.arange(0.16, 0.33, 0.02)])


@dataclass(frozen=True, eq=False)
class PaperReach:
    """Largest chroma that the paper still follows, over lightness and hue."""

    chroma: Floats  # (LIGHTS, HUES), Oklab

    def at(self, light: Floats, hue: Floats) -> Floats:
        """Reach at Oklab lightness 0..1 and hue in radians, between the table's places."""
        row = np.clip(light, 0.0, 1.0) * (LIGHTS - 1)
        column = np.mod(hue / (2.0 * np.pi), 1.0) * HUES
        low = np.minimum(row.astype(np.int64), LIGHTS - 2)
        left = column.astype(np.int64)
        down, right = row - low, column - left
        left, beside = left % HUES, (left + 1) % HUES
        upper = self.chroma[low, left] * (1.0 - right) + self.chroma[low, beside] * right
        lower = self.chroma[low + 1, left] * (1.0 - right) + self.chroma[low + 1, beside] * right
        between: Floats = upper * (1.0 - down) + lower * down
        return between


def paper_reach(printed: Printed) -> PaperReach:
    """Find how far printed chroma follows wanted chroma, along lines of constant hue.

    Notes
    -----
    A paper changes even a colour it can print: its black is no black. So the measure is not
    the difference but whether chroma is followed. Along a line of growing chroma printed chroma
    rises and then stays: its ceiling over its steepest rise is where it gives way. The table is
    smoothed over neighbours, so that no contour comes of it.
    """
    light = np.linspace(0.0, 1.0, LIGHTS)[:, None, None]
    hue = (np.arange(HUES) * (2.0 * np.pi / HUES))[None, :, None]
    chroma = np.broadcast_to(_LADDER, (LIGHTS, HUES, _LADDER.size))
    wanted = np.stack(
        [np.broadcast_to(light, chroma.shape), chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1
    )
    shown = oklab_of_lab(printed(lab_of_oklab(wanted)))
    along = np.maximum(shown[..., 1] * np.cos(hue) + shown[..., 2] * np.sin(hue), 0.0)
    steepest = np.maximum((along / _LADDER).max(axis=-1), 1e-3)
    reach = np.clip(along.max(axis=-1) / steepest, _LEAST, _LADDER[-1])
    return PaperReach(_smoothed(reach))


def _smoothed(table: Floats) -> Floats:
    across = (np.roll(table, 1, axis=1) + 2.0 * table + np.roll(table, -1, axis=1)) / 4.0
    padded = np.pad(across, ((1, 1), (0, 0)), mode="edge")
    down: Floats = (padded[:-2] + 2.0 * padded[1:-1] + padded[2:]) / 4.0
    return down


_GREY_STEP_L: Final = 0.25


class Paper:
    """What a paper shows, with what is worked out of it once."""

    def __init__(self, printed: Printed) -> None:
        self.printed = printed

    @cached_property
    def reach(self) -> PaperReach:
        """Chroma the paper follows."""
        return paper_reach(self.printed)

    @cached_property
    def greys(self) -> tuple[Floats, Floats]:
        """L* of wanted greys and of what the paper shows of them, never falling."""
        wanted = np.arange(0.0, 100.0 + _GREY_STEP_L / 2, _GREY_STEP_L)
        greys = np.zeros((wanted.size, 3))
        greys[:, 0] = wanted
        shown = np.asarray(self.printed(greys), dtype=np.float64)[:, 0]
        around = np.pad(shown, 4, mode="edge")
        even = np.convolve(around, np.full(9, 1.0 / 9.0), mode="valid")
        even[[0, -1]] = shown[[0, -1]]
        return wanted, np.maximum.accumulate(even)
