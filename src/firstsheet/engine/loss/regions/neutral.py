"""Black-and-white: is the file neutral or evenly toned, and does the paper keep its greys grey?

Takes colours in CIELAB relative to the paper; gives figures along the grey axis and words.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_neutral.py.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.records import Record

__all__ = ["FileTone", "GreyAxis", "GreyPoint", "cast_words", "file_tone", "grey_axis"]

_SAMPLES: Final = 100_000
_NEUTRAL_CHROMA: Final = 1.0  # a chroma of 1 to 2 is already seen in a monochrome print
_TONED_SPREAD: Final = 1.5  # how far toned greys may stray from their own curve, 99 %
_N_BANDS: Final = 10  # of L*
_EVEN_TURN_DEGREES: Final = 20.0
_SEEN_CAST: Final = 1.0
_CROSS_CAST: Final = 0.5  # each side of a cross-over must reach this
_DIRECTIONS: Final = (
    "red",
    "orange",
    "yellow",
    "yellow-green",
    "green",
    "blue-green",
    "blue",
    "magenta",
)
_THIRDS: Final = (
    ("the shadows", 0.0, 35.0),
    ("the mid tones", 35.0, 70.0),
    ("the lights", 70.0, 101.0),
)


class FileTone(Record):
    """Whether a picture is black-and-white, and how its greys are coloured."""

    kind: Literal["neutral", "evenly-toned", "split-toned", "colour"]
    chroma_p99: float  # of the picture
    stray_p99: float  # distance of its colours from their own tone curve
    words: str


class GreyPoint(Record):
    """One tone of the grey axis: how far the paper moves its a* and b*."""

    wanted_l: float
    printed_l: float
    shift_a: float
    shift_b: float


class GreyAxis(Record):
    """What the paper makes of neutral greys."""

    points: tuple[GreyPoint, ...]
    mean_shift: float  # distance in a*, b*
    largest_shift: float
    largest_at_l: float  # wanted L*
    crossovers_l: tuple[float, ...]  # wanted L* at which the cast changes side
    neutral: bool  # no cast of 1 or more anywhere
    words: str


def cast_words(shift_a: float, shift_b: float) -> str:
    """Name a cast and its size.

    Examples
    --------
    >>> cast_words(0.1, 1.2), cast_words(-2.0, 0.0)
    ('1.2 toward yellow', '2.0 toward green')
    """
    sector = round(math.degrees(math.atan2(shift_b, shift_a)) / 45.0) % 8
    return f"{math.hypot(shift_a, shift_b):.1f} toward {_DIRECTIONS[sector]}"


def file_tone(wanted_lab: NDArray[np.generic]) -> FileTone:
    """Say whether a picture is neutral, evenly toned, split-toned or in colour.

    Notes
    -----
    The picture's a* and b* are averaged in ten bands of L*. Where 99 % of its colours lie within
    1.5 of the line through those means, it is black-and-white: neutral with a chroma up to 1,
    evenly toned where the hue of the toned bands keeps within 20 degrees, else split-toned.
    """
    pixels = np.asarray(wanted_lab).reshape(-1, 3)
    lab = pixels[:: max(1, len(pixels) // _SAMPLES)].astype(np.float64)
    chroma_p99 = float(np.percentile(np.hypot(lab[:, 1], lab[:, 2]), 99.0))
    band = np.clip((lab[:, 0] / 10.0).astype(np.intp), 0, _N_BANDS - 1)
    counts = np.bincount(band, minlength=_N_BANDS)
    full = counts > 0
    curves = [
        np.bincount(band, weights=lab[:, one], minlength=_N_BANDS)[full] / counts[full]
        for one in (0, 1, 2)
    ]
    stray = np.hypot(
        lab[:, 1] - np.interp(lab[:, 0], curves[0], curves[1]),
        lab[:, 2] - np.interp(lab[:, 0], curves[0], curves[2]),
    )
    stray_p99 = float(np.percentile(stray, 99.0))
    kind, words = _tone(chroma_p99, stray_p99, curves[1], curves[2])
    return FileTone(
        kind=kind, chroma_p99=round(chroma_p99, 2), stray_p99=round(stray_p99, 2), words=words
    )


def _tone(
    chroma: float, stray: float, a: NDArray[np.float64], b: NDArray[np.float64]
) -> tuple[Literal["neutral", "evenly-toned", "split-toned", "colour"], str]:
    if chroma <= _NEUTRAL_CHROMA:
        if chroma < 0.05:
            return "neutral", "Black-and-white, neutral throughout."
        return "neutral", f"Black-and-white, neutral: 99 % of it has a chroma up to {chroma:.1f}."
    if stray > _TONED_SPREAD:
        return "colour", "A picture in colour."
    toned = np.hypot(a, b) > _NEUTRAL_CHROMA
    if not toned.any():
        return "neutral", f"Black-and-white, neutral but for single pixels ({chroma:.1f} of grey)."
    hue = np.arctan2(b[toned], a[toned])
    middle = np.arctan2(np.sin(hue).mean(), np.cos(hue).mean())
    away = np.degrees(np.abs(np.angle(np.exp(1j * (hue - middle)))))
    if float(away.max()) * 2.0 <= _EVEN_TURN_DEGREES:
        strongest = int(np.argmax(np.hypot(a, b)))
        tone = cast_words(float(a[strongest]), float(b[strongest]))
        return "evenly-toned", f"Black-and-white, evenly toned: up to {tone}."
    dark, light = (cast_words(float(a[at]), float(b[at])) for at in (0, -1))
    return (
        "split-toned",
        f"Black-and-white, toned unevenly: darkest {dark}, lightest {light}.",
    )


def grey_axis(
    wanted_ramp_lab: ArrayLike, printed_ramp_lab: ArrayLike, *, lowest_l: float = 10.0
) -> GreyAxis:
    """Follow the neutral greys through the paper.

    Parameters
    ----------
    wanted_ramp_lab, printed_ramp_lab
        (n, 3), the source's greys in order and what the paper shows of them, relative to its
        white.
    lowest_l
        Greys darker than this are left out: the eye tells no cast there.
    """
    wanted = np.asarray(wanted_ramp_lab, dtype=np.float64)
    printed = np.asarray(printed_ramp_lab, dtype=np.float64)
    order = np.argsort(wanted[:, 0], kind="stable")
    wanted, printed = wanted[order], printed[order]
    at = np.arange(max(5.0, lowest_l), 100.0, 5.0)
    columns = [np.interp(at, wanted[:, 0], printed[:, one]) for one in (0, 1, 2)]
    a = columns[1] - np.interp(at, wanted[:, 0], wanted[:, 1])
    b = columns[2] - np.interp(at, wanted[:, 0], wanted[:, 2])
    size = np.hypot(a, b)
    worst = int(size.argmax())
    crossing = _crossovers(at, a, b)
    rows = zip(at.tolist(), columns[0].tolist(), a.tolist(), b.tolist(), strict=True)
    points = tuple(
        GreyPoint(wanted_l=wl, printed_l=round(pl, 2), shift_a=round(sa, 2), shift_b=round(sb, 2))
        for wl, pl, sa, sb in rows
    )
    return GreyAxis(
        points=points,
        mean_shift=round(float(size.mean()), 2),
        largest_shift=round(float(size[worst]), 2),
        largest_at_l=float(at[worst]),
        crossovers_l=tuple(round(one, 1) for one in crossing),
        neutral=bool(size[worst] < _SEEN_CAST),
        words=_axis_words(at, a, b, crossing),
    )


def _crossovers(
    at: NDArray[np.float64], a: NDArray[np.float64], b: NDArray[np.float64]
) -> tuple[float, ...]:
    """Where a cast seen on one side is followed by one seen on the opposite side."""
    found: list[float] = []
    for shift in (a, b):
        seen = np.flatnonzero(np.abs(shift) >= _CROSS_CAST)
        for one, two in itertools.pairwise(seen):
            if shift[one] * shift[two] < 0.0:
                part = shift[one : two + 1]
                where = int(np.flatnonzero(part[:-1] * part[-1] <= 0.0)[-1]) + int(one)
                rise = shift[where + 1] - shift[where]
                share = -shift[where] / rise if rise else 0.0
                found.append(float(at[where] + share * (at[where + 1] - at[where])))
    return tuple(sorted(found))


def _axis_words(
    at: NDArray[np.float64],
    a: NDArray[np.float64],
    b: NDArray[np.float64],
    crossing: Sequence[float],
) -> str:
    size = np.hypot(a, b)
    if float(size.max()) < _SEEN_CAST:
        return f"Printed greys stay neutral: at most {size.max():.1f} off in a*, b*."
    parts = []
    for name, low, high in _THIRDS:
        inside = (at >= low) & (at < high)
        mean_a, mean_b = float(a[inside].mean()), float(b[inside].mean())
        if math.hypot(mean_a, mean_b) >= 0.5 * _SEEN_CAST:
            parts.append(f"{cast_words(mean_a, mean_b)} in {name}")
    said = (
        f"Printed greys lean {', '.join(parts)}"
        if parts
        else f"Printed greys are up to {size.max():.1f} off at L* {at[int(size.argmax())]:.0f}"
    )
    if crossing:
        where = " and ".join(f"{one:.0f}" for one in crossing[:3])
        said += f"; the cast crosses over at L* {where}, which shows more than an even one"
    elif parts:
        said += "; without a cross-over"
    return said + "."
