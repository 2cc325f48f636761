"""Reading a colour table between its points, as reference arithmetic in float64.

Takes a table (g0, g1, ..., outputs) and coordinates 0..1; gives values. Slow and plain: the
fast versions are compiled elsewhere and are held to these. Theory: docs/theory/links.md.
Tests: tests/cms/test_cms_interpolate.py.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["multilinear", "tetrahedral"]

Floats = NDArray[np.float64]


def _cells(clut: Floats, coordinates: ArrayLike) -> tuple[NDArray[np.intp], Floats]:
    """The lower corner of the cell each colour lies in, and its place inside it."""
    top = np.array(clut.shape[:-1]) - 1
    at = np.clip(np.asarray(coordinates, dtype=np.float64), 0.0, 1.0) * top
    corner = np.minimum(at.astype(np.intp), top - 1)
    return corner, at - corner


def multilinear(clut: Floats, coordinates: ArrayLike) -> Floats:
    """Weigh all corners of the cell; trilinear where the table has three inputs."""
    corner, part = _cells(clut, coordinates)
    total = np.zeros((*part.shape[:-1], clut.shape[-1]))
    for steps in product((0, 1), repeat=part.shape[-1]):
        weight = np.prod(np.where(steps, part, 1.0 - part), axis=-1)
        total += weight[..., None] * clut[tuple(np.moveaxis(corner + np.array(steps), -1, 0))]
    return total


def tetrahedral(clut: Floats, coordinates: ArrayLike) -> Floats:
    """Walk from the lower to the upper corner along the axes, largest part first.

    With four inputs the first is interpolated linearly between two such walks, with one or two
    the result is the linear one; so does the ICC engine this project uses.
    """
    inputs = clut.ndim - 1
    if inputs == 4:
        corner, part = _cells(clut, coordinates)
        rest = np.asarray(coordinates, dtype=np.float64)[..., 1:]
        below = _walk(clut, corner, _cells(clut[0], rest)[1])
        upper = corner + np.array([1, 0, 0, 0])
        above = _walk(clut, upper, _cells(clut[0], rest)[1])
        return np.asarray(below + part[..., :1] * (above - below))
    if inputs != 3:
        return multilinear(clut, coordinates)
    return _walk(clut, *_cells(clut, coordinates))


def _walk(clut: Floats, corner: NDArray[np.intp], part: Floats) -> Floats:
    """The simplex walk over the last three axes."""
    order = np.argsort(-part, axis=-1, kind="stable")
    sorted_part = np.take_along_axis(part, order, axis=-1)
    at = corner.copy()
    first_axis = corner.shape[-1] - 3
    value = clut[tuple(np.moveaxis(at, -1, 0))]
    total: Floats = value.copy()
    for step in range(3):
        axis = order[..., step : step + 1] + first_axis
        np.put_along_axis(at, axis, np.take_along_axis(at, axis, -1) + 1, axis=-1)
        following = clut[tuple(np.moveaxis(at, -1, 0))]
        total += sorted_part[..., step : step + 1] * (following - value)
        value = following
    return total
