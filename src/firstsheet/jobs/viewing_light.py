"""The light a print gives back, averaged as coarsely as the eye allows, and looked at in bands.

Takes a prepared plan; gives light (XYZ) of the whole print after ink spread, and through the eye
from its stated distance where that is asked for. The command line's seen.png and the page's
tiles are both made of these bands, so they agree. No more than a few bands are held at a time.
Theory: docs/theory/acutance.md. Tests: tests/jobs/test_seen_light.py, tests/web/test_bench_seen.py.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM
from firstsheet.engine.sharpness.viewing_filter import reach_px, seen_part, seen_step
from firstsheet.engine.streams import Progress, Rows, StopCheck
from firstsheet.engine.units import MM_PER_INCH

if TYPE_CHECKING:
    from firstsheet.jobs.planning.colour_path import ColourPath
    from firstsheet.jobs.planning.open_picture import Prepared

__all__ = [
    "BAND_ROWS",
    "Keeper",
    "PrintLight",
    "RowsInMemory",
    "ink_words",
    "light_of_codes",
    "print_light",
]

BAND_ROWS = 512
_MARGIN_PX = 64  # around a band: what lies farther off changes it by less than 0.00003 of white


def ink_words(plan: Plan) -> str:
    """The ink spread of a plan's surface, in words that stand inside a sentence."""
    spread_um = INK_SPREAD_MM[plan.stock.surface] * 1000.0
    return f"ink spread of {spread_um:.0f} µm assumed from the surface"


def light_of_codes(way: ColourPath, mode: str, codes: NDArray[Any]) -> NDArray[Any]:
    """Light the paper gives back for codes of the print file, XYZ relative to its white."""
    from firstsheet.pixels.tilecolours import light_of_lab
    from firstsheet.pixels.tilework import wide

    fast = way.tile_colours
    if mode == "paper" and fast is not None:
        return light_of_lab(fast.printed_lab(np.ascontiguousarray(wide(codes))))
    shares = codes / float(np.iinfo(codes.dtype).max)
    if mode == "as-is":
        return lab_to_xyz(way.chain.wanted_lab(shares))
    device = way.chain.device(shares) if mode == "keep" else shares
    return lab_to_xyz(way.chain.printed_lab(device))


class Keeper(Protocol):
    """Keeps rows that come in any order."""

    def write(self, top: int, rows: Rows) -> None:
        """Put rows to their place."""
        ...

    def rows(self, top: int, bottom: int) -> Rows:
        """Whole rows."""
        ...


class RowsInMemory:
    """A keeper for the command line, which shows one picture and ends."""

    def __init__(self, width_px: int, height_px: int) -> None:
        self._all = np.empty((height_px, width_px, 3), np.float32)

    def write(self, top: int, rows: Rows) -> None:
        """Put rows to their place."""
        self._all[top : top + len(rows)] = rows

    def rows(self, top: int, bottom: int) -> Rows:
        """Whole rows."""
        return self._all[top:bottom]


class _Averages:
    """Takes rows of the print in any order; passes on the means of square blocks of their light."""

    def __init__(self, way: ColourPath, mode: str, size_px: tuple[int, int], step: int) -> None:
        self._way, self._mode, self._step = way, mode, step
        self.width, self.height = size_px[0] // step, size_px[1] // step
        self._begun: dict[int, tuple[NDArray[np.float64], int]] = {}
        self._lock = threading.Lock()
        self.keeper: Keeper | None = None

    def write(self, top: int, rows: Rows) -> None:
        """Take rows of the print."""
        light = light_of_codes(self._way, self._mode, rows[:, : self.width * self._step])
        narrow = light.reshape(len(rows), self.width, self._step, 3).mean(axis=2, dtype=np.float64)
        with self._lock:
            for row, mean in enumerate(narrow, top):
                self._take(row, mean)

    def _take(self, row: int, mean: NDArray[np.float64]) -> None:
        """Keep a row until all of its blocks are there; what is left over below has no block."""
        at, inside = divmod(row, self._step)
        if at >= self.height:
            return
        held, count = self._begun.get(at) or (np.empty((self._step, self.width, 3)), 0)
        held[inside] = mean
        if count + 1 < self._step:
            self._begun[at] = (held, count + 1)
            return
        self._begun.pop(at, None)
        assert self.keeper is not None
        self.keeper.write(at, held.mean(axis=0, keepdims=True).astype(np.float32))


@dataclass(frozen=True, slots=True, eq=False)
class PrintLight:
    """Averaged light of a whole print, and how it is looked at."""

    kept: Keeper
    width_px: int
    height_px: int
    step: int  # print pixels along a side that were averaged into one
    pitch_mm: float  # of an averaged pixel on paper
    spread_mm: float  # of the ink
    distance_mm: float

    def bands(self) -> Iterator[tuple[int, int]]:
        """First row and last row but one of each band, from the top."""
        for top in range(0, self.height_px, BAND_ROWS):
            yield top, min(top + BAND_ROWS, self.height_px)

    def band(self, top: int, bottom: int, *, eye: bool) -> NDArray[Any]:
        """Light of some rows, XYZ (rows, width, 3) float32, after ink and, if wished, the eye.

        What lies beyond the picture's edge is its edge continued.
        """
        distance_mm = self.distance_mm if eye else None
        reach = reach_px(self.pitch_mm, distance_mm=distance_mm, spread_mm=self.spread_mm)
        margin = max(reach, _MARGIN_PX)
        above, below = max(0, top - margin), min(self.height_px, bottom + margin)
        rows = np.asarray(self.kept.rows(above, below), dtype=np.float32)
        beyond = (margin - (top - above), margin - (below - bottom))
        return np.asarray(
            seen_part(
                np.pad(rows, (beyond, (margin, margin), (0, 0)), mode="edge"),
                margin_px=margin,
                pitch_mm=self.pitch_mm,
                spread_mm=self.spread_mm,
                distance_mm=distance_mm,
                averaged=self.step,
            )
        )


def print_light(
    prepared: Prepared,
    way: ColourPath,
    keeper: Callable[[int, int], Keeper],
    *,
    progress: Progress,
    stop: StopCheck,
    threads: int,
) -> PrintLight:
    """Render the whole print and keep its light at a raster that suffices from its distance.

    Parameters
    ----------
    keeper
        Makes what keeps the averaged light, for a width and a height in pixels.

    Raises
    ------
    StoppedError
        When `stop` says so.
    """
    from firstsheet.jobs.planning.render_job import render_job
    from firstsheet.pixels.render import render

    plan = prepared.plan
    size, distance_mm = plan.size, plan.place.distance_mm
    step = seen_step(size.ppi, distance_mm, max(size.width_px, size.height_px))
    step = min(step, size.width_px, size.height_px)
    means = _Averages(way, plan.colour.mode, (size.width_px, size.height_px), step)
    kept = means.keeper = keeper(means.width, means.height)
    job = replace(
        render_job(prepared),
        sheet_width_px=size.width_px,
        sheet_height_px=size.height_px,
        picture_left_px=0,
        picture_top_px=0,
        overlays=(),
    )
    render(
        prepared.opened.source,
        job,
        prepared.source_colour,
        prepared.link,
        means,
        progress=progress,
        stop=stop,
        threads=threads,
    )
    return PrintLight(
        kept=kept,
        width_px=means.width,
        height_px=means.height,
        step=step,
        pitch_mm=step * MM_PER_INCH / size.ppi,
        spread_mm=INK_SPREAD_MM[plan.stock.surface],
        distance_mm=distance_mm,
    )
