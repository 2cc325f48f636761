"""Connected areas on a coarse grid.

Takes classes of cells and which neighbours may join; gives labels. The work is bounded by the
number of cells. Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_connect.py.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["connected", "roots"]

Mask = NDArray[np.bool_]


def roots(count: int, first: NDArray[np.int64], second: NDArray[np.int64]) -> NDArray[np.int64]:
    """The lowest of all that hang together, for each of so many; `first` and `second` are pairs.

    Notes
    -----
    Everything begins as its own root. Each round hangs the higher root of a pair under the lower
    and then shortens every path to its root, so roots only sink and the rounds are few.

    Examples
    --------
    >>> roots(5, np.array([0, 3]), np.array([4, 4])).tolist()
    [0, 1, 2, 0, 0]
    """
    root = np.arange(count)
    while first.size:
        one, two = root[first], root[second]
        apart = one != two
        if not apart.any():
            break
        first, second = first[apart], second[apart]
        low = np.minimum(one[apart], two[apart])
        high = np.maximum(one[apart], two[apart])
        np.minimum.at(root, high, low)
        while True:
            shorter = root[root]
            if np.array_equal(shorter, root):
                break
            root = shorter
    return root


def connected(
    here: Mask, beside: Mask | None = None, below: Mask | None = None
) -> NDArray[np.int64]:
    """Number the connected areas.

    Parameters
    ----------
    here
        (h, w), the cells that belong to any area.
    beside, below
        (h, w - 1) and (h - 1, w), whether a cell may join its right and its lower neighbour.
        Left out, all may.

    Returns
    -------
    NDArray
        (h, w) whole numbers: 0 outside, areas from 1 in reading order of their first cell.

    Examples
    --------
    >>> connected(np.array([[True, False, True], [True, False, True]])).tolist()
    [[1, 0, 2], [1, 0, 2]]
    """
    height, width = here.shape
    numbers = np.arange(height * width).reshape(height, width)
    right = here[:, :-1] & here[:, 1:] & (True if beside is None else beside)
    down = here[:-1] & here[1:] & (True if below is None else below)
    first = np.concatenate([numbers[:, :-1][right], numbers[:-1][down]])
    second = np.concatenate([numbers[:, 1:][right], numbers[1:][down]])
    root = roots(height * width, first, second)
    labels = np.zeros(height * width, dtype=np.int64)
    inside = here.ravel()
    if inside.any():
        _, labels[inside] = np.unique(root[inside], return_inverse=True)
        labels[inside] += 1
    return labels.reshape(height, width)
