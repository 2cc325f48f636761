"""The streamed facts pass: every pixel looked at once, in bands, in bounded memory.

Takes an opened source; gives histograms, ranges, clipped patches and how far the rows are
real. Theory: docs/theory/opening.md. Tests: tests/files/test_open_facts.py.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.bands import Progress, StopCheck
from firstsheet.files.source_picture import PictureSource
from firstsheet.files.source_raw import DamagedRowsError
from firstsheet.files.source_resolve import compose_over
from firstsheet.files.source_vips import vips

__all__ = ["Measured", "largest_patch", "measure", "measure_patches"]

_BAND_BYTES = 6 << 20
_GRID_CELLS = 512  # along the longer side: a patch is found on cells, exact below 513 px
_WORKERS = 2
_CONNECTED_SHARE = 0.5  # a cell belongs to a patch when half of its pixels are clipped


@dataclass(slots=True)
class Measured:
    """What the pass found. Float pictures are counted in 65,536 bins over 0..1."""

    histograms: NDArray[np.int64]  # (channels, 256 or 65536)
    valid_rows: int
    damage: str = ""
    pixels: int = 1
    clear_pixels: int = 0  # pixels that are not fully opaque
    float_lowest: float = 0.0
    float_highest: float = 0.0
    not_numbers: int = 0
    low_patch_percent: list[float] = field(default_factory=list)
    high_patch_percent: list[float] = field(default_factory=list)
    small_grey: NDArray[np.float32] = field(default_factory=lambda: np.zeros((1, 1), np.float32))


def measure(
    source: PictureSource, progress: Progress | None = None, stop: StopCheck | None = None
) -> Measured:
    """Look at every pixel once, on two threads.

    Rows after the first damaged one are not counted; `valid_rows` says how many are real.
    """
    deep = source.dtype != np.uint8
    bins = 65536 if deep else 256
    total = Measured(
        np.zeros((source.channels, bins), np.int64),
        source.height_px,
        pixels=source.width_px * source.height_px,
    )
    grid = _Grid(source.width_px, source.height_px, source.channels)
    lock = threading.Lock()

    def look(top: int, bottom: int) -> None:
        source.verify(top, bottom)
        stored = source.stored(top, bottom)
        codes, extremes = _codes_of(source, stored)
        counts = _histograms(codes, bins)
        cells = grid.count(codes, counts, top)
        grid.sum_tones(codes, top)
        with lock:
            total.histograms += counts
            grid.add(cells)
            total.clear_pixels += extremes.clear_pixels
            total.float_lowest = min(total.float_lowest, extremes.low)
            total.float_highest = max(total.float_highest, extremes.high)
            total.not_numbers += extremes.not_numbers

    damage = _in_bands(source, look, progress, stop, grid.cell)
    if damage is not None:
        total.valid_rows, total.damage = damage.first_row, damage.reason
    total.low_patch_percent = [largest_patch(plane, grid.area) for plane in grid.low]
    total.high_patch_percent = [largest_patch(plane, grid.area) for plane in grid.high]
    total.small_grey = (grid.tones / float(bins - 1)).astype(np.float32)
    return total


def measure_patches(source: PictureSource, top_code: int, valid_rows: int) -> list[float]:
    """Largest patch at another highest code, per channel, where a file's own top is lower."""
    grid = _Grid(source.width_px, source.height_px, source.channels, top_code=top_code)
    lock = threading.Lock()

    def look(top: int, bottom: int) -> None:
        codes, _ = _codes_of(source, source.stored(top, bottom))
        cells = grid.count(codes, None, top)
        with lock:
            grid.add(cells)

    _in_bands(source, look, None, None, grid.cell, valid_rows)
    return [largest_patch(plane, grid.area) for plane in grid.high]


@dataclass(slots=True)
class _Extremes:
    clear_pixels: int = 0
    low: float = 0.0
    high: float = 0.0
    not_numbers: int = 0


