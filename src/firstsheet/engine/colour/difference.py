"""Colour difference: CIE76, CIE94 and CIEDE2000.

Takes pairs of CIELAB colours (..., 3) that broadcast; gives differences of the broadcast shape,
float64. Large arrays are worked through in blocks, so memory beyond the result stays at a few
megabytes. Theory: docs/theory/colour.md. Tests: tests/engine/colour/test_difference.py.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["delta_e_76", "delta_e_94", "delta_e_2000"]

_Plane = NDArray[np.float64]

_BLOCK: Final = 8192  # colours; about 20 planes of 64 KiB each stay within a core's cache
_25_TO_7: Final = 25.0**7
_OPPOSITE: Final = 1e-14  # |sin| of the hue difference at which two hues count as opposite
_COS_30, _SIN_30 = math.cos(math.radians(30)), math.sin(math.radians(30))
_COS_6, _SIN_6 = math.cos(math.radians(6)), math.sin(math.radians(6))
_COS_63, _SIN_63 = math.cos(math.radians(63)), math.sin(math.radians(63))


def delta_e_76(first: ArrayLike, second: ArrayLike) -> NDArray[np.float64]:
    """Euclidean distance in CIELAB (CIE 15:2004, equation 8.21).

    >>> float(delta_e_76([50, 0, 0], [50, 3, 4]))
    5.0
    """
    gap = np.asarray(first, dtype=np.float64) - np.asarray(second, dtype=np.float64)
    distance: NDArray[np.float64] = np.sqrt(np.square(gap).sum(axis=-1))
    return distance


def delta_e_94(
    reference: ArrayLike, sample: ArrayLike, *, textiles: bool = False
) -> NDArray[np.float64]:
    """CIE94 difference of a sample from its reference; swapping the two changes the number.

    Parameters
    ----------
    reference, sample
        CIELAB, (..., 3).
    textiles
        Take kL = 2, K1 = 0.048, K2 = 0.014 instead of the graphic arts 1, 0.045, 0.015.

    Notes
    -----
    Source: CIE 116-1995. The weights use the chroma of the reference, not a mean.
    """
    kL, K1, K2 = (2.0, 0.048, 0.014) if textiles else (1.0, 0.045, 0.015)
    L1, a1, b1 = np.moveaxis(np.asarray(reference, dtype=np.float64), -1, 0)
    L2, a2, b2 = np.moveaxis(np.asarray(sample, dtype=np.float64), -1, 0)
    C1, C2 = np.hypot(a1, b1), np.hypot(a2, b2)
    dC = C1 - C2
    dH2 = np.maximum(0.0, (a1 - a2) ** 2 + (b1 - b2) ** 2 - dC**2)  # below 0 only by rounding
    SC, SH = 1.0 + K1 * C1, 1.0 + K2 * C1
    difference: NDArray[np.float64] = np.sqrt(((L1 - L2) / kL) ** 2 + (dC / SC) ** 2 + dH2 / SH**2)
    return difference


def delta_e_2000(first: ArrayLike, second: ArrayLike) -> NDArray[np.float64]:
    """CIEDE2000 difference with kL = kC = kH = 1.

    Parameters
    ----------
    first, second
        CIELAB, (..., 3); shapes broadcast.

    Notes
    -----
    Source: Sharma, Wu, Dalal (2005), Color Res. Appl. 30(1) 21-30; ISO/CIE 11664-6. Hue sums
    are taken with vectors instead of angles (the derivation is in docs/theory/colour.md); hues
    opposite to within 1e-14 follow the paper's rule for exactly 180 degrees.

    Examples
    --------
    >>> round(float(delta_e_2000([50, 2.6772, -79.7751], [50, 0, -82.7485])), 4)
    2.0425
    """
    one, two = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    shape = np.broadcast_shapes(one.shape, two.shape)
    if not shape or shape[-1] != 3:
        raise ValueError(f"colours must be (..., 3), got {one.shape} and {two.shape}")
    flat_one, flat_two = _rows(one, shape), _rows(two, shape)
    n_colours = math.prod(shape[:-1])
    out = np.empty(n_colours)
    for start in range(0, n_colours, _BLOCK):
        stop = min(start + _BLOCK, n_colours)
        one_planes, two_planes = _planes(flat_one, start, stop), _planes(flat_two, start, stop)
        out[start:stop] = _block_2000(one_planes, two_planes)
    return out.reshape(shape[:-1])[()]


def _rows(lab: NDArray[np.float64], shape: tuple[int, ...]) -> NDArray[np.float64]:
    """Give (n, 3) rows of the broadcast shape; a single colour stays one row."""
    if lab.size == 3:
        return lab.reshape(1, 3)
    return np.broadcast_to(lab, shape).reshape(-1, 3)


def _planes(rows: NDArray[np.float64], start: int, stop: int) -> NDArray[np.float64]:
    """Three planes L, a, b of a block of rows; a single colour is spread over the block."""
    if len(rows) == 1:
        return np.broadcast_to(rows.T, (3, stop - start))
    return np.ascontiguousarray(rows[start:stop].T)


def _block_2000(one: NDArray[np.float64], two: NDArray[np.float64]) -> _Plane:
    """CIEDE2000 of one block of planes; equation numbers are Sharma's."""
    L1, a1, b1 = one
    L2, a2, b2 = two
    C_mean = 0.5 * (np.sqrt(a1 * a1 + b1 * b1) + np.sqrt(a2 * a2 + b2 * b2))  # (2) (3)
    stretch = 1.5 - 0.5 * np.sqrt(_seventh_share(C_mean))  # 1 + G, (4) (5)
    a1, a2 = stretch * a1, stretch * a2
    C1, C2 = np.sqrt(a1 * a1 + b1 * b1), np.sqrt(a2 * a2 + b2 * b2)  # (6)
    c, s, dH = _mean_hue_and_difference(a1, b1, C1, a2, b2, C2)  # (7) (10) (11) (14)
    dC = C2 - C1  # (9)
    C_mean = 0.5 * (C1 + C2)  # (13)
    L50 = 0.5 * (L1 + L2) - 50.0  # (12)
    L50 *= L50
    dL = (L2 - L1) / (1.0 + 0.015 * L50 / np.sqrt(20.0 + L50))  # (8) (18)
    dC /= 1.0 + 0.045 * C_mean  # (19)
    dH /= 1.0 + 0.015 * C_mean * _hue_weight(c, s)  # (20)
    rotation = -2.0 * np.sqrt(_seventh_share(C_mean)) * _rotation_sine(c, s)  # (17) (21)
    out: _Plane = np.sqrt(dL * dL + dC * dC + dH * dH + rotation * dC * dH)  # (22)
    return out


