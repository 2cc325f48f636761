"""What the paper takes away: shares of the picture, and the facts a plan keeps.

Takes colour differences that other rooms computed; gives shares in per cent and statistics. A
difference below the profile's own floor is noise of the profile and counts as no loss. The
shadows are in `loss_shadows`, the intents in `loss_intents`; both are offered here too.
Theory: docs/theory/loss.md. Tests: tests/engine/test_loss.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.density import contrast_ratio
from firstsheet.engine.colour.lab import lightness_to_y
from firstsheet.engine.loss.intents import (
    VISIBLE_DE00,
    IntentTrial,
    intent_losses,
    recommend_intent,
    separation_kept,
)
from firstsheet.engine.loss.shadows import (
    SHADOW_TOLERANCE_L,
    merged_limit_l,
    merged_shadow_levels,
    shadow_share_percent,
)
from firstsheet.engine.records.plan import IntentLoss, LossFacts

__all__ = [
    "BAND_EDGES_DE00",
    "SHADOW_TOLERANCE_L",
    "VISIBLE_DE00",
    "IntentTrial",
    "LossSpread",
    "LossTally",
    "intent_losses",
    "loss_bands",
    "loss_facts",
    "merged_limit_l",
    "merged_shadow_levels",
    "recommend_intent",
    "separation_kept",
    "shadow_share_percent",
]

BAND_EDGES_DE00: Final = (1.0, 2.0, 5.0, 10.0)

_Bands = tuple[float, float, float, float, float]
_DARKEST_Y: Final = 1e-5  # density 5: no paper is darker, so a profile's 0 is read as this
_BIN_DE00: Final = 0.01
_N_BINS: Final = 10_000  # to 100; what lies beyond shares the last bin, its maximum is exact


@dataclass(frozen=True, slots=True, kw_only=True)
class LossSpread:
    """Statistics of a whole picture's colour differences."""

    n_pixels: int
    mean_de00: float
    p95_de00: float  # exact to 0.01, linear interpolation inside the bin
    max_de00: float
    floor_de00: float
    bands_percent: _Bands  # <1, 1-2, 2-5, 5-10, >10; below the floor counts as <1


class LossTally:
    """Adds up colour differences block by block, in memory that does not grow.

    Percentiles come from a histogram of 0.01 wide bins and are exact to one bin; mean, maximum
    and bands are exact. One tally per thread; `merge` joins them.

    Parameters
    ----------
    floor_de00
        The profile's own noise. Differences below it count in the first band.
    """

    __slots__ = ("_bands", "_counts", "_floor", "_max", "_n", "_sum")

    def __init__(self, floor_de00: float = 0.0) -> None:
        if not floor_de00 >= 0.0:
            raise ValueError(f"floor_de00 must be 0 or more, got {floor_de00}")
        self._floor = floor_de00
        self._counts = np.zeros(_N_BINS, dtype=np.int64)
        self._bands = np.zeros(5, dtype=np.int64)
        self._n, self._sum, self._max = 0, 0.0, 0.0

    def add(self, de00: ArrayLike) -> None:
        """Add a block of differences of any shape; each must be finite and 0 or more."""
        values = np.asarray(de00, dtype=np.float64).ravel()
        if values.size == 0:
            return
        lowest, highest = float(values.min()), float(values.max())
        if not (lowest >= 0.0 and np.isfinite(highest)):
            raise ValueError(f"differences must be finite and 0 or more, got {lowest}..{highest}")
        bins = np.minimum(values / _BIN_DE00, _N_BINS - 1).astype(np.intp)
        self._counts += np.bincount(bins, minlength=_N_BINS)
        self._bands += _count_bands(values, self._floor)
        self._n += values.size
        self._sum += float(values.sum())
        self._max = max(self._max, highest)

    def merge(self, other: LossTally) -> None:
        """Add everything another tally (of the same floor) holds."""
        if other._floor != self._floor:
            raise ValueError(f"floors differ: {self._floor} and {other._floor}")
        self._counts += other._counts
        self._bands += other._bands
        self._n += other._n
        self._sum += other._sum
        self._max = max(self._max, other._max)

    def percentile(self, percent: float) -> float:
        """Difference that this share of the pixels stays below, exact to 0.01."""
        if not 0.0 <= percent <= 100.0:
            raise ValueError(f"percent must be 0 to 100, got {percent}")
        self._need_pixels()
        rank = percent / 100.0 * self._n
        up_to = np.cumsum(self._counts)
        index = int(np.searchsorted(up_to, rank, side="left"))
        index = min(index, _N_BINS - 1)
        before = int(up_to[index] - self._counts[index])
        share = (rank - before) / int(self._counts[index]) if self._counts[index] else 0.0
        return min((index + share) * _BIN_DE00, self._max)

    def result(self) -> LossSpread:
        """Give the statistics of everything added so far."""
        self._need_pixels()
        return LossSpread(
            n_pixels=self._n,
            mean_de00=self._sum / self._n,
            p95_de00=self.percentile(95.0),
            max_de00=self._max,
            floor_de00=self._floor,
            bands_percent=_shares(self._bands),
        )

    def _need_pixels(self) -> None:
        if self._n == 0:
            raise ValueError("nothing was added to the tally")


