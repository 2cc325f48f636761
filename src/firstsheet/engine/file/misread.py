"""What happens when numbers of one RGB space are read as another.

Holds a small table, computed on the 24 patches of a published colour chart; the test computes
it again with another library. Theory: docs/theory/judging.md. Tests:
tests/engine/file/test_misread.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

__all__ = ["MISREADINGS", "MISREAD_SOURCE", "Misreading"]

MISREAD_SOURCE: Final = (
    "computed on the 24-patch colour chart (published values after November 2014), CIEDE2000"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Misreading:
    """How far the 24 patches move, and what becomes of the 18 colours' chroma."""

    mean_de00: float
    max_de00: float
    chroma_factor: float  # mean of read over true chroma
    lightness_shift: float  # mean, L*


# (true space, read as): colours outside the true space are clipped to it first.
MISREADINGS: Final[Mapping[tuple[str, str], Misreading]] = MappingProxyType(
    {
        (true, read): Misreading(
            mean_de00=mean, max_de00=largest, chroma_factor=chroma, lightness_shift=shift
        )
        for true, read, mean, largest, chroma, shift in (
            ("srgb", "display-p3", 2.2, 4.9, 1.19, 0.2),
            ("srgb", "a98-rgb", 3.4, 7.7, 1.22, 0.7),
            ("srgb", "prophoto-rgb", 10.7, 23.4, 1.66, 6.1),
            ("display-p3", "srgb", 2.0, 3.8, 0.86, -0.1),
            ("display-p3", "a98-rgb", 1.7, 3.6, 1.03, 0.5),
            ("display-p3", "prophoto-rgb", 8.9, 20.1, 1.34, 6.1),
            ("a98-rgb", "srgb", 2.9, 6.3, 0.84, -0.6),
            ("a98-rgb", "display-p3", 1.7, 3.5, 0.98, -0.5),
            ("a98-rgb", "prophoto-rgb", 7.9, 16.8, 1.27, 5.7),
            ("prophoto-rgb", "srgb", 8.7, 15.1, 0.70, -6.7),
            ("prophoto-rgb", "display-p3", 7.8, 13.3, 0.80, -6.6),
            ("prophoto-rgb", "a98-rgb", 7.4, 12.1, 0.82, -6.4),
        )
    }
)
