"""What lies between a file's pixels and the paper: the numbers of a print, and the file's response.

Takes what the file resolves, the scale, raster, kernel, ink and sharpening of a print; gives the
response of file and resampling, on which both the sharpened edge (`edgesharp`) and the whole
chain (`printmtf`) build. Theory: docs/theory/acutance.md. Tests: tests/engine/test_printmtf.py.

The ink spread of each surface is an assumption until a print was measured.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.records import Record
from firstsheet.engine.sharpness.eye import pixel_mtf
from firstsheet.engine.sizing.resampling import KERNELS
from firstsheet.engine.units import MM_PER_INCH

__all__ = [
    "INK_SPREAD_MM",
    "Chain",
    "MtfShape",
    "file_response",
    "kernel_response",
    "shape_response",
]

Floats = NDArray[np.float64]

# Gaussian sigma of the spread of ink in the coating, mm: an assumption, no source; a printed
# target will replace it. Ordered as the trade orders papers: gloss holds most, canvas least.
INK_SPREAD_MM: Mapping[str, float] = MappingProxyType(
    {
        "gloss": 0.025,
        "baryta": 0.028,
        "satin": 0.030,
        "matte": 0.045,
        "canvas": 0.070,
        "newsprint": 0.080,
        "other": 0.040,
    }
)


class MtfShape(Record):
    """How a response falls: where it is a half and a tenth, in cycles per file pixel."""

    half_cpp: float
    tenth_cpp: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Everything between the file's pixels and the eye, except the distance."""

    shape: MtfShape | None = None  # None: an ideal file, limited by its square pixels
    scale: float = 1.0  # print pixels per file pixel
    ppi: float = 360.0  # raster of the print file
    kernel: str = "catmull-rom"  # a name from engine.sizing.resampling.KERNELS
    spread_mm: float = 0.0  # Gaussian sigma of the ink
    gain: float = 0.0  # of the detail band, as in SharpenPlan
    radius_px: float = 2.0  # Gaussian sigma on the print raster
    limit_l: float | None = None  # of overshoot, L*, as in SharpenPlan; None: an unlimited filter
    gate_l: tuple[float, float] = (3.0, 9.0)  # height of an edge: none below, all above

    @property
    def pitch_mm(self) -> float:
        """Side of a print pixel."""
        return MM_PER_INCH / self.ppi

    @property
    def edge_key(self) -> Chain:
        """What a sharpened edge depends on: without ink, and without the raster's fineness."""
        return replace(self, spread_mm=0.0, ppi=360.0)

    @property
    def cut_off_per_mm(self) -> float:
        """The lower of the two Nyquist frequencies, of file and of raster."""
        return 0.5 / (self.pitch_mm * max(1.0, self.scale))


def shape_response(frequency_cpp: ArrayLike, shape: MtfShape | None) -> Floats:
    """Response of a file at a frequency in cycles per file pixel.

    Notes
    -----
    exp(-(f/fc)^p) through the two measured points; a Gaussian has p = 2. None gives the sinc
    of a square pixel. Where both points agree with no finite p, p is held to 1..8.

    Examples
    --------
    >>> shape_response([0.0, 0.1, 0.2], MtfShape(half_cpp=0.1, tenth_cpp=0.2)).round(3)
    array([1. , 0.5, 0.1])
    """
    f = np.asarray(frequency_cpp, dtype=np.float64)
    if shape is None:
        return pixel_mtf(f)
    ratio = max(shape.tenth_cpp / shape.half_cpp, 1.01)
    power = min(max(math.log(math.log(10.0) / math.log(2.0)) / math.log(ratio), 1.0), 8.0)
    fc = shape.half_cpp / math.log(2.0) ** (1.0 / power)
    response: Floats = np.exp(-((f / fc) ** power))
    return response


@lru_cache(maxsize=16)
def _kernel_table(name: str) -> Floats:
    """Response of a kernel at 0, 1/256 ... 1 cycles/sample, by numerical integration."""
    kernel = KERNELS[name]
    count = int(kernel.support * 256)
    middles = np.linspace(0.0, kernel.support, count, endpoint=False) + 0.5 / 256.0
    heights = kernel.function(middles)
    f = np.linspace(0.0, 1.0, 257)
    table: Floats = np.cos(2 * math.pi * np.outer(f, middles)) @ heights
    table /= table[0]
    table.setflags(write=False)
    return table


def kernel_response(frequency_per_sample: ArrayLike, kernel: str = "catmull-rom") -> Floats:
    """Response of an interpolation kernel, 0 to 1 cycles/sample (held beyond).

    >>> kernel_response([0.25, 0.5]).round(3)
    array([0.939, 0.493])
    """
    f = np.asarray(frequency_per_sample, dtype=np.float64)
    return np.interp(f, np.linspace(0.0, 1.0, 257), _kernel_table(kernel))


def file_response(frequency_per_pixel: ArrayLike, chain: Chain) -> Floats:
    """Response of file and resampling, at a frequency in cycles per print pixel."""
    per_pixel = np.asarray(frequency_per_pixel, dtype=np.float64)
    response = shape_response(per_pixel * chain.scale, chain.shape)
    if chain.scale != 1.0:
        response = response * kernel_response(per_pixel * max(1.0, chain.scale), chain.kernel)
    return response