def _codes_of(source: PictureSource, stored: NDArray[Any]) -> tuple[NDArray[Any], _Extremes]:
    """Colour codes as integers, over the background, and the extremes met on the way."""
    how = source.resolver
    found = _Extremes()
    if how.alpha_sample is not None:
        colours, alpha = how.parts(stored)
        assert alpha is not None
        full = 1.0 if alpha.dtype.kind == "f" else np.iinfo(alpha.dtype).max
        found.clear_pixels = int(np.count_nonzero(alpha < full))
        if found.clear_pixels:
            colours = compose_over(
                colours,
                alpha,
                model=how.model,
                background=how.background,
                premultiplied=how.alpha_premultiplied,
            )
    elif how.dtype.kind == "f":
        colours, _ = how.parts(stored)
    else:
        return how.resolve(stored), found
    if how.dtype.kind != "f":
        return colours, found
    return _float_codes(how.resolve(stored), colours, found)


def _float_codes(
    resolved: NDArray[Any], colours: NDArray[Any], found: _Extremes
) -> tuple[NDArray[Any], _Extremes]:
    whole = np.isfinite(colours)
    found.not_numbers = int(colours.size - np.count_nonzero(whole))
    if found.not_numbers:
        colours = np.where(whole, colours, np.float32(0))
        resolved = np.where(np.isfinite(resolved), resolved, np.float32(0))
    found.low, found.high = float(colours.min()), float(colours.max())
    codes = np.clip(resolved, 0, 1) * np.float32(65535) + np.float32(0.5)
    return codes.astype(np.uint16), found


def _histograms(codes: NDArray[Any], bins: int) -> NDArray[np.int64]:
    """Counts per channel and code; libvips counts outside the interpreter lock."""
    rows, width, channels = codes.shape
    flat = np.ascontiguousarray(codes)
    kind = "uchar" if flat.dtype == np.uint8 else "ushort"
    image = vips().Image.new_from_memory(flat.data, width, rows, channels, kind)
    counts = image.hist_find().numpy().reshape(-1, channels)
    out = np.zeros((channels, bins), np.int64)
    out[:, : len(counts)] = counts.T
    return out


