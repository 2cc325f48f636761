"""JPEG quality and chroma sampling, read from a file's tables.

Takes quantisation tables and sampling factors; gives a quality of 1 to 100 on the scale of the
Independent JPEG Group and the sampling in words. Theory: docs/theory/judging.md. Tests:
tests/engine/file/test_jpeg.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["JpegQuality", "chroma_sampling", "from_zigzag", "jpeg_quality", "standard_luma"]

# ITU-T T.81 (1992), annex K, tables K.1 (luminance) and K.2 (chrominance), natural order.
_LUMA: Final = np.array(
    [
        [16, 11, 10, 16, 24, 40, 51, 61],
        [12, 12, 14, 19, 26, 58, 60, 55],
        [14, 13, 16, 24, 40, 57, 69, 56],
        [14, 17, 22, 29, 51, 87, 80, 62],
        [18, 22, 37, 56, 68, 109, 103, 77],
        [24, 35, 55, 64, 81, 104, 113, 92],
        [49, 64, 78, 87, 103, 121, 120, 101],
        [72, 92, 95, 98, 112, 100, 103, 99],
    ]
).ravel()
_CHROMA: Final = np.array(
    [
        [17, 18, 24, 47, 99, 99, 99, 99],
        [18, 21, 26, 66, 99, 99, 99, 99],
        [24, 26, 56, 99, 99, 99, 99, 99],
        [47, 66, 99, 99, 99, 99, 99, 99],
        [99, 99, 99, 99, 99, 99, 99, 99],
        [99, 99, 99, 99, 99, 99, 99, 99],
        [99, 99, 99, 99, 99, 99, 99, 99],
        [99, 99, 99, 99, 99, 99, 99, 99],
    ]
).ravel()


@dataclass(frozen=True, slots=True, kw_only=True)
class JpegQuality:
    """The quality that made these tables, or the nearest one."""

    quality: int  # 1..100
    exact: bool  # the tables are the standard ones, scaled; otherwise an estimate


def from_zigzag(table: ArrayLike) -> NDArray[np.int64]:
    """Put the 64 values of a DQT segment, as they lie in the file, into natural order."""
    values = np.asarray(table, dtype=np.int64).ravel()
    if values.size != 64:
        raise ValueError(f"a quantisation table has 64 values, got {values.size}")
    rows, columns = np.divmod(np.arange(64), 8)
    diagonal = rows + columns
    along = np.where(diagonal % 2 == 0, columns, rows)  # even diagonals run upwards
    order = np.lexsort((along, diagonal))
    natural = np.empty(64, dtype=np.int64)
    natural[order] = values
    return natural


def jpeg_quality(luma: ArrayLike, chroma: ArrayLike | None = None) -> JpegQuality:
    """Find the quality whose scaled standard tables lie nearest.

    Parameters
    ----------
    luma, chroma
        Quantisation tables of 64 values in natural (row by row) order; see `from_zigzag`.

    Notes
    -----
    Scaling of the Independent JPEG Group's library: s = 5000 / q below 50, else 200 - 2 q, in
    whole numbers; value = (standard * s + 50) / 100, held to 1..255. Nearest by the sum of
    distances, each as a share of the larger of the two values, so that no frequency rules.
    """
    given, base = [np.asarray(luma, dtype=np.int64).ravel()], [_LUMA]
    if chroma is not None:
        given.append(np.asarray(chroma, dtype=np.int64).ravel())
        base.append(_CHROMA)
    found, standard = np.concatenate(given), np.concatenate(base)
    if found.shape != standard.shape or found.min() < 1:
        raise ValueError("a quantisation table has 64 values of 1 or more")
    tables = _scaled(standard, np.arange(1, 101))
    distance = (np.abs(tables - found) / np.maximum(tables, found)).sum(axis=1)
    best = int(distance.argmin())
    return JpegQuality(quality=best + 1, exact=bool(distance[best] == 0.0))


def _scaled(standard: NDArray[np.int64], quality: NDArray[np.int64]) -> NDArray[np.int64]:
    """Standard tables at several qualities, (qualities, values)."""
    scale = np.where(quality < 50, 5000 // quality, 200 - 2 * quality)
    return np.asarray(np.clip((standard * scale[:, None] + 50) // 100, 1, 255), dtype=np.int64)


def standard_luma(quality: int) -> NDArray[np.int64]:
    """The standard luma table at a quality of 1 to 100, 64 values in natural order.

    >>> standard_luma(75)[:4].tolist()
    [8, 6, 5, 8]
    """
    return np.asarray(_scaled(_LUMA, np.array([quality]))[0], dtype=np.int64)


_SAMPLING: Final = {
    (1, 1): "4:4:4",
    (2, 1): "4:2:2",
    (2, 2): "4:2:0",
    (1, 2): "4:4:0",
    (4, 1): "4:1:1",
    (4, 2): "4:1:0",
}


def chroma_sampling(factors: Sequence[tuple[int, int]]) -> str | None:
    """Name the chroma sampling of a JPEG's components.

    Parameters
    ----------
    factors
        (horizontal, vertical) sampling factors per component, luma first, as in the frame
        header (ITU-T T.81, B.2.2).

    Returns
    -------
    str or None
        Such as 4:2:0; `H x V` in words where no name is usual; None for one component.

    Examples
    --------
    >>> chroma_sampling([(2, 2), (1, 1), (1, 1)])
    '4:2:0'
    """
    if len(factors) < 3:
        return None
    (luma_h, luma_v), (chroma_h, chroma_v) = factors[0], factors[1]
    if luma_h % chroma_h == 0 and luma_v % chroma_v == 0:
        ratio = (luma_h // chroma_h, luma_v // chroma_v)
        return _SAMPLING.get(ratio, f"chroma 1/{ratio[0]} wide, 1/{ratio[1]} high")
    return f"factors {luma_h}x{luma_v} to {chroma_h}x{chroma_v}"
