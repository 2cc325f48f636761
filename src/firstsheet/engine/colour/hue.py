"""Hue in a space where blue stays blue.

Takes CIELAB D50; gives Oklab, hue angles and the turn from one colour to another. In CIELAB a
line of constant hue bends from blue to violet, so turns are measured in Oklab.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_region_hue.py.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.adaptation import bradford, white_from_xy
from firstsheet.engine.colour.lab import D50_XYZ, lab_to_xyz, xyz_to_lab

__all__ = ["hue_turn", "lab_of_oklab", "oklab_of_lab", "oklab_of_xyz_d65"]

# Source: Bjorn Ottosson, "A perceptual color space for image processing", 2020, matrices M1, M2.
_M1: Final = np.array(
    [
        [0.8189330101, 0.3618667424, -0.1288597137],
        [0.0329845436, 0.9293118715, 0.0361456387],
        [0.0482003018, 0.2643662691, 0.6338517070],
    ]
)
_M2: Final = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)
_D50_TO_D65: Final = bradford(D50_XYZ, white_from_xy(0.3127, 0.3290))
_M1_BACK: Final = np.linalg.inv(_M1)
_M2_BACK: Final = np.linalg.inv(_M2)
_D65_TO_D50: Final = np.linalg.inv(_D50_TO_D65)


def oklab_of_xyz_d65(xyz: ArrayLike) -> NDArray[np.float64]:
    """Oklab of XYZ under D65, Y = 1 for the white.

    Examples
    --------
    >>> oklab_of_xyz_d65([0.0, 1.0, 0.0]).round(3).tolist()
    [0.922, -0.671, 0.263]
    """
    lms: NDArray[np.float64] = np.cbrt(np.asarray(xyz, dtype=np.float64) @ _M1.T)
    oklab: NDArray[np.float64] = lms @ _M2.T
    return oklab


def oklab_of_lab(lab: ArrayLike) -> NDArray[np.float64]:
    """Oklab of CIELAB D50, adapted to D65 by Bradford."""
    return oklab_of_xyz_d65(lab_to_xyz(lab) @ _D50_TO_D65.T)


def lab_of_oklab(oklab: ArrayLike) -> NDArray[np.float64]:
    """CIELAB D50 of Oklab; undoes `oklab_of_lab`.

    Examples
    --------
    >>> lab_of_oklab(oklab_of_lab([30.0, 68.0, -112.0])).round(6).tolist()
    [30.0, 68.0, -112.0]
    """
    lms = (np.asarray(oklab, dtype=np.float64) @ _M2_BACK.T) ** 3
    lab: NDArray[np.float64] = xyz_to_lab(lms @ _M1_BACK.T @ _D65_TO_D50.T)
    return lab


def hue_turn(
    wanted_oklab: ArrayLike, printed_oklab: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far the hue turns, and how far that is in colour.

    Returns
    -------
    tuple
        The turn in degrees, -180 to 180, positive from blue towards violet; and 100 times the
        Oklab distance the turn alone makes, 2 sqrt(C1 C2) sin(turn / 2), which is small where
        either colour is nearly grey and the angle means nothing.

    Examples
    --------
    >>> turn, apart = hue_turn([0.5, 0.1, 0.0], [0.5, 0.0, 0.1])
    >>> round(float(turn)), round(float(apart), 2)
    (90, 14.14)
    """
    one, two = np.asarray(wanted_oklab), np.asarray(printed_oklab)
    a1, b1, a2, b2 = one[..., 1], one[..., 2], two[..., 1], two[..., 2]
    turn = np.arctan2(a1 * b2 - b1 * a2, a1 * a2 + b1 * b2)
    mean_chroma = np.sqrt(np.hypot(a1, b1) * np.hypot(a2, b2))
    apart = 200.0 * mean_chroma * np.sin(0.5 * np.abs(turn))
    return np.degrees(turn), apart
