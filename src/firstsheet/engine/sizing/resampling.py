"""Kernels for resampling, and the weights they give for one axis.

Takes lengths in pixels; gives the first source sample and the weights of each output sample.
Pixels themselves are not known here. Theory: docs/theory/resampling.md.
Tests: tests/engine/test_resampling.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "KERNELS",
    "AxisWeights",
    "Kernel",
    "bspline",
    "catmull_rom",
    "choose_kernel",
    "lanczos2",
    "lanczos3",
    "mitchell",
    "triangle",
    "weights",
]

Floats = NDArray[np.float64]


def _cubic(distance: Floats, b: float, c: float) -> Floats:
    """Two-parameter cubic of Mitchell and Netravali (SIGGRAPH 1988), equation 8."""
    x = np.abs(distance)
    near = ((12 - 9 * b - 6 * c) * x + (-18 + 12 * b + 6 * c)) * x * x + (6 - 2 * b)
    far = ((-b - 6 * c) * x + (6 * b + 30 * c)) * x * x + (-12 * b - 48 * c) * x + (8 * b + 24 * c)
    return np.where(x < 1, near, np.where(x < 2, far, 0.0)) / 6.0


def catmull_rom(distance: Floats) -> Floats:
    """Cubic with B = 0, C = 1/2: passes through the samples; support 2.

    >>> catmull_rom(np.array([0.0, 0.5, 1.5]))
    array([ 1.    ,  0.5625, -0.0625])
    """
    return _cubic(distance, 0.0, 0.5)


def mitchell(distance: Floats) -> Floats:
    """Cubic with B = C = 1/3: a little softer, smaller lobes; support 2."""
    return _cubic(distance, 1 / 3, 1 / 3)


def bspline(distance: Floats) -> Floats:
    """Cubic B-spline, B = 1, C = 0: no lobes, soft; support 2."""
    return _cubic(distance, 1.0, 0.0)


def triangle(distance: Floats) -> Floats:
    """Linear interpolation; support 1."""
    return np.maximum(0.0, 1.0 - np.abs(distance))


def lanczos2(distance: Floats) -> Floats:
    """Sinc windowed by the main lobe of a sinc twice as wide; support 2."""
    return np.where(np.abs(distance) < 2, np.sinc(distance) * np.sinc(distance / 2), 0.0)


def lanczos3(distance: Floats) -> Floats:
    """Sinc windowed by the main lobe of a sinc three times as wide; support 3."""
    return np.where(np.abs(distance) < 3, np.sinc(distance) * np.sinc(distance / 3), 0.0)


@dataclass(frozen=True, slots=True)
class Kernel:
    """A kernel and the distance, in samples, beyond which it is zero."""

    function: Callable[[Floats], Floats]
    support: float


KERNELS: Mapping[str, Kernel] = MappingProxyType(
    {
        "bspline": Kernel(bspline, 2.0),
        "catmull-rom": Kernel(catmull_rom, 2.0),
        "lanczos2": Kernel(lanczos2, 2.0),
        "lanczos3": Kernel(lanczos3, 3.0),
        "mitchell": Kernel(mitchell, 2.0),
        "triangle": Kernel(triangle, 1.0),
    }
)


@dataclass(frozen=True, slots=True, eq=False)
class AxisWeights:
    """Weights along one axis: output i is sum over k of weights[i, k] * source[first[i] + k].

    Every row of weights sums to 1 and every source index lies inside the picture.
    """

    first: NDArray[np.int64]  # (outputs,)
    weights: Floats  # (outputs, taps)

    @property
    def taps(self) -> int:
        """Samples read for each output sample."""
        return int(self.weights.shape[1])

    @property
    def copies(self) -> bool:
        """True where every output sample is one source sample, untouched."""
        return self.taps == 1


def weights(
    *,
    source_px: int,
    start_px: float,
    length_px: float,
    output_px: int,
    kernel: str = "catmull-rom",
    mirrored: bool = False,
) -> AxisWeights:
    """Weights that turn `length_px` of the source from `start_px` into `output_px` samples.

    Parameters
    ----------
    source_px
        Samples in the source along this axis.
    start_px, length_px
        The wanted stretch, in source samples; sample i covers i to i + 1. Fractions are kept.
    output_px
        Samples wanted.
    kernel
        A name from `KERNELS`.
    mirrored
        Read the stretch backwards.

    Returns
    -------
    AxisWeights
        One tap of weight 1 where nothing is resampled (whole start, output equals length).

    Raises
    ------
    ValueError
        If the stretch is empty or leaves the source, or the kernel is unknown.

    Notes
    -----
    When reducing, the kernel is stretched by length / output exactly (not by a whole number),
    so its cut-off lies at the new Nyquist limit. Weights are normalised to sum 1. Samples
    wanted beyond the picture's edge are read from the edge: their weight is added to it.
    """
    if output_px < 1 or length_px <= 0:
        raise ValueError("nothing to resample")
    if start_px < -1e-6 or start_px + length_px > source_px + 1e-6:
        raise ValueError("the stretch leaves the source")
    chosen = KERNELS.get(kernel)
    if chosen is None:
        raise ValueError(f"unknown kernel {kernel!r}")
    order = np.arange(output_px, dtype=np.float64)
    if mirrored:
        order = order[::-1]
    step = length_px / output_px
    if step == 1.0 and float(start_px).is_integer():
        return AxisWeights((order + start_px).astype(np.int64), np.ones((output_px, 1)))

    stretch = max(1.0, step)
    centre = start_px + (order + 0.5) * step  # of each output sample, in source samples
    reach = chosen.support * stretch
    first = np.floor(centre - reach + 0.5).astype(np.int64)
    taps = math.ceil(2 * reach) + 1
    index = first[:, None] + np.arange(taps)
    raw = chosen.function((index + 0.5 - centre[:, None]) / stretch)
    raw /= raw.sum(axis=1, keepdims=True)
    return _inside(first, index, raw, source_px)


def _inside(
    first: NDArray[np.int64], index: NDArray[np.int64], raw: Floats, source_px: int
) -> AxisWeights:
    """Move weights that fall outside the picture onto its edge samples; drop empty taps."""
    taps = min(raw.shape[1], source_px)
    moved_first = np.clip(first, 0, source_px - taps)
    slot = np.clip(index, 0, source_px - 1) - moved_first[:, None]
    if taps == raw.shape[1] and bool((slot == np.arange(taps)).all()):
        folded = raw
    else:
        slot = np.clip(slot, 0, taps - 1)
        folded = np.zeros((raw.shape[0], taps))
        np.add.at(folded, (np.arange(raw.shape[0])[:, None], slot), raw)
    while folded.shape[1] > 1 and not folded[:, -1].any():
        folded = folded[:, :-1]
    return AxisWeights(moved_first, np.ascontiguousarray(folded))


def choose_kernel(scale: float) -> str:
    """Kernel by the scale: small lobes in linear light, interpolation when enlarging.

    Measured in docs/theory/resampling.md.

    >>> choose_kernel(0.5), choose_kernel(2.0)
    ('mitchell', 'catmull-rom')
    """
    return "mitchell" if scale < 1 else "catmull-rom"
