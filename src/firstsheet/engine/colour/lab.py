"""CIELAB and back, and its cylindrical form.

Takes and gives colours as float64 arrays of any shape (..., 3). XYZ is relative, Y = 1 for the
white. The white is the ICC connection space's D50 unless another is named; nothing is clipped,
and negative XYZ (colours outside the spectrum locus, as float files hold) goes through the
linear branch. Theory: docs/theory/colour.md. Tests: tests/engine/colour/test_lab.py.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "D50_XYZ",
    "KAPPA",
    "lab_to_lch",
    "lab_to_xyz",
    "lch_to_lab",
    "lightness_to_y",
    "xyz_to_lab",
    "y_to_lightness",
]

D50_XYZ: Final[NDArray[np.float64]] = np.array([0.9642, 1.0, 0.8249])
D50_XYZ.setflags(write=False)

KAPPA: Final = 24389 / 27  # slope of L* near black, exact (CIE 15:2004, 8.2.1.1 as fractions)
_EPSILON: Final = 216 / 24389  # (6/29)^3
_KNEE: Final = 6 / 29  # f at epsilon


def _f(ratio: NDArray[np.float64]) -> NDArray[np.float64]:
    """Compress a ratio to white; linear at and below epsilon, so also for negatives."""
    root: NDArray[np.float64] = np.where(
        ratio > _EPSILON, np.cbrt(ratio), (KAPPA * ratio + 16.0) / 116.0
    )
    return root


def _f_inverse(root: NDArray[np.float64]) -> NDArray[np.float64]:
    """Undo `_f`."""
    ratio: NDArray[np.float64] = np.where(root > _KNEE, root**3, (116.0 * root - 16.0) / KAPPA)
    return ratio


def xyz_to_lab(xyz: ArrayLike, white_xyz: ArrayLike = D50_XYZ) -> NDArray[np.float64]:
    """CIELAB of relative XYZ.

    Parameters
    ----------
    xyz
        (..., 3), Y = 1 for the white. Negative values are allowed.
    white_xyz
        The white that becomes L* 100, a* b* 0.

    Notes
    -----
    Source: CIE 15:2004, equations 8.3 to 8.11, constants as exact fractions (ISO/CIE 11664-4).

    Examples
    --------
    >>> xyz_to_lab([0.9642, 1.0, 0.8249]).tolist()
    [100.0, 0.0, 0.0]
    """
    ratio = np.asarray(xyz, dtype=np.float64) / np.asarray(white_xyz, dtype=np.float64)
    fx, fy, fz = np.moveaxis(_f(ratio), -1, 0)
    return np.stack([116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)], axis=-1)


def lab_to_xyz(lab: ArrayLike, white_xyz: ArrayLike = D50_XYZ) -> NDArray[np.float64]:
    """Relative XYZ of CIELAB; the exact inverse of `xyz_to_lab`.

    Examples
    --------
    >>> lab_to_xyz([100.0, 0.0, 0.0]).tolist()
    [0.9642, 1.0, 0.8249]
    """
    L, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    fy = (L + 16.0) / 116.0
    roots = np.stack([fy + a / 500.0, fy, fy - b / 200.0], axis=-1)
    return _f_inverse(roots) * np.asarray(white_xyz, dtype=np.float64)


def lab_to_lch(lab: ArrayLike) -> NDArray[np.float64]:
    """Lightness, chroma and hue angle in degrees (0 inclusive to 360 exclusive).

    A colour without chroma has hue 0.
    """
    L, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    hue = np.degrees(np.arctan2(b, a))
    hue = np.where(hue < 0.0, hue + 360.0, hue)
    hue = np.where((hue >= 360.0) | ((a == 0.0) & (b == 0.0)), 0.0, hue)
    return np.stack([L, np.hypot(a, b), hue], axis=-1)


def lch_to_lab(lch: ArrayLike) -> NDArray[np.float64]:
    """CIELAB of lightness, chroma and hue angle in degrees."""
    L, C, hue_degrees = np.moveaxis(np.asarray(lch, dtype=np.float64), -1, 0)
    h = np.radians(hue_degrees)
    return np.stack([L, C * np.cos(h), C * np.sin(h)], axis=-1)


def y_to_lightness(y: ArrayLike) -> NDArray[np.float64]:
    """L* of relative luminance Y (1 = white).

    >>> round(float(y_to_lightness(0.18)), 2)
    49.5
    """
    return 116.0 * _f(np.asarray(y, dtype=np.float64))[()] - 16.0


def lightness_to_y(lightness: ArrayLike) -> NDArray[np.float64]:
    """Relative luminance Y (1 = white) of L*.

    >>> round(float(lightness_to_y(50)), 4)
    0.1842
    """
    return _f_inverse((np.asarray(lightness, dtype=np.float64) + 16.0) / 116.0)[()]
