"""Numbers of a SourceColour and a PaperLink, laid out as the kernels read them.

Takes the plain data of cms.link; gives contiguous single-precision arrays.
Theory: docs/theory/speed.md. Tests: tests/pixels/test_colour_kernels.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from firstsheet.cms.link import PaperLink, SourceColour

__all__ = ["KeepTables", "LabTables", "PaperTables", "keep_tables", "lab_tables", "paper_tables"]

Singles = NDArray[np.float32]
CODES = 65536
D50_XYZ = np.array([0.9642, 1.0, 0.8249])  # the PCS illuminant, ICC.1


@dataclass(frozen=True, slots=True, eq=False)
class LabTables:
    """Light to Lab: matrix has 3 x 3 shares of XYZ over white and 3 offsets."""

    lut: Singles  # (channels, 65536), code to light
    shared: bool  # all channels have the same curve
    matrix: Singles  # (12,)


@dataclass(frozen=True, slots=True, eq=False)
class PaperTables:
    """Lab to device."""

    numbers: Singles  # (6,): scale and offset of L*, a*, b*
    shaping: Singles  # (3, N)
    grid: NDArray[np.int64]  # (3,)
    cells: Singles  # (g0, g1, g2, 4)
    finish: Singles  # (outputs, M)
    outputs: int
    neighbours: Literal["eight", "four"]  # nodes of the grid mixed for a colour

    def kernel_name(self, bits: int) -> str:
        """The kernel that reads these tables and writes codes of that many bits."""
        return f"paper_{self.neighbours}_u{bits}"


@dataclass(frozen=True, slots=True, eq=False)
class KeepTables:
    """Light back to codes: matrix holds to XYZ over white, then back from it."""

    lut: Singles  # (channels, 65536)
    inverse: Singles  # (channels, 65536), over the square root of light
    matrix: Singles  # (6 * channels,)


def lab_tables(
    source: SourceColour,
    scale: NDArray[np.float64] | None = None,
    offset: NDArray[np.float64] | None = None,
) -> LabTables:
    """Tables from codes to Lab, with the affine step on XYZ folded in."""
    assert source.decode is not None
    assert source.to_xyz is not None
    lut = np.ascontiguousarray(source.decode, dtype=np.float32)
    factor = (np.ones(3) if scale is None else np.asarray(scale)) / D50_XYZ
    shift = (np.zeros(3) if offset is None else np.asarray(offset)) / D50_XYZ
    matrix = np.zeros((3, 3))
    matrix[:, : source.channels] = factor[:, None] * source.to_xyz
    shared = bool((lut == lut[0]).all())
    return LabTables(lut, shared, np.concatenate([matrix.ravel(), shift]).astype(np.float32))


def straight_lab_tables(
    scale: NDArray[np.float64] | None, offset: NDArray[np.float64] | None
) -> LabTables:
    """As `lab_tables`, for planes that hold XYZ already."""
    factor = (np.ones(3) if scale is None else np.asarray(scale)) / D50_XYZ
    shift = (np.zeros(3) if offset is None else np.asarray(offset)) / D50_XYZ
    numbers = np.concatenate([np.diag(factor).ravel(), shift]).astype(np.float32)
    return LabTables(np.zeros((3, CODES), np.float32), True, numbers)


def paper_tables(link: PaperLink) -> PaperTables:
    """Tables from Lab to device codes; the grid gets four values a node."""
    g0, g1, g2, outputs = link.clut.shape
    if not 1 <= outputs <= 4:
        raise ValueError(f"a paper of {outputs} colorants")
    cells = np.zeros((g0, g1, g2, 4), dtype=np.float32)
    cells[..., :outputs] = link.clut
    return PaperTables(
        numbers=np.concatenate([link.lab_scale, link.lab_offset]).astype(np.float32),
        shaping=np.ascontiguousarray(np.clip(link.input_curves, 0.0, 1.0), dtype=np.float32),
        grid=np.array([g0, g1, g2], dtype=np.int64),
        cells=cells,
        finish=np.ascontiguousarray(link.output_curves, dtype=np.float32),
        outputs=outputs,
        neighbours="four" if link.interpolation == "tetrahedral" else "eight",
    )


def keep_tables(source: SourceColour) -> KeepTables:
    """Tables from light back to codes; exact to far less than a 16-bit code.

    The inverse is kept over the square root of light: there all usual curves are nearly
    straight, so that linear reading stays exact in the shadows too.
    """
    assert source.decode is not None
    assert source.to_xyz is not None
    assert source.from_xyz is not None
    codes = np.linspace(0.0, 1.0, CODES)
    inverse = np.empty((source.channels, CODES))
    for channel, curve in enumerate(np.asarray(source.decode, dtype=np.float64)):
        rising = np.maximum.accumulate(curve)
        inverse[channel] = np.interp(codes, np.sqrt(np.clip(rising, 0.0, 1.0)), codes)
    forth = np.asarray(source.to_xyz) / D50_XYZ[:, None]
    back = np.asarray(source.from_xyz) * D50_XYZ[None, :]
    return KeepTables(
        lut=np.ascontiguousarray(source.decode, dtype=np.float32),
        inverse=inverse.astype(np.float32),
        matrix=np.concatenate([forth.ravel(), back.ravel()]).astype(np.float32),
    )