def _seventh_share(C: _Plane) -> _Plane:
    """C^7 / (C^7 + 25^7) under the root of (4) and (17); the root is taken by the caller."""
    C2 = C * C
    C7 = C2 * C2 * C2 * C
    return C7 / (C7 + _25_TO_7)


def _mean_hue_and_difference(
    a1: _Plane, b1: _Plane, C1: _Plane, a2: _Plane, b2: _Plane, C2: _Plane
) -> tuple[_Plane, _Plane, _Plane]:
    """Cosine and sine of the mean hue, and the hue difference dH' with its sign.

    The mean hue bisects the smaller arc. It points along the sum of the two unit hue vectors,
    and also across their difference; the first is accurate below 90 degrees, the second above.
    """
    product = C1 * C2
    dot = a1 * a2 + b1 * b2
    cross = a1 * b2 - a2 * b1
    near = np.sqrt(0.5 * (product + np.maximum(dot, 0.0)))
    dH = np.divide(cross, near, out=np.zeros_like(near), where=near > 0.0)
    grey = product == 0.0
    x = np.where(grey, a1 + a2, a1 * C2 + a2 * C1)  # one grey: the hue of the other, (14)
    y = np.where(grey, b1 + b2, b1 * C2 + b2 * C1)
    wide = np.flatnonzero(dot < 0.0)
    if wide.size:
        opposite = np.abs(cross[wide]) <= _OPPOSITE * product[wide]
        first_lower = _first_hue_is_lower(a1[wide], b1[wide], a2[wide], b2[wide])
        sign = np.where(opposite, np.where(first_lower, 1.0, -1.0), np.sign(cross[wide]))
        dH[wide] = sign * np.sqrt(2.0 * (product[wide] - dot[wide]))
        x[wide] = sign * (b2[wide] * C1[wide] - b1[wide] * C2[wide])
        y[wide] = sign * (a1[wide] * C2[wide] - a2[wide] * C1[wide])
    length = np.sqrt(x * x + y * y)
    none = length == 0.0
    length[none] = 1.0
    x[none] = 1.0  # two greys: hue 0
    return x / length, y / length, dH


def _first_hue_is_lower(a1: _Plane, b1: _Plane, a2: _Plane, b2: _Plane) -> NDArray[np.bool_]:
    """Which of two opposite hues is the smaller angle in 0 to 360; swapping turns the answer."""
    upper1 = (b1 > 0.0) | ((b1 == 0.0) & (a1 > 0.0))  # 0 to below 180 degrees
    upper2 = (b2 > 0.0) | ((b2 == 0.0) & (a2 > 0.0))
    return np.where(upper1 != upper2, upper1, np.where(upper1, a1 > a2, a1 < a2))


def _hue_weight(c: _Plane, s: _Plane) -> _Plane:
    """T of (15), its cosines expanded into multiples of the mean hue."""
    c2, s2 = c * c - s * s, 2.0 * s * c
    c3, s3 = c * c2 - s * s2, s * c2 + c * s2
    c4, s4 = c2 * c2 - s2 * s2, 2.0 * s2 * c2
    return (
        1.0
        - 0.17 * (_COS_30 * c + _SIN_30 * s)
        + 0.24 * c2
        + 0.32 * (_COS_6 * c3 - _SIN_6 * s3)
        - 0.20 * (_COS_63 * c4 + _SIN_63 * s4)
    )


def _rotation_sine(c: _Plane, s: _Plane) -> _Plane:
    """Sine of twice the rotation angle of (16) and (21); it matters only near blue."""
    hue = np.degrees(np.arctan2(s, c))  # -180 to 180
    gap = hue + np.where(hue < 0.0, 360.0 - 275.0, -275.0)
    return np.sin(math.radians(60.0) * np.exp(-np.square(gap / 25.0)))
