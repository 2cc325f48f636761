"""Codes of a print on an even grid of its picture, taken while the rows go by.

Takes a sink and where the picture lies; passes every row on. With them a print made again can be
held against the one before, also when its file is gone. Tests: tests/pixels/test_sample.py.
"""

from __future__ import annotations

import threading
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.streams import Rows, RowSink

__all__ = ["SAMPLE_SIDE", "SamplingSink", "sample_places"]

SAMPLE_SIDE = 32  # columns, and rows


def sample_places(first: int, length: int) -> NDArray[np.intp]:
    """Middles of `SAMPLE_SIDE` equal stretches of a side, as pixels.

    Examples
    --------
    >>> sample_places(100, 320)[:3]
    array([105, 115, 125])
    """
    middles = (np.arange(SAMPLE_SIDE) + 0.5) * length / SAMPLE_SIDE
    return first + np.floor(middles).astype(np.intp)


class SamplingSink:
    """Passes rows on to another sink (or to nobody) and keeps the codes on the grid.

    Parameters
    ----------
    sink
        Takes the rows; None lets them go.
    left, top, width, height
        The picture on the sheet, px.
    """

    def __init__(self, sink: RowSink | None, left: int, top: int, width: int, height: int) -> None:
        self._sink = sink
        self._columns = sample_places(left, width)
        self._rows = sample_places(top, height)
        self._kept: NDArray[Any] | None = None
        self._lock = threading.Lock()

    def write(self, top: int, rows: Rows) -> None:
        """Keep what lies on the grid and pass the rows on; safe from several threads."""
        first, last = np.searchsorted(self._rows, (top, top + len(rows)))
        if last > first:
            with self._lock:
                if self._kept is None:
                    self._kept = np.zeros((SAMPLE_SIDE, SAMPLE_SIDE, rows.shape[2]), rows.dtype)
            self._kept[first:last] = rows[self._rows[first:last] - top][:, self._columns]
        if self._sink is not None:
            self._sink.write(top, rows)

    def codes(self) -> NDArray[np.uint16]:
        """Codes (32, 32, channels), 16 bit; 8-bit codes are widened."""
        if self._kept is None:
            raise ValueError("no row of the picture came")
        if self._kept.dtype == np.uint8:
            return self._kept.astype(np.uint16) * np.uint16(257)
        return self._kept.astype(np.uint16)
