"""Changing the white: Bradford adaptation, and paper white in the ICC sense.

Takes and gives relative XYZ, (..., 3), Y = 1 for the white. Theory: docs/theory/colour.md.
Tests: tests/engine/colour/test_adaptation.py.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.lab import D50_XYZ

__all__ = [
    "BRADFORD",
    "absolute_from_relative",
    "bradford",
    "relative_from_absolute",
    "white_from_xy",
]

# XYZ to sharpened cone responses: Lam (1985), as in ICC.1:2022 annex E and CIE 160:2004.
BRADFORD: Final[NDArray[np.float64]] = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
BRADFORD.setflags(write=False)


def white_from_xy(x: float, y: float) -> NDArray[np.float64]:
    """XYZ with Y = 1 of a chromaticity.

    >>> white_from_xy(0.3127, 0.3290).round(5).tolist()
    [0.95046, 1.0, 1.08906]
    """
    if not y > 0.0:
        raise ValueError(f"a white needs y above 0, got {y}")
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def bradford(from_white: ArrayLike, to_white: ArrayLike) -> NDArray[np.float64]:
    """Give the 3x3 matrix that carries XYZ seen under one white to another.

    Parameters
    ----------
    from_white, to_white
        XYZ of the whites, Y = 1.

    Returns
    -------
    NDArray
        M with `xyz_new = M @ xyz`, the linear Bradford transform with full adaptation.
    """
    ratio = (BRADFORD @ np.asarray(to_white, dtype=np.float64)) / (
        BRADFORD @ np.asarray(from_white, dtype=np.float64)
    )
    return np.asarray(np.linalg.solve(BRADFORD, ratio[:, None] * BRADFORD), dtype=np.float64)


def absolute_from_relative(xyz: ArrayLike, media_white_xyz: ArrayLike) -> NDArray[np.float64]:
    """ICC-absolute XYZ of media-relative XYZ.

    Notes
    -----
    Component by component, without Bradford: ICC.1:2022 clause 6.3.2.2, equations 1 to 3.
    """
    white = np.asarray(media_white_xyz, dtype=np.float64)
    return np.asarray(xyz, dtype=np.float64) * (white / D50_XYZ)


def relative_from_absolute(xyz: ArrayLike, media_white_xyz: ArrayLike) -> NDArray[np.float64]:
    """Media-relative XYZ of ICC-absolute XYZ; undoes `absolute_from_relative`."""
    white = np.asarray(media_white_xyz, dtype=np.float64)
    return np.asarray(xyz, dtype=np.float64) * (D50_XYZ / white)
