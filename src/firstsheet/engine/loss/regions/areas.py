"""Connected areas with their names; those that would be called the same, told as one.

Takes labelled cells; gives areas by colour and place. All areas are measured together, so that
many small ones cost little. Theory: docs/theory/regions.md.
Tests: tests/engine/loss/regions/test_find_regions.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.cells import WantedCells
from firstsheet.engine.loss.regions.separation import lightness_weight
from firstsheet.engine.naming import colours_words, place_words, tones_words

__all__ = ["LEAST_PERCENT", "Area", "Cells", "told_as_one"]

LEAST_PERCENT: Final = 0.2  # of the picture; smaller areas are not told
_LEAST_CELLS: Final = 4
_CANDIDATES: Final = 400  # named one by one, the largest
_MANY_TONES_DE: Final = 12.0  # spread above which one colour name would mislead

Floats = NDArray[np.float64]
Cells = tuple[NDArray[np.intp], NDArray[np.intp]]  # rows and columns


@dataclass(frozen=True, eq=False, kw_only=True)
class Area:
    """Cells of one class that are called the same."""

    kind: int
    colour: str
    place: str
    cells: Cells
    pieces: int  # connected areas
    box: tuple[float, float, float, float]  # left top right bottom, 0..1 of the grid


@dataclass(frozen=True, eq=False)
class _Measured:
    """All labels at once, by label."""

    area: Floats
    colour: list[str]  # of the candidates only
    box: Floats  # (n, 4), 0..1
    centre: Floats  # (n, 2), across and down, 0..1 times area


def told_as_one(
    wanted: WantedCells, classes: NDArray[np.int64], labels: NDArray[np.int64]
) -> list[Area]:
    """Areas of one class that would be called the same, joined; too small ones left out."""
    counts = np.bincount(labels.ravel())
    counts[0] = 0
    least = min(_LEAST_CELLS, labels.size)
    largest = [
        one
        for one in np.argsort(-counts, kind="stable")[:_CANDIDATES].tolist()
        if counts[one] >= least
    ]
    if not largest:
        return []
    order = np.argsort(labels, axis=None, kind="stable")
    ends = np.cumsum(np.bincount(labels.ravel()))
    measured = _measured(wanted, labels, order, ends, largest)
    kinds = classes.ravel()[order[ends[largest] - 1]].tolist()
    joined: dict[tuple[int, str, str], list[int]] = {}
    places = _places(measured, largest)
    for at, one in enumerate(largest):
        joined.setdefault((kinds[at], measured.colour[at], places[at]), []).append(one)
    whole = float(wanted.area.sum())
    told = []
    for (kind, colour, place), ones in joined.items():
        if float(measured.area[ones].sum()) < LEAST_PERCENT / 100.0 * whole:
            continue
        flat = np.concatenate([order[ends[one] - counts[one] : ends[one]] for one in ones])
        rows, columns = np.divmod(flat, labels.shape[1])
        told.append(
            Area(
                kind=kind,
                colour=colour,
                place=place if len(ones) == 1 else _place_of_all(measured, ones),
                cells=(rows, columns),
                pieces=len(ones),
                box=_box(measured.box[ones]),
            )
        )
    return told


def _measured(
    wanted: WantedCells,
    labels: NDArray[np.int64],
    order: NDArray[np.intp],
    ends: NDArray[np.int64],
    largest: list[int],
) -> _Measured:
    flat = labels.ravel()
    weight = wanted.area.ravel()
    n = len(ends)

    def total(values: Floats) -> Floats:
        return np.bincount(flat, weights=values * weight, minlength=n).astype(np.float64)

    area = total(np.ones(flat.size))
    lab = wanted.lab.reshape(-1, 3)
    mean = np.stack([total(lab[:, one]) for one in range(3)], axis=-1)
    mean /= np.maximum(area, 1e-12)[:, None]
    away = lab - mean[flat]
    spread = np.sqrt(total(_squares(away, mean, flat)) / np.maximum(area, 1e-12))
    names = colours_words(mean[largest])
    for at, one in enumerate(largest):
        if spread[one] > _MANY_TONES_DE:
            names[at] = tones_words(float(mean[one, 0]))
    rows, columns = np.divmod(order, labels.shape[1])
    starts = np.concatenate([[0], ends[:-1]])
    held = ends > starts
    box = np.zeros((n, 4))
    for side, values, of in (
        (0, columns, np.minimum),
        (1, rows, np.minimum),
        (2, columns, np.maximum),
        (3, rows, np.maximum),
    ):
        box[held, side] = of.reduceat(values, starts[held])
    box[:, 2:] += 1.0
    high, wide = labels.shape
    box /= (wide, high, wide, high)
    down, across = np.divmod(np.arange(flat.size), wide)
    centre = np.stack([total((across + 0.5) / wide), total((down + 0.5) / high)], axis=-1)
    return _Measured(area, names, box, centre)


def _squares(away: Floats, mean: Floats, flat: NDArray[np.int64]) -> Floats:
    """Squared distance from the mean of one's own area, weighted as `step_levels` weighs."""
    chroma = np.hypot(mean[:, 1], mean[:, 2])
    cosine = np.where(chroma > 0.0, mean[:, 1] / np.maximum(chroma, 1e-12), 1.0)[flat]
    sine = np.where(chroma > 0.0, mean[:, 2] / np.maximum(chroma, 1e-12), 0.0)[flat]
    along = (away[:, 1] * cosine + away[:, 2] * sine) / (1.0 + 0.045 * chroma)[flat]
    turned = (away[:, 2] * cosine - away[:, 1] * sine) / (1.0 + 0.015 * chroma)[flat]
    light = away[:, 0] / lightness_weight(mean[:, 0])[flat]
    squares: Floats = np.square(light) + np.square(along) + np.square(turned)
    return squares


def _places(measured: _Measured, labels: list[int]) -> list[str]:
    """Where each area lies, in words."""
    boxes = measured.box[labels].tolist()
    centres = (measured.centre[labels] / measured.area[labels][:, None]).tolist()
    return [
        place_words((left, top, right, bottom), (across, down))
        for (left, top, right, bottom), (across, down) in zip(boxes, centres, strict=True)
    ]


def _place_of_all(measured: _Measured, labels: list[int]) -> str:
    area = float(measured.area[labels].sum())
    across, down = (measured.centre[labels].sum(axis=0) / area).tolist()
    return place_words(_box(measured.box[labels]), (across, down))


def _box(boxes: Floats) -> tuple[float, float, float, float]:
    left, top = boxes[:, :2].min(axis=0).tolist()
    right, bottom = boxes[:, 2:].max(axis=0).tolist()
    return left, top, right, bottom
