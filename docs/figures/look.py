"""The look of all figures: colours, lines, marks, and one axis.

Theory pages are read on a screen 720 px wide, in grey copies and by colour-blind eyes: lines differ
by dash as well as by colour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "ACCENT",
    "FAINT",
    "GREY",
    "INK",
    "PALE",
    "SECOND",
    "WIDE",
    "Anchor",
    "Axis",
    "Look",
    "Mark",
    "ticks",
]

WIDE: Final = 720  # px, the widest a figure may be
INK: Final = "#222222"
GREY: Final = "#707070"
FAINT: Final = "#dcdcdc"
ACCENT: Final = "#235856"  # the bench's own
SECOND: Final = "#bf6a1f"  # told from the accent by colour-blind eyes too: far lighter, and warm
PALE: Final = "#e7efee"

Mark = Literal["ring", "square", "triangle", "cross", "dot"]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Look:
    """How a line is drawn."""

    colour: str = ACCENT
    width_px: float = 1.8
    dash: str = ""

    @property
    def tag(self) -> str:
        dash = f' stroke-dasharray="{self.dash}"' if self.dash else ""
        return f'fill="none" stroke="{self.colour}" stroke-width="{self.width_px:g}"{dash}'


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One direction of a panel: what it is, from where to where, and which values are written."""

    title: str
    low: float
    high: float
    ticks: Sequence[float] = ()
    log: bool = False
    words: Sequence[str] = ()  # in place of the ticks' numbers

    def share(self, values: ArrayLike) -> NDArray[np.float64]:
        """Places along the axis, 0 at its low and 1 at its high end."""
        at = np.asarray(values, dtype=np.float64)
        if self.log:
            at = np.log(at / self.low) / math.log(self.high / self.low)
            return np.asarray(at)
        return np.asarray((at - self.low) / (self.high - self.low))

    def labels(self) -> list[tuple[float, str]]:
        """Values and what is written there."""
        if self.words:
            return list(zip(self.ticks, self.words, strict=True))
        return [(value, f"{value:g}".replace("-", "−")) for value in self.ticks]


def ticks(low: float, high: float, step: float) -> tuple[float, ...]:
    """Evenly spaced values, both ends included."""
    return tuple(round(low + k * step, 10) for k in range(round((high - low) / step) + 1))
