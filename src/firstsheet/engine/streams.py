"""How rows of pixels travel between rooms that must not know each other.

A RowSource is an opened picture; a RowSink is a file being written. Both live in `files`;
`pixels` works between them. Rows count from the top, as stored (orientation not applied).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

__all__ = ["Progress", "RowSink", "RowSource", "Rows", "StopCheck"]

Rows = NDArray[Any]  # (rows, width, channels): uint8, uint16 or float32, C-contiguous
Progress = Callable[[str, float], None]  # what is being done, share done 0..1
StopCheck = Callable[[], None]  # raises StoppedError when the person stopped the work


class RowSource(Protocol):
    """An opened picture that gives its stored rows, any range, from any thread."""

    @property
    def width_px(self) -> int: ...
    @property
    def height_px(self) -> int: ...
    @property
    def channels(self) -> int:
        """Colour channels after alpha and extras were resolved: 1, 3 or 4 (CMYK)."""
        ...

    @property
    def dtype(self) -> np.dtype[Any]:
        """One of uint8, uint16, float32."""
        ...

    def rows(self, top: int, bottom: int) -> Rows:
        """Rows top (inclusive) to bottom (exclusive) as (rows, width, channels).

        Min-is-white grey is already turned, palettes are already expanded, planes are
        interleaved. Safe to call from several threads. Raises RefusedPictureError where
        the file is damaged there.
        """
        ...

    def close(self) -> None: ...


class RowSink(Protocol):
    """A file being written, rows in any order, each row exactly once."""

    def write(self, top: int, rows: Rows) -> None:
        """Take finished rows beginning at `top`. Safe to call from several threads."""
        ...