def _in_bands(
    source: PictureSource,
    look: Callable[[int, int], None],
    progress: Progress | None,
    stop: StopCheck | None,
    multiple: int,
    until: int | None = None,
) -> DamagedRowsError | None:
    """Run `look` over all bands, two at a time, in order; gives the first damage met."""
    height = source.height_px if until is None else until
    row_bytes = max(1, source.width_px * source.channels * source.dtype.itemsize)
    step = max(1, _BAND_BYTES // row_bytes // multiple) * multiple
    waiting: list[tuple[int, Future[None]]] = []
    first: DamagedRowsError | None = None

    def settle() -> None:
        nonlocal first
        done_to, future = waiting.pop(0)
        try:
            future.result()
        except DamagedRowsError as error:
            if first is None or error.first_row < first.first_row:
                first = error
        if progress is not None:
            progress("looking at every pixel", done_to / height)

    with ThreadPoolExecutor(_WORKERS) as pool:
        try:
            for top in range(0, height, step):
                if stop is not None:
                    stop()
                bottom = min(height, top + step)
                waiting.append((bottom, pool.submit(look, top, bottom)))
                if len(waiting) > _WORKERS:
                    settle()
                if first is not None:
                    break
        finally:
            while waiting:
                settle()
    if first is not None and first.first_row > 0 and until is None:
        _look_again(look, step, first)
    return first


def _look_again(look: Callable[[int, int], None], step: int, first: DamagedRowsError) -> None:
    """Count the real rows of the band in which the damage begins."""
    top = first.first_row // step * step
    if top < first.first_row:
        try:
            look(top, first.first_row)
        except DamagedRowsError as error:
            first.first_row = min(first.first_row, error.first_row)


class _Grid:
    """Counts of clipped pixels on a coarse grid, per channel, low and high."""

    def __init__(
        self, width: int, height: int, channels: int, *, top_code: int | None = None
    ) -> None:
        self.cell = max(1, -(-max(width, height) // _GRID_CELLS))
        shape = (channels, -(-height // self.cell), -(-width // self.cell))
        self.low = np.zeros(shape, np.int32)
        self.high = np.zeros(shape, np.int32)
        self.tones = np.zeros(shape[1:], np.float64)  # mean of the middle channel's codes
        tall = np.minimum(self.cell, height - np.arange(shape[1]) * self.cell)
        wide = np.minimum(self.cell, width - np.arange(shape[2]) * self.cell)
        self.area = np.outer(tall, wide)
        self._top_code = top_code

    def count(
        self, codes: NDArray[Any], counts: NDArray[np.int64] | None, top: int
    ) -> list[tuple[NDArray[Any], int, int, NDArray[Any]]]:
        """Clipped pixels per cell of one band; channels with too few for a cell are skipped."""
        full = int(np.iinfo(codes.dtype).max) if self._top_code is None else self._top_code
        smallest = max(1, int(_CONNECTED_SHARE * self.area.min()))
        found = []
        for channel in range(codes.shape[2]):
            for plane, code in ((self.low, 0), (self.high, full)):
                if counts is not None and counts[channel, code] < smallest:
                    continue
                mask = (codes[:, :, channel] == code).view(np.uint8)
                found.append((plane, channel, top, self._reduced(mask)))
        return found

    def sum_tones(self, codes: NDArray[Any], top: int) -> None:
        """Mean of one channel per cell, from a few rows of each; bands never share a cell, so no lock is needed."""
        middle = codes[:, :, codes.shape[2] // 2 if codes.shape[2] == 3 else 0]
        step = max(1, self.cell // 4)
        lines = np.flatnonzero(np.arange(len(middle)) % self.cell % step == 0)
        starts = np.searchsorted(lines, np.arange(0, len(middle), self.cell))
        taken = np.diff(np.append(starts, len(lines)))[:, None]
        down = np.add.reduceat(middle[lines].astype(np.uint32), starts, axis=0)
        columns = np.arange(0, middle.shape[1], self.cell)
        wide = np.diff(np.append(columns, middle.shape[1]))
        sums = np.add.reduceat(down, columns, axis=1, dtype=np.float64)
        first = top // self.cell
        self.tones[first : first + len(starts)] = sums / (taken * wide)

    def add(self, found: list[tuple[NDArray[Any], int, int, NDArray[Any]]]) -> None:
        """Put one band's cells in their place."""
        for plane, channel, top, cells in found:
            first = top // self.cell
            plane[channel, first : first + len(cells)] += cells

    def _reduced(self, mask: NDArray[np.uint8]) -> NDArray[np.int32]:
        """Sum per cell: down first, along whole rows, then across the few rows that are left."""
        rows = np.arange(0, mask.shape[0], self.cell)
        columns = np.arange(0, mask.shape[1], self.cell)
        down = np.add.reduceat(mask, rows, axis=0, dtype=np.uint16 if self.cell > 255 else np.uint8)
        cells: NDArray[np.int32] = np.add.reduceat(down, columns, axis=1, dtype=np.int32)
        return cells


def largest_patch(cells: NDArray[np.int32], area: NDArray[np.int64]) -> float:
    """Clipped pixels of the largest connected group of cells, per cent of all pixels.

    Cells of which at least half is clipped are joined with their eight neighbours. A patch
    smaller than half a cell is missed; the cell is 1/512 of the longer side.
    """
    joined = cells >= np.maximum(1, _CONNECTED_SHARE * area)
    if not joined.any():
        return 0.0
    labels = _labelled(joined)
    sizes = np.bincount(labels[joined], weights=cells[joined])
    return float(sizes.max()) / float(area.sum()) * 100.0


def _labelled(joined: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Number connected cells (eight neighbours): the lowest index spreads until it rests."""
    height, width = joined.shape
    far = height * width
    labels = np.full((height + 2, width + 2), far, np.int64)
    inner = labels[1:-1, 1:-1]
    inner[joined] = np.flatnonzero(joined)
    while True:
        before = inner.copy()
        low = np.minimum(np.minimum(labels[:-2], labels[1:-1]), labels[2:])
        low = np.minimum(np.minimum(low[:, :-2], low[:, 1:-1]), low[:, 2:])
        inner[joined] = low[joined]
        parents = np.append(inner.reshape(-1), far)
        inner[joined] = parents[inner[joined]]  # jump to what one's own label points at
        if np.array_equal(before, inner):
            return inner
