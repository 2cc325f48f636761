"""Thin straight lines from edge to edge: scratches along the film, specks on a scanner's sensor.

Takes bands of lightness; keeps one sign per 32 pixels of length, and gives the lines at the end.
Theory: docs/theory/dust.md. Tests: tests/engine/detail/test_streaks.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.survey import Plane

__all__ = ["Streak", "StreakSums"]

Singles = NDArray[np.float32]

_LENGTH_PX: Final = 32  # over which the line is averaged
_BESIDE_PX: Final = 5  # to each side, with which it is compared
_LEAST_L: Final = 0.35  # L* by which it must pass both sides, in the mean
_HELD: Final = 0.8  # share of the length on which it stands out the same way
_END: Final = 1 / 12  # of the length, at both edges, where it must stand out as well
_HELD_END: Final = 0.5  # share of that
_LEAST_PARTS: Final = 24
_CLEAR: Final = 3.0  # times the like of its neighbourhood
_AROUND_PX: Final = 60
_STEEPEST: Final = 0.012  # px sideways per px along: 0.7 degrees
_MOST: Final = 8  # of one direction; more is a pattern


@dataclass(frozen=True, slots=True)
class Streak:
    """A line across the whole picture, as stored."""

    upright: bool
    start_px: float  # column at the top, or row at the left
    slope: float  # px sideways per px along
    height_l: float  # L* from both sides; bright positive
    held: float  # share of the length


class StreakSums:
    """Signs of thin lines, by columns and by rows, gathered band by band."""

    def __init__(self, width: int, height: int) -> None:
        self._upright = np.zeros((height // _LENGTH_PX, width), np.float16)
        self._lying = np.zeros((width // _LENGTH_PX, height), np.float16)
        self._rows_before = np.zeros((width // _LENGTH_PX, 0), np.float32)

    def add(self, band: Plane, top: int) -> None:
        """Take a band of full rows; `top` and all heights but the last are multiples of 32."""
        parts, width = band.shape[0] // _LENGTH_PX, band.shape[1]
        if parts:
            mean = band[: parts * _LENGTH_PX].reshape(parts, _LENGTH_PX, width).mean(axis=1)
            at = top // _LENGTH_PX
            self._upright[at : at + parts] = _ridge(mean)
        across = width // _LENGTH_PX
        if across:
            used = band[:, : across * _LENGTH_PX].reshape(band.shape[0], across, _LENGTH_PX)
            mean = np.concatenate([self._rows_before, used.mean(axis=2).T], axis=1)
            ridge = _ridge(mean)
            known = slice(_BESIDE_PX if self._rows_before.shape[1] else 0, None)
            first = top - self._rows_before.shape[1]
            self._lying[:, first : top + band.shape[0]][:, known] = ridge[:, known]
            self._rows_before = mean[:, -2 * _BESIDE_PX :]

    def lines(self) -> tuple[Streak, ...]:
        """Every line that runs from edge to edge."""
        return (*_lines(self._upright, True), *_lines(self._lying, False))


def _ridge(mean: Singles) -> Singles:
    """How far each place passes both its sides, L*; 0 on slopes and at edges."""
    out = np.zeros_like(mean)
    if mean.shape[1] <= 2 * _BESIDE_PX:
        return out
    middle = mean[:, _BESIDE_PX:-_BESIDE_PX]
    left, right = mean[:, : -2 * _BESIDE_PX], mean[:, 2 * _BESIDE_PX :]
    bright = middle - np.maximum(left, right)
    dark = middle - np.minimum(left, right)
    out[:, _BESIDE_PX:-_BESIDE_PX] = np.where(bright > 0, bright, np.where(dark < 0, dark, 0.0))
    return out


def _lines(ridge: NDArray[np.float16], upright: bool) -> list[Streak]:
    """Lines among the parts of one direction, over all slight slopes."""
    parts, places = ridge.shape
    if parts < _LEAST_PARTS or places <= 4 * _BESIDE_PX:
        return []
    sign = np.where(np.abs(ridge) >= 0.5 * _LEAST_L, np.sign(ridge), 0).astype(np.int8)
    most = int(_STEEPEST * parts * _LENGTH_PX / 2)
    best = np.zeros(places, np.int32)
    lean = np.zeros(places, np.int32)
    for shift in sorted(range(-most, most + 1), key=abs):  # from the middle to an end, px
        total = _sheared(sign, shift)
        better = np.abs(total) > np.abs(best)
        best[better], lean[better] = total[better], shift
    found: list[Streak] = []
    taken = np.zeros(places, np.bool_)
    for place in np.argsort(-np.abs(best), kind="stable"):
        held = abs(int(best[place])) / parts
        if held < _HELD or len(found) > _MOST:
            break
        if taken[place]:
            continue
        taken[max(0, place - _BESIDE_PX) : place + _BESIDE_PX + 1] = True
        shift = int(lean[place])
        at = np.clip(place + _offsets(parts, shift), 0, places - 1)
        along = ridge[np.arange(parts), at].astype(np.float32)
        height = float(np.median(along))
        if not _reaches_edges(along * np.sign(best[place])):
            continue
        beside = np.abs(ridge[:, max(0, place - _AROUND_PX) : place + _AROUND_PX + 1])
        usual = float(np.median(beside.astype(np.float32).mean(axis=0)))
        if abs(height) >= max(_LEAST_L, _CLEAR * usual):
            slope = 2.0 * shift / (parts * _LENGTH_PX)
            found.append(Streak(upright, float(place - shift), slope, height, held))
    return [] if len(found) > _MOST else found


def _reaches_edges(along: Singles) -> bool:
    """True where a line stands out at both its ends too: a mast's top lies within the picture."""
    count = max(2, round(_END * along.size))
    held = along >= 0.5 * _LEAST_L
    return bool(min(held[:count].mean(), held[-count:].mean()) >= _HELD_END)


def _offsets(parts: int, shift: int) -> NDArray[np.int64]:
    """Places sideways of each part, for a line that leans by `shift` from middle to end."""
    along = (np.arange(parts) + 0.5) / parts * 2.0 - 1.0
    return np.rint(along * shift).astype(np.int64)


def _sheared(sign: NDArray[np.int8], shift: int) -> NDArray[np.int32]:
    """Sum of the signs along lines that lean."""
    if shift == 0:
        return np.asarray(sign.sum(axis=0), dtype=np.int32)
    places = sign.shape[1]
    total = np.zeros(places, np.int32)
    for row, offset in zip(sign, _offsets(sign.shape[0], shift), strict=True):
        if offset >= 0:
            total[: places - offset] += row[offset:]
        else:
            total[-offset:] += row[:offset]
    return total
