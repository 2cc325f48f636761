"""How much colour a paper holds, and how well its profile finds its way back.

Takes a Chain; gives cubic Lab units and colour differences. Theory: docs/theory/icc.md.
Tests: tests/cms/test_cms_gamut.py.
"""

from __future__ import annotations

from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.chain import Chain
from firstsheet.engine.colour.difference import delta_e_2000

__all__ = ["even_points", "gamut_volume", "round_trip_floor"]

Floats = NDArray[np.float64]
_STEPS = 25
_FLOOR_POINTS = 20_000
_LAB_LOW, _LAB_HIGH = np.array([0.0, -100.0, -100.0]), np.array([100.0, 100.0, 100.0])


def gamut_volume(chain: Chain) -> float:
    """Volume of what the paper shows, cubic Lab units relative to its white.

    Notes
    -----
    The device cube is cut into tetrahedra, each is carried into Lab through the colorimetric
    table, and their signed volumes add up to the enclosed one (a fold counts once). CMYK has
    one channel too many for a cube: three cubes of two inks and black are taken, which is a
    separation with the most black, at most 300 % ink; darker mixtures of four inks and the
    chroma they gain in the darks are left out. A grey paper has no volume.
    """
    if chain.paper.channels == 1:
        return 0.0
    axis = np.linspace(0.0, 1.0, _STEPS)
    cube = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1)
    if chain.paper.channels == 3:
        return abs(_signed_volume(chain.printed_lab(cube)))
    total = 0.0
    for first, second in ((0, 1), (1, 2), (2, 0)):
        ink = np.zeros((*cube.shape[:-1], 4))
        ink[..., first], ink[..., second], ink[..., 3] = np.moveaxis(cube, -1, 0)
        total += _signed_volume(chain.printed_lab(ink))
    return abs(total)


def _signed_volume(lab: Floats) -> float:
    """Volume of the image of a cube sampled on a grid, (n, n, n, 3)."""
    cells = lab.shape[0] - 1
    low = slice(None, -1)
    total = 0.0
    for order in permutations(range(3)):  # six tetrahedra fill a cell
        step = [0, 0, 0]
        origin = lab[low, low, low]
        edges = []
        for axis in order:
            step[axis] = 1
            edges.append(lab[tuple(slice(s, cells + s) for s in step)] - origin)
        sign = np.linalg.det(np.eye(3)[list(order)])
        total += float(sign * np.linalg.det(np.stack(edges, axis=-1)).sum()) / 6.0
    return total


def round_trip_floor(chain: Chain) -> tuple[float, float, float]:
    """ΔE00 (95 %, 99 %, max) that the profile adds to colours the paper surely holds.

    Notes
    -----
    RGB and grey: device values spread evenly over the whole cube → Lab → device → Lab. CMYK has
    many inks for one colour, and mixtures no separation uses; there the colours are those the
    profile's own separation prints. A chain of relative colorimetric intent is expected.
    """
    channels = chain.paper.channels
    if channels == 4:
        box = _LAB_LOW + even_points(_FLOOR_POINTS, 3) * (_LAB_HIGH - _LAB_LOW)
        device = chain.device_from_lab(box)
    else:
        device = even_points(_FLOOR_POINTS, channels)
    lab = chain.printed_lab(device)
    gap = np.atleast_1d(delta_e_2000(lab, chain.printed_lab(chain.device_from_lab(lab))))
    return float(np.percentile(gap, 95)), float(np.percentile(gap, 99)), float(gap.max())


def even_points(count: int, dimensions: int) -> Floats:
    """Points spread evenly in the unit cube, the same every time.

    Notes
    -----
    The additive recurrence on the root of x^(d+1) = x + 1, the generalised golden ratio:
    Roberts, "The Unreasonable Effectiveness of Quasirandom Sequences" (2018).
    """
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (dimensions + 1))
    steps = root ** -np.arange(1.0, dimensions + 1.0)
    return np.asarray((0.5 + np.arange(1, count + 1)[:, None] * steps) % 1.0)
