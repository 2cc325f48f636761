"""The sheet around the picture: bare paper, and the marks laid over it.

Takes a RenderJob; gives rows of device codes. Bare paper is exactly the white that the job
names. Tests: tests/pixels/test_render_sheet.py.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.streams import RowSink
from firstsheet.pixels.job import RenderJob

__all__ = ["bare_rows", "code_dtype", "lay_overlays", "picture_free_rows", "write_bare_rows"]

Codes = NDArray[Any]
_BARE_ROWS = 64


def code_dtype(job: RenderJob) -> type[np.uint8] | type[np.uint16]:
    """Type of the codes of the print file."""
    return np.uint8 if job.bits == 8 else np.uint16


def bare_rows(job: RenderJob, rows: int) -> Codes:
    """Rows of bare paper, (rows, sheet width, channels)."""
    full = (1 << job.bits) - 1
    white = np.clip(np.asarray(job.white_device, dtype=np.float64), 0.0, 1.0)
    codes = np.floor(white * full + 0.5).astype(code_dtype(job))
    sheet = np.empty((rows, job.sheet_width_px, len(codes)), code_dtype(job))
    sheet[:] = codes
    return sheet


def lay_overlays(job: RenderJob, top: int, rows: Codes) -> Codes:
    """Give the rows with every overlay that meets them; the rows given stay as they are."""
    laid = rows
    for overlay in job.overlays:
        height, width = overlay.codes.shape[:2]
        first, last = max(top, overlay.top_px), min(top + len(rows), overlay.top_px + height)
        left, right = max(0, overlay.left_px), min(job.sheet_width_px, overlay.left_px + width)
        if first >= last or left >= right:
            continue
        if laid is rows:
            laid = rows.copy()
        part = overlay.codes[
            first - overlay.top_px : last - overlay.top_px,
            left - overlay.left_px : right - overlay.left_px,
        ]
        if job.bits == 8:
            part = (part.astype(np.uint32) * 255 + 32767) // 65535
        laid[first - top : last - top, left:right] = part
    return laid


def picture_free_rows(job: RenderJob) -> list[tuple[int, int]]:
    """Stretches of sheet rows, (top, bottom), that the picture does not reach."""
    below = job.picture_top_px + job.height_px
    stretches = []
    for start, end in ((0, job.picture_top_px), (below, job.sheet_height_px)):
        stretches += [(top, min(top + _BARE_ROWS, end)) for top in range(start, end, _BARE_ROWS)]
    return stretches


def write_bare_rows(job: RenderJob, sink: RowSink, stretches: list[tuple[int, int]]) -> None:
    """Write stretches of sheet rows that hold no picture."""
    bare = bare_rows(job, _BARE_ROWS)
    for top, bottom in stretches:
        sink.write(top, lay_overlays(job, top, bare[: bottom - top]))
