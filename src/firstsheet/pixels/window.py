"""A rectangle of the finished picture, pixel for pixel what the whole print holds there.

Takes a RenderJob and a rectangle; gives device codes. The weights are those of the whole
picture, cut to the rectangle, so that phases and rounding agree; around it, as much is made as
the sharpening looks at. Theory: docs/theory/tiles.md. Tests: tests/pixels/test_window.py.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.sizing.resampling import AxisWeights
from firstsheet.engine.streams import Rows, RowSource
from firstsheet.pixels.bands import BandWork
from firstsheet.pixels.job import RenderJob, choose_kernel
from firstsheet.pixels.lines import Geometry, geometry
from firstsheet.pixels.native import prepare
from firstsheet.pixels.render import kernels_needed, row_makers, stages_of  # the same steps

if TYPE_CHECKING:
    from firstsheet.cms.link import PaperLink, SourceColour

__all__ = ["BlockSource", "Windows"]


class BlockSource(RowSource, Protocol):
    """A source that can also give a stretch of columns."""

    def block(self, top: int, bottom: int, left: int, right: int) -> Rows:
        """Rows top to bottom of the columns left to right, (rows, columns, channels)."""
        ...


class Windows:
    """Rectangles of one job's picture, as often as wanted. Safe to use from several threads."""

    def __init__(
        self,
        source: BlockSource,
        job: RenderJob,
        source_colour: SourceColour | None,
        paper_link: PaperLink | None,
    ) -> None:
        self._source, self._job, self._colour = source, job, source_colour
        self._link = paper_link
        # the light is chosen by the scale of the whole, which a rectangle no longer tells
        self._stages = stages_of(source, job, source_colour, paper_link)
        self._whole = geometry(
            stored_px=(source.width_px, source.height_px),
            crop=job.crop,
            orientation=job.orientation,
            output_px=(job.width_px, job.height_px),
            kernel_name=choose_kernel(job.scale) if job.kernel == "auto" else job.kernel,
        )
        prepare(kernels_needed(source, self._stages))

    def make(self, left: int, top: int, width: int, height: int) -> NDArray[Any]:
        """Codes of a rectangle of the picture, (height, width, channels), as the print has them.

        The rectangle is counted from the picture's own top left corner and lies inside it.
        """
        job, margin = self._job, self._stages.margin
        x0, y0 = max(0, left - margin), max(0, top - margin)
        x1 = min(job.width_px, left + width + margin)
        y1 = min(job.height_px, top + height + margin)
        plan, strip = self._cut(x0, y0, x1, y1)
        part = replace(
            job,
            sheet_width_px=job.picture_left_px + x1,
            sheet_height_px=job.picture_top_px + y1,
            picture_left_px=job.picture_left_px + x0,
            picture_top_px=job.picture_top_px + y0,
            width_px=x1 - x0,
            height_px=y1 - y0,
            overlays=(),
        )
        repairs = self._stages.repairs
        if repairs is not None:
            repairs = repairs.part(x0, y0, x1, y1)
        stages = replace(self._stages, job=part, repairs=repairs)
        sink = _Sink(part)
        with row_makers(strip, stages, plan, 1, _silent, _go_on, 0.0) as make_maker:
            work = BandWork(stages, sink)
            work.run(
                make_maker(0, part.height_px),
                0,
                part.height_px,
                reversed_down=plan.reversed_down and not plan.turned,
                alive=_go_on,
                done=lambda _rows: None,
            )
        return sink.codes[top - y0 : top - y0 + height, left - x0 : left - x0 + width]

    def _cut(self, x0: int, y0: int, x1: int, y1: int) -> tuple[Geometry, RowSource]:
        """The weights of a rectangle, and the columns of the source it reads."""
        whole, job = self._whole, self._job
        if whole.turned:
            down = _lines(whole.down, x0, x1, job.width_px, backwards=whole.reversed_down)
            across = _part(whole.across, y0, y1)
        else:
            down = _lines(whole.down, y0, y1, job.height_px, backwards=whole.reversed_down)
            across = _part(whole.across, x0, x1)
        low = int(across.first.min())
        high = int(across.first.max()) + across.taps
        moved = AxisWeights(first=across.first - low, weights=across.weights)
        return replace(whole, down=down, across=moved), _Columns(self._source, low, high)


def _part(axis: AxisWeights, low: int, high: int) -> AxisWeights:
    return AxisWeights(first=axis.first[low:high], weights=axis.weights[low:high])


def _lines(axis: AxisWeights, low: int, high: int, count: int, *, backwards: bool) -> AxisWeights:
    """Lines low to high, counted upright, of an axis that may be made from its end."""
    if backwards:
        low, high = count - high, count - low
    return _part(axis, low, high)


@dataclass(frozen=True, slots=True, eq=False)
class _Columns:
    """A stretch of a source's columns as a source."""

    source: BlockSource
    left: int
    right: int

    @property
    def width_px(self) -> int:
        return self.right - self.left

    @property
    def height_px(self) -> int:
        return self.source.height_px

    @property
    def channels(self) -> int:
        return self.source.channels

    @property
    def dtype(self) -> np.dtype[Any]:
        return self.source.dtype

    def rows(self, top: int, bottom: int) -> Rows:
        return np.ascontiguousarray(self.source.block(top, bottom, self.left, self.right))

    def close(self) -> None:
        """Nothing of its own."""


class _Sink:
    """Keeps the picture's part of the rows."""

    def __init__(self, job: RenderJob) -> None:
        kind = np.uint8 if job.bits == 8 else np.uint16
        self._left, self._top = job.picture_left_px, job.picture_top_px
        channels = len(job.white_device)
        self.codes: NDArray[Any] = np.empty((job.height_px, job.width_px, channels), kind)

    def write(self, top: int, rows: Rows) -> None:
        at = top - self._top
        self.codes[at : at + len(rows)] = rows[:, self._left :]


def _silent(_words: str, _share: float) -> None:
    """Nobody listens."""


def _go_on() -> None:
    """Nobody stops."""
