"""One band of output rows: made, coloured, sharpened, coded, laid on the sheet.

A BandWork belongs to one thread and keeps its buffers from band to band, because touching
memory for the first time costs more than the arithmetic. Theory: docs/theory/speed.md.
Tests: tests/pixels/test_render_sheet.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.streams import RowSink
from firstsheet.pixels.arguments import LANES, TILE
from firstsheet.pixels.compose import bare_rows, lay_overlays
from firstsheet.pixels.job import RenderJob
from firstsheet.pixels.lines import RowMaker
from firstsheet.pixels.native import kernel
from firstsheet.pixels.repairs import PlacedRepairs, apply_aim
from firstsheet.pixels.sharpening import SharpenTables
from firstsheet.pixels.tables import KeepTables, LabTables, PaperTables

if TYPE_CHECKING:
    from firstsheet.cms.link import SourceColour

__all__ = ["BandWork", "Stages", "plan_bands"]

Singles = NDArray[np.float32]
_BAND_ROWS = 480


@dataclass(frozen=True, slots=True, eq=False)
class Stages:
    """Everything the threads share for one job; nothing here changes while they run."""

    job: RenderJob
    source: SourceColour | None
    channels: int  # of the picture
    plane_mode: int  # planes hold 0 light, 1 codes
    lab: LabTables | None  # None: only a stand-in for L* is known
    engine: Callable[[NDArray[np.float64]], NDArray[np.float64]] | None  # codes to XYZ
    paper: PaperTables | None  # None: the picture keeps its space
    keep: KeepTables | None
    luma: Singles  # weights of the stand-in for L*
    lift: Singles  # share of an L* step that each code moves by
    sharpen: SharpenTables | None
    repairs: PlacedRepairs | None = None  # in the colour the picture means
    aim: Singles | None = None  # black point after the repairs; without them it is in `lab`

    @property
    def margin(self) -> int:
        """Rows needed above and below."""
        return self.sharpen.margin if self.sharpen is not None else 0


def plan_bands(rows: int, threads: int) -> list[tuple[int, int]]:
    """Bands of rows, a multiple of the number of threads where the picture is tall enough."""
    rounds = max(1, -(-rows // (threads * _BAND_ROWS)))
    height = -(-rows // (threads * rounds))
    height = -(-height // LANES) * LANES
    return [(top, min(top + height, rows)) for top in range(0, rows, height)]


class BandWork:
    """The buffers and the steps of one thread."""

    def __init__(self, stages: Stages, sink: RowSink) -> None:
        self._s, self._sink, self._job = stages, sink, stages.job
        job = stages.job
        self._width, self._rows = job.width_px, job.height_px
        self._ring = 2 * LANES + 2 * stages.margin
        self._planes = np.empty((stages.channels, self._ring, self._width), np.float32)
        self._lab = np.zeros((3, self._ring, self._width), np.float32)
        self._sharp = np.empty((LANES, self._width), np.float32)
        sharp = stages.sharpen.scratch(LANES, TILE) if stages.sharpen is not None else 0
        self._scratch = np.empty(max(sharp, 32 * TILE), np.float32)
        self._cells = np.empty(8 * TILE, np.int32)
        self._sheet = bare_rows(job, LANES)

    def run(
        self,
        maker: RowMaker,
        low: int,
        high: int,
        *,
        reversed_down: bool,
        alive: Callable[[], None],
        done: Callable[[int], None],
    ) -> None:
        """Make rows low..high, counted as the maker counts, and write them."""
        margin = self._s.margin
        made, wanted = max(0, low - margin), min(self._rows, high + margin)
        next_row = low
        while next_row < high:
            alive()
            valid = min(LANES, wanted - made)
            ring_rows = (made + np.arange(LANES)) % self._ring
            maker.make(made, valid, self._planes, ring_rows)
            self._to_lab(ring_rows[:valid])
            if self._s.repairs is not None:
                lines = made + np.arange(valid, dtype=np.int64)
                self._repair(ring_rows[:valid], self._rows - 1 - lines if reversed_down else lines)
            made += valid
            ready = high if made == wanted else min(high, made - margin)
            while next_row < ready:
                count = min(LANES, ready - next_row)
                self._emit(next_row, count, reversed_down)
                next_row += count
                done(count)

    # ---- steps -----------------------------------------------------------------------------

    def _to_lab(self, ring_rows: NDArray[np.int64]) -> None:
        """Lab (or the stand-in for L*) of fresh rows."""
        s = self._s
        count = len(ring_rows)
        if s.engine is not None:
            codes = self._planes[:, ring_rows].astype(np.float64).clip(0.0, 1.0)
            xyz = s.engine(np.moveaxis(codes, 0, -1).reshape(-1, s.channels))
            fresh = np.moveaxis(xyz.reshape(count, self._width, 3), -1, 0)
            self._lab_kernel(
                np.ascontiguousarray(fresh, np.float32), np.arange(count), ring_rows, 3, 0
            )
        elif s.lab is not None:
            if s.paper is not None or s.sharpen is not None or s.repairs is not None:
                self._lab_kernel(self._planes, ring_rows, ring_rows, s.channels, s.plane_mode)
        elif s.sharpen is not None:
            kernel("luma")(
                self._planes.ctypes.data, self._ring, self._width, ring_rows.ctypes.data, count,
                s.channels, s.luma.ctypes.data, self._lab.ctypes.data, ring_rows.ctypes.data,
            )  # fmt: skip

    def _lab_kernel(
        self,
        planes: Singles,
        rows: NDArray[np.int64],
        ring_rows: NDArray[np.int64],
        channels: int,
        mode: int,
    ) -> None:
        assert self._s.lab is not None
        kernel("to_lab")(
            planes.ctypes.data, planes.shape[1], self._width, rows.ctypes.data, len(rows),
            channels, mode, self._s.lab.lut.ctypes.data, self._s.lab.matrix.ctypes.data,
            self._scratch.ctypes.data, self._cells.ctypes.data, self._lab.ctypes.data,
            self._ring, ring_rows.ctypes.data,
            int(self._s.paper is None and self._s.repairs is None),
        )  # fmt: skip

    def _repair(self, ring_rows: NDArray[np.int64], lines: NDArray[np.int64]) -> None:
        """Repair fresh rows; then on to the paper's black, or back to the picture's own codes."""
        s = self._s
        assert s.repairs is not None
        rows = np.ascontiguousarray(ring_rows)
        before = self._lab[:, rows].copy() if s.keep is not None else None
        s.repairs.apply(self._lab, rows, np.ascontiguousarray(lines))
        if s.aim is not None:
            apply_aim(self._lab, rows, s.aim)
        if s.keep is not None and before is not None:
            kernel("recode")(
                before.ctypes.data, len(rows), self._lab.ctypes.data, self._ring, self._width,
                rows.ctypes.data, len(rows), s.channels, s.plane_mode,
                s.keep.inverse.ctypes.data, s.keep.matrix.ctypes.data, self._planes.ctypes.data,
                self._ring, self._scratch.ctypes.data, self._cells.ctypes.data,
            )  # fmt: skip

    def _emit(self, row: int, count: int, reversed_down: bool) -> None:
        """Sharpen, code and write finished rows."""
        s, job = self._s, self._job
        rows = np.arange(row, row + count) % self._ring
        if s.sharpen is not None:
            near = np.arange(row - s.margin, row + count + s.margin)
            near = near.clip(0, self._rows - 1) % self._ring
            kernel("sharpen")(
                self._lab.ctypes.data, self._width, near.ctypes.data, count,
                s.sharpen.bell.ctypes.data, s.sharpen.radius, s.sharpen.soft.ctypes.data,
                s.sharpen.numbers.ctypes.data, self._scratch.ctypes.data,
                self._sharp.ctypes.data,
            )  # fmt: skip
        else:
            self._sharp[:count] = self._lab[0, rows]
        upright = row
        if reversed_down:
            rows = np.ascontiguousarray(rows[::-1])
            self._sharp[:count] = self._sharp[:count][::-1].copy()
            upright = self._rows - row - count
        top = job.picture_top_px + upright
        finish = self._paper if self._s.paper is not None else self._keep
        finish(rows, count, top)
        self._sink.write(top, lay_overlays(job, top, self._sheet[:count]))

    def _paper(self, rows: NDArray[np.int64], count: int, top: int) -> None:
        s, job, sheet = self._s, self._job, self._sheet
        paper = s.paper
        assert paper is not None
        kernel(paper.kernel_name(job.bits))(
            self._sharp.ctypes.data, self._lab.ctypes.data, self._ring, self._width,
            rows.ctypes.data, count, paper.numbers.ctypes.data, paper.shaping.ctypes.data,
            paper.shaping.shape[1], paper.cells.ctypes.data, paper.grid.ctypes.data,
            paper.outputs, paper.finish.ctypes.data, paper.finish.shape[1],
            self._scratch.ctypes.data, self._cells.ctypes.data, sheet.ctypes.data,
            sheet.shape[1] * sheet.shape[2], job.picture_left_px, top, job.dither_seed,
        )  # fmt: skip

    def _keep(self, rows: NDArray[np.int64], count: int, top: int) -> None:
        s, job, sheet = self._s, self._job, self._sheet
        lut = inverse = matrix = s.lift  # never read where no curves are known
        mode = 2
        if s.sharpen is None:
            if s.keep is not None:
                inverse, mode = s.keep.inverse, s.plane_mode
            kernel(f"plain_u{job.bits}")(
                self._planes.ctypes.data, self._ring, self._width, rows.ctypes.data, count,
                s.channels, mode, inverse.ctypes.data, self._scratch.ctypes.data,
                self._cells.ctypes.data, sheet.ctypes.data, sheet.shape[1] * sheet.shape[2],
                job.picture_left_px, top, job.dither_seed,
            )  # fmt: skip
            return
        if s.keep is not None:
            lut, inverse, matrix = s.keep.lut, s.keep.inverse, s.keep.matrix
            mode = s.plane_mode
        kernel(f"keep_u{job.bits}")(
            self._sharp.ctypes.data, self._lab.ctypes.data, self._planes.ctypes.data, self._ring,
            self._width, rows.ctypes.data, count, s.channels, mode, lut.ctypes.data,
            inverse.ctypes.data, matrix.ctypes.data, s.lift.ctypes.data,
            self._scratch.ctypes.data, self._cells.ctypes.data, sheet.ctypes.data,
            sheet.shape[1] * sheet.shape[2], job.picture_left_px, top, job.dither_seed,
        )  # fmt: skip
