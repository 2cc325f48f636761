"""Repairs laid over the pixels of one picture: which part of each mask lies under which pixel.

Takes RepairFields and where the picture's pixels lie in the whole upright file; changes Lab
planes in place by compiled kernels. Nothing here is touched, nor compiled, where a job has no
repairs. Theory: docs/theory/repair-pixels.md. Tests: tests/pixels/test_repairs.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.pixels.arguments import TILE
from firstsheet.pixels.native import kernel
from firstsheet.pixels.tables import D50_XYZ

if TYPE_CHECKING:
    from firstsheet.cms.link import PaperLink
    from firstsheet.engine.loss.repair.record import RepairField

__all__ = ["Lies", "PlacedRepairs", "aim_numbers", "apply_aim", "place_repairs"]

Singles = NDArray[np.float32]
Counts = NDArray[np.int32]
Rows = NDArray[np.int64]
Lies = tuple[float, float, float, float]  # left, top, width, height: shares of the upright file


@dataclass(frozen=True, slots=True, eq=False)
class _Axis:
    """The mask's cell below each pixel of one side, and the share of the next."""

    cells: Counts
    shares: Singles

    def part(self, low: int, high: int) -> _Axis:
        return _Axis(
            np.ascontiguousarray(self.cells[low:high]), np.ascontiguousarray(self.shares[low:high])
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    """One field with the places of its mask."""

    shift: Singles  # (n, n, n, 3)
    mask: Singles  # (h, w), at least two by two; (1, 1) and never read where there is none
    across: int  # columns of the mask; 0: none
    down: int
    columns: _Axis
    lines: _Axis


@dataclass(frozen=True, slots=True, eq=False)
class PlacedRepairs:
    """All repairs of one picture of a certain size, in their order."""

    fields: tuple[_Placed, ...]

    def part(self, left: int, top: int, right: int, bottom: int) -> PlacedRepairs:
        """The same for a rectangle of the picture, pixels."""
        return PlacedRepairs(
            tuple(
                _Placed(
                    one.shift, one.mask, one.across, one.down,
                    one.columns.part(left, right), one.lines.part(top, bottom),
                )
                for one in self.fields
            )
        )  # fmt: skip

    def apply(self, lab: Singles, rows: Rows, lines: Rows) -> None:
        """Repair rows of Lab planes, (3, ring, width), in place.

        Parameters
        ----------
        lab
            Media-relative Lab as the picture means it, before any black point.
        rows
            Which rows of the planes.
        lines
            Which lines of the upright picture they are.
        """
        _, ring, width = lab.shape
        scratch, cells = np.empty(4 * TILE, np.float32), np.empty(3 * TILE, np.int32)
        for one in self.fields:
            kernel("repair")(
                lab.ctypes.data, ring, width, rows.ctypes.data, len(rows), lines.ctypes.data,
                one.shift.ctypes.data, one.shift.shape[0], one.mask.ctypes.data, one.across,
                one.down, one.columns.cells.ctypes.data, one.columns.shares.ctypes.data,
                one.lines.cells.ctypes.data, one.lines.shares.ctypes.data,
                len(one.lines.cells), scratch.ctypes.data, cells.ctypes.data,
            )  # fmt: skip


def place_repairs(
    fields: Sequence[RepairField], *, size_px: tuple[int, int], lies: Lies
) -> PlacedRepairs:
    """Lay fields over a picture.

    Parameters
    ----------
    fields
        In the order in which they act.
    size_px
        Width and height of the picture made.
    lies
        What of the whole upright file it shows. The centre of a mask's cell is the centre of
        its stretch of the file; between centres the mask is read bilinearly, outside held.
    """
    placed = []
    for field in fields:
        shift = np.ascontiguousarray(field.shift, dtype=np.float32)
        if shift.ndim != 4 or len(set(shift.shape[:3])) != 1 or shift.shape[0] < 2:
            raise ValueError(f"a table of shifts of shape {shift.shape}")
        mask = np.ones((1, 1), np.float32) if field.mask is None else field.mask
        down, across = mask.shape
        columns = _axis(size_px[0], lies[0], lies[2], across)
        lines = _axis(size_px[1], lies[1], lies[3], down)
        if field.mask is None:
            placed.append(_Placed(shift, mask, 0, 0, columns, lines))
            continue
        whole = np.pad(mask, ((0, int(down == 1)), (0, int(across == 1))), mode="edge")
        whole = np.ascontiguousarray(whole, dtype=np.float32)
        placed.append(_Placed(shift, whole, whole.shape[1], whole.shape[0], columns, lines))
    return PlacedRepairs(tuple(placed))


def _axis(pixels: int, start: float, length: float, cells: int) -> _Axis:
    share = start + (np.arange(pixels) + 0.5) * (length / pixels)
    place = np.clip(share * cells - 0.5, 0.0, cells - 1.0)
    below = np.minimum(np.floor(place), max(cells - 2, 0))
    return _Axis(below.astype(np.int32), (place - below).astype(np.float32))


def aim_numbers(link: PaperLink) -> Singles | None:
    """Scale and offset of XYZ over white for `apply_aim`; None where they change nothing."""
    scale, offset = np.asarray(link.xyz_scale), np.asarray(link.xyz_offset) / D50_XYZ
    if (scale == 1.0).all() and (offset == 0.0).all():
        return None
    return np.concatenate([scale, offset]).astype(np.float32)


def apply_aim(lab: Singles, rows: Rows, numbers: Singles) -> None:
    """Black point or the absolute white, on rows of Lab planes, in place."""
    _, ring, width = lab.shape
    scratch: NDArray[Any] = np.empty(6 * TILE, np.float32)
    kernel("aim")(
        lab.ctypes.data, ring, width, rows.ctypes.data, len(rows), numbers.ctypes.data,
        scratch.ctypes.data,
    )  # fmt: skip
