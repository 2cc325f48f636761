"""Shadows that merge on paper: how many grey levels, how much of the picture.

Takes printed L* of the source's grey ramp and a histogram of the picture's L*; gives a count
and a share in per cent. Theory: docs/theory/loss.md. Tests: tests/engine/test_loss.py.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

__all__ = [
    "SHADOW_TOLERANCE_L",
    "merged_limit_l",
    "merged_shadow_levels",
    "shadow_share_percent",
]

# Two greys closer than this print as one. One L* unit is about the least step seen between
# neighbours; below L* 20 it is 0.57 to 0.70 in CIEDE2000, inside the first band, and it is 2.5
# steps of an 8-bit L* table, so rounding cannot feign separation. docs/theory/loss.md.
SHADOW_TOLERANCE_L: Final = 1.0


def merged_shadow_levels(
    printed_l_of_grey_ramp: ArrayLike, tolerance_l: float = SHADOW_TOLERANCE_L
) -> int:
    """How many of the source's grey levels print indistinguishably from the darkest.

    Parameters
    ----------
    printed_l_of_grey_ramp
        Printed L* of the grey levels in order, black first (usually 256 values).
    tolerance_l
        Greys within this many L* of the darkest count as merged with it.

    Returns
    -------
    int
        At least 1: the darkest level itself. Counting stops at the first level that separates.

    Examples
    --------
    >>> merged_shadow_levels([16.9] * 37 + [18.2, 19.5, 21.0])
    37
    """
    ramp = np.asarray(printed_l_of_grey_ramp, dtype=np.float64)
    if ramp.ndim != 1 or ramp.size == 0:
        raise ValueError(f"a grey ramp is one row of L*, got shape {ramp.shape}")
    darkest = int(ramp.argmin())
    merged = ramp <= ramp[darkest] + tolerance_l
    separated = np.flatnonzero(~merged[darkest:])
    end = darkest + int(separated[0]) if separated.size else ramp.size
    return int(np.count_nonzero(merged[:end]))


def merged_limit_l(source_l_of_grey_ramp: ArrayLike, merged_levels: int) -> float:
    """Source L* below which everything prints as the darkest tone.

    It lies half way between the last merged level and the first that separates. A single merged
    level is black itself: nothing is lost, and the limit is 0.
    """
    ramp = np.asarray(source_l_of_grey_ramp, dtype=np.float64)
    if merged_levels <= 1:
        return 0.0
    if merged_levels >= ramp.size:
        return float(ramp[-1])
    return float(0.5 * (ramp[merged_levels - 1] + ramp[merged_levels]))


def shadow_share_percent(lightness_counts: ArrayLike, below_l: float) -> float:
    """Share of the picture darker than a source L*, per cent.

    Parameters
    ----------
    lightness_counts
        Pixel counts in equal bins of L* from 0 to 100.
    below_l
        The limit; a bin it cuts counts in proportion.

    Examples
    --------
    >>> shadow_share_percent([50, 0, 0, 50], below_l=12.5)
    25.0
    """
    counts = np.asarray(lightness_counts, dtype=np.float64)
    total = float(counts.sum())
    if not total > 0.0:
        raise ValueError("the histogram is empty")
    edges = np.linspace(0.0, 100.0, counts.size + 1)
    below = np.interp(below_l, edges, np.concatenate(([0.0], np.cumsum(counts))))
    return float(below) / total * 100.0
