"""A field's grid and mask: how a shift of colour is laid down, and what it does to a picture.

Takes a map of CIELAB and a `RepairField`; gives grids and changed pictures. `apply_fields` is the
reference the compiled kernels are held to. Theory: docs/theory/repairs.md.
Tests: tests/engine/loss/repair/test_repair_grid.py.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.repair.record import GRID_AB, RepairField

__all__ = ["WHOLE", "apply_fields", "grid_nodes", "mask_over", "shift_at", "shift_grid"]

WHOLE = (0.0, 0.0, 1.0, 1.0)

Floats = NDArray[np.float64]
LabMap = Callable[[Floats], Floats]


def grid_nodes(side: int) -> Floats:
    """Colours at the nodes of a grid, (side, side, side, 3): L* 0..100, a*, b* -128..128.

    Examples
    --------
    >>> grid_nodes(3)[1, 0, 2].tolist()
    [50.0, -128.0, 128.0]
    """
    lightness = np.linspace(0.0, 100.0, side)
    across = np.linspace(-GRID_AB, GRID_AB, side)
    return np.stack(np.meshgrid(lightness, across, across, indexing="ij"), axis=-1)


def shift_grid(
    mapped: LabMap, side: int, might_change: Callable[[Floats], NDArray[np.bool_]] | None = None
) -> NDArray[np.float32]:
    """The shift of a map of CIELAB at every node.

    Parameters
    ----------
    mapped
        From CIELAB to CIELAB.
    side
        Nodes along each axis.
    might_change
        Says quickly where the map may do anything at all; elsewhere it is not asked.
    """
    nodes = grid_nodes(side)
    near = might_change(nodes) if might_change is not None else np.ones(nodes.shape[:-1], bool)
    shift = np.zeros(nodes.shape, dtype=np.float32)
    shift[near] = mapped(nodes[near]) - nodes[near]
    return shift


def shift_at(shift: NDArray[Any], lab: NDArray[Any]) -> Floats:
    """Shift of colours, (..., 3), by linear interpolation along all three axes.

    A colour outside the grid takes the shift of the nearest colour on its surface.
    """
    side = shift.shape[0]
    colours = np.asarray(lab, dtype=np.float64)
    scale = (side - 1) / np.array([100.0, 2.0 * GRID_AB, 2.0 * GRID_AB])
    nodes = np.asarray(shift, dtype=np.float64).reshape(-1, 3)
    first, parts = np.zeros(colours.shape[:-1], dtype=np.int64), []
    for axis, offset in enumerate((0.0, GRID_AB, GRID_AB)):
        place = np.clip((colours[..., axis] + offset) * scale[axis], 0.0, side - 1.0)
        low = np.minimum(place.astype(np.int64), side - 2)
        parts.append(((1.0 - (place - low))[..., None], (place - low)[..., None]))
        first = first * side + low
    total = np.zeros(colours.shape)
    for up in np.ndindex(2, 2, 2):
        weight = parts[0][up[0]] * parts[1][up[1]] * parts[2][up[2]]
        total += weight * nodes.take(first + (up[0] * side + up[1]) * side + up[2], axis=0)
    return total


def mask_over(
    mask: NDArray[Any], shape: tuple[int, int], box: tuple[float, float, float, float] = WHOLE
) -> Floats:
    """The mask at the centres of a picture's pixels, bilinear between the mask's centres.

    Parameters
    ----------
    mask
        (h, w) over the whole upright picture.
    shape
        Rows and columns of the pixels wanted.
    box
        Left, top, right, bottom of these pixels on the upright picture, 0..1.
    """
    left, top, right, bottom = box
    rows = _between(mask.shape[0], top + (bottom - top) * _centres(shape[0]))
    columns = _between(mask.shape[1], left + (right - left) * _centres(shape[1]))
    return rows @ np.asarray(mask, dtype=np.float64) @ columns.T


def _centres(count: int) -> Floats:
    return (np.arange(count) + 0.5) / count


def _between(count: int, places: Floats) -> Floats:
    """Weights of `count` samples, at their centres, for places 0..1: (places, count)."""
    at = np.clip(places * count - 0.5, 0.0, count - 1.0)
    low = np.minimum(at.astype(np.int64), max(count - 2, 0))
    part = at - low
    weights = np.zeros((len(places), count))
    rows = np.arange(len(places))
    weights[rows, low] = 1.0 - part
    weights[rows, np.minimum(low + 1, count - 1)] += part
    return weights


def apply_fields(
    lab: NDArray[Any],
    fields: Sequence[RepairField],
    box: tuple[float, float, float, float] = WHOLE,
) -> Floats:
    """A picture with its repairs, one after another; the truth for every faster way.

    Parameters
    ----------
    lab
        (h, w, 3), what the picture means, relative to its white.
    fields
        From `repair_field`, in the order they are to act.
    box
        Left, top, right, bottom of these pixels on the whole upright picture, 0..1.
    """
    changed = np.array(lab, dtype=np.float64)
    for field in fields:
        if field.mask is None:
            changed += shift_at(field.shift, changed)
            continue
        mask = mask_over(field.mask, changed.shape[:2], box)
        here = mask > 0.0
        changed[here] += mask[here][:, None] * shift_at(field.shift, changed[here])
    return changed