def _count_bands(values: NDArray[np.float64], floor_de00: float) -> NDArray[np.int64]:
    """Pixels per band; an edge belongs to the band above it."""
    above = [
        np.count_nonzero(values >= edge)
        for edge in (max(edge, floor_de00) for edge in BAND_EDGES_DE00)
    ]
    bounds = np.array([values.size, *above, 0], dtype=np.int64)
    return bounds[:-1] - bounds[1:]


def _shares(counts: NDArray[np.int64]) -> _Bands:
    one, two, three, four, five = (counts * (100.0 / int(counts.sum()))).tolist()
    return one, two, three, four, five


def loss_bands(de00: ArrayLike, floor_de00: float = 0.0) -> _Bands:
    """Shares of the picture, per cent, in the bands <1, 1-2, 2-5, 5-10 and >10.

    Parameters
    ----------
    de00
        Differences between wanted and printed colour, any shape.
    floor_de00
        The profile's own noise: a difference below it counts in the first band.

    Examples
    --------
    >>> loss_bands([0.5, 1.5, 3.0, 12.0])
    (25.0, 25.0, 25.0, 0.0, 25.0)
    >>> loss_bands([0.5, 1.5, 3.0, 12.0], floor_de00=2.0)
    (50.0, 0.0, 25.0, 0.0, 25.0)
    """
    values = np.asarray(de00, dtype=np.float64).ravel()
    if values.size == 0:
        raise ValueError("no differences given")
    return _shares(_count_bands(values, floor_de00))


def loss_facts(
    spread: LossSpread,
    *,
    merged_levels: int,
    merged_percent: float,
    white_lab: Sequence[float],
    black_lab: Sequence[float],
    intents: Sequence[IntentLoss] = (),
) -> LossFacts:
    """Assemble what the plan keeps of the loss, each figure rounded once to what it is worth.

    Parameters
    ----------
    spread
        Result of a `LossTally` over the picture through the chosen chain.
    merged_levels, merged_percent
        From `merged_shadow_levels` and `shadow_share_percent`.
    white_lab, black_lab
        Paper white and deepest black, absolute.
    intents
        From `intent_losses`; with them a recommendation is given.
    """
    white_y = float(lightness_to_y(white_lab[0]))
    black_y = max(float(lightness_to_y(black_lab[0])), _DARKEST_Y)
    recommended, reason = recommend_intent(intents) if intents else (None, "")
    one, two, five, ten, more = spread.bands_percent
    return LossFacts(
        mean_de00=round(spread.mean_de00, 3),
        p95_de00=round(spread.p95_de00, 3),
        max_de00=round(spread.max_de00, 3),
        floor_de00=spread.floor_de00,
        bands_percent=(round(one, 3), round(two, 3), round(five, 3), round(ten, 3), round(more, 3)),
        merged_shadow_levels=merged_levels,
        merged_shadow_percent=round(merged_percent, 3),
        white_l=round(float(white_lab[0]), 2),
        black_l=round(float(black_lab[0]), 2),
        contrast=round(contrast_ratio(white_y, black_y), 2),
        intents=tuple(intents),
        recommended=recommended,
        recommendation=reason,
    )
