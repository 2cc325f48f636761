"""Readings of one strip over time: drift, its noise, since when; and whether two are the same.

Takes Lab of the same patches at several dates; gives figures and sentences. Nothing is known but
the readings: noise is what repeated readings of one day differ by.
Theory: docs/theory/verify.md. Tests: tests/engine/verify/test_trend.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.errors import ReadingError
from firstsheet.engine.records.reading import Illumination
from firstsheet.engine.records.verification import PatchRole, TrendPoint, TrendResult
from firstsheet.engine.verify.compare import cast_words

__all__ = ["SAME_DE00", "SeriesReading", "drift_of", "same_print", "trend_of"]

Floats = NDArray[np.float64]
SAME_DE00 = 1.5  # mean ΔE00 from which a strip is no longer the same: common practice, no source
_NOISES = 3.0  # times the noise a change must be to be one
_FEWEST, _SHORTEST_DAYS = 3, 14  # readings and days for a slope


@dataclass(frozen=True, eq=False)
class SeriesReading:
    """One reading of the strip."""

    file: str
    at: str  # ISO date or month
    lab: Floats  # (n, 3), absolute; the same patches in every reading
    illumination: Illumination = ""


def trend_of(readings: Sequence[SeriesReading], roles: Sequence[PatchRole]) -> TrendResult:
    """The series against its earliest reading.

    Parameters
    ----------
    readings
        At least two, in any order.
    roles
        Of the patches.

    Raises
    ------
    ReadingError
        If they were made under different measuring conditions.
    """
    _same_condition(readings)
    series = sorted(readings, key=lambda one: one.at)
    first = series[0]
    noise = _noise(series)
    limit = max(SAME_DE00, _NOISES * (noise or 0.0))
    points = tuple(_point(one, first, roles, limit) for one in series)
    since = ""
    for point in reversed(points):
        if not point.beyond:
            break
        since = point.at
    slope = _per_month(points)
    return TrendResult(
        reference=first.at or first.file,
        points=points,
        noise_de00=noise,
        limit_de00=limit,
        beyond_since=since,
        per_month_de00=slope,
        sentence=_sentence(points, first, noise, limit, since, slope),
    )


def _same_condition(readings: Sequence[SeriesReading]) -> None:
    stated = {one.illumination for one in readings if one.illumination}
    if len(stated) > 1:
        raise ReadingError(
            f"The readings were made under {' and '.join(sorted(stated))}.",
            "Paper with brightener reads differently under each; that would look like drift.",
            "Take readings of one measuring condition.",
            "mixed-conditions",
            "--condition M1",
        )


def _noise(series: Sequence[SeriesReading]) -> float | None:
    """Mean ΔE00 between two readings of one day; None where no day has two."""
    days: dict[str, list[Floats]] = {}
    for one in series:
        if len(one.at) >= 10:
            days.setdefault(one.at[:10], []).append(one.lab)
    gaps = [
        float(np.mean(delta_e_2000(a, b)))
        for held in days.values()
        for a, b in combinations(held, 2)
    ]
    return float(np.mean(gaps)) if gaps else None


def _point(
    one: SeriesReading, first: SeriesReading, roles: Sequence[PatchRole], limit: float
) -> TrendPoint:
    gap = np.atleast_1d(delta_e_2000(first.lab, one.lab))
    moved = one.lab - first.lab
    greys = [index for index, role in enumerate(roles) if role == "grey"]
    paper = [index for index, role in enumerate(roles) if role == "paper"]
    mean = float(gap.mean())
    cast = moved[greys].mean(axis=0) if greys else np.zeros(3)
    return TrendPoint(
        file=one.file,
        at=one.at,
        mean_de00=mean,
        p95_de00=float(np.percentile(gap, 95)),
        paper_de00=float(gap[paper[0]]) if paper else None,
        grey_cast=cast_words(float(cast[1]), float(cast[2])),
        beyond=mean > limit,
    )


def _day(at: str) -> int | None:
    try:
        return date.fromisoformat(at[:10] if len(at) >= 10 else f"{at}-01").toordinal()
    except ValueError:
        return None


def _per_month(points: Sequence[TrendPoint]) -> float | None:
    """Slope of the mean difference, ΔE00 a month: the median of all pairs (Theil and Sen)."""
    known = [(day, one.mean_de00) for one in points if (day := _day(one.at)) is not None]
    days = {day for day, _ in known}
    if len(days) < _FEWEST or max(days) - min(days) < _SHORTEST_DAYS:
        return None
    slopes = [
        (later[1] - earlier[1]) / (later[0] - earlier[0])
        for earlier, later in combinations(sorted(known), 2)
        if later[0] != earlier[0]
    ]
    return float(np.median(slopes)) * 30.44


def _sentence(
    points: Sequence[TrendPoint],
    first: SeriesReading,
    noise: float | None,
    limit: float,
    since: str,
    slope: float | None,
) -> str:
    last = points[-1]
    said = f"Against {first.at or first.file}: mean ΔE00 {last.mean_de00:.1f}"
    if since:
        said += f", over the limit of {limit:.1f} since {since[:10]}."
    else:
        said += f", within the limit of {limit:.1f}."
    if slope is not None and abs(slope) >= 0.05:
        said += f" It changes by {slope:+.2f} a month."
    if noise is None:
        return said + " Read a strip twice on one day to know the noise of reading."
    return said + f" Reading alone gives {noise:.2f}."


def drift_of(trend: TrendResult) -> str:
    """What a series says for drift as a cause; empty where it says nothing."""
    if not trend.beyond_since or trend.per_month_de00 is None or trend.per_month_de00 <= 0.0:
        return ""
    rising = [one.mean_de00 for one in trend.points]
    steps = np.diff(rising)
    if len(steps) < 2 or steps.max() > 0.7 * (max(rising) - min(rising)):
        return ""  # one jump is no drift
    return (
        f"The difference from {trend.reference[:10]} grew over {len(rising)} readings, "
        f"{trend.per_month_de00:+.2f} ΔE00 a month."
    )


def same_print(mean_de00: float, then: str, noise_de00: float | None = None) -> str:
    """Whether two readings are of the same print, in a sentence.

    >>> same_print(0.8, "March")
    'Same as in March? Mean ΔE00 0.8: yes.'
    """
    limit = max(SAME_DE00, _NOISES * (noise_de00 or 0.0))
    answer = "yes" if mean_de00 <= limit else "no"
    return f"Same as in {then}? Mean ΔE00 {mean_de00:.1f}: {answer}."
