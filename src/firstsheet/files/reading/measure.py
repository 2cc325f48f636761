"""The streamed facts pass: every pixel looked at once, in bands, in bounded memory.

Takes an opened source; gives histograms, ranges, clipped patches and how far the rows are
real. Theory: docs/theory/opening.md. Tests: tests/files/test_open_facts.py.
"""

from __future__ import annotations

import io
import json
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.files.reading.patches import Grid, largest_patch
from firstsheet.files.reading.raw_rows import DamagedRowsError
from firstsheet.files.reading.resolve import compose_over
from firstsheet.files.reading.source import PictureSource
from firstsheet.files.reading.vips import vips

__all__ = ["Measured", "MeasuredKeeper", "measure", "measure_patches", "packed", "unpacked"]

_BAND_BYTES = 6 << 20
_WORKERS = 2


_PLAIN = (
    "valid_rows",
    "pixels",
    "clear_pixels",
    "float_lowest",
    "float_highest",
    "not_numbers",
    "low_patch_percent",
    "high_patch_percent",
)


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


class MeasuredKeeper(Protocol):
    """Where a pass over a file's pixels is remembered between two runs of the program."""

    def load(self, key: Sequence[object]) -> bytes | None:
        """What was kept for a key, None where there is nothing."""
        ...

    def save(self, key: Sequence[object], answer: bytes) -> None:
        """Keep what was measured."""
        ...


def packed(measured: Measured, sha256: str) -> bytes:
    """A whole, undamaged pass as bytes, with the SHA-256 of the file it belongs to."""
    out = io.BytesIO()
    plain = {name: getattr(measured, name) for name in _PLAIN}
    words = json.dumps({"sha256": sha256, **plain}).encode()
    np.savez_compressed(
        out,
        words=np.frombuffer(words, np.uint8),
        histograms=measured.histograms,
        small_grey=measured.small_grey,
    )
    return out.getvalue()


def unpacked(data: bytes) -> tuple[Measured, str]:
    """The other way round: the pass, and the SHA-256 of its file."""
    with np.load(io.BytesIO(data), allow_pickle=False) as parts:
        words = json.loads(parts["words"].tobytes())
        sha256 = words.pop("sha256")
        return Measured(parts["histograms"], small_grey=parts["small_grey"], **words), sha256


def measure(
    source: PictureSource, progress: Progress | None = None, stop: StopCheck | None = None
) -> Measured:
    """Look at every pixel once, on two threads.

    Only real rows are counted: after damage, the rows before it are looked at again.
    """
    total, damage = _measure(source, source.height_px, progress, stop)
    while damage is not None:
        first, reason = damage.first_row, damage.reason
        total, damage = _measure(source, first, progress, stop)
        total.valid_rows, total.damage = first, reason
    return total


def _measure(
    source: PictureSource, until: int, progress: Progress | None, stop: StopCheck | None
) -> tuple[Measured, DamagedRowsError | None]:
    deep = source.dtype != np.uint8
    bins = 65536 if deep else 256
    total = Measured(
        np.zeros((source.channels, bins), np.int64),
        until,
        pixels=max(1, source.width_px * until),
    )
    if until == 0:
        total.low_patch_percent = total.high_patch_percent = [0.0] * source.channels
        return total, None
    grid = Grid(source.width_px, source.height_px, source.channels)
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

    damage = _in_bands(source, look, progress, stop, grid.cell, until)
    total.low_patch_percent = [largest_patch(plane, grid.area) for plane in grid.low]
    total.high_patch_percent = [largest_patch(plane, grid.area) for plane in grid.high]
    total.small_grey = (grid.tones / float(bins - 1)).astype(np.float32)
    return total, damage


def measure_patches(source: PictureSource, top_code: int, valid_rows: int) -> list[float]:
    """Largest patch at another highest code, per channel, where a file's own top is lower."""
    grid = Grid(source.width_px, source.height_px, source.channels, top_code=top_code)
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
    until: int,
) -> DamagedRowsError | None:
    """Run `look` over all bands, two at a time, in order; gives the first damage met."""
    height = until
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
    return first
