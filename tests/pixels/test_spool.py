"""A picture on its side is kept in a temporary file while it is turned: whole, or with a reason."""

from __future__ import annotations

import errno
import io
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.engine.errors import OutputError
from firstsheet.pixels.lines import Spool

WIDTH_PX, HEIGHT_PX = 40, 24


class Columns:
    """Stored lines are upright columns: each holds its own number, rising downwards."""

    def make(
        self, low: int, valid: int, planes: NDArray[np.float32], rows: NDArray[np.int64]
    ) -> None:
        for line in range(valid):
            planes[0, rows[line]] = 1000.0 * (low + line) + np.arange(HEIGHT_PX)


class NearlyFull(io.BytesIO):
    """A file that takes a few bytes at a time, and none beyond its room."""

    def __init__(self, room: int) -> None:
        super().__init__()
        self.room = room

    def write(self, data: Any) -> int:
        part = memoryview(data)[:100]
        if self.tell() + len(part) > self.room:
            raise OSError(errno.ENOSPC, "No space left on device")
        return super().write(part)


def spool_in(file: io.BytesIO) -> Spool:
    spool = Spool(width_px=WIDTH_PX, height_px=HEIGHT_PX, channels=1, from_right=False)
    spool.close()
    spool._file = file  # type: ignore[assignment]  # stands in for the temporary file
    return spool


def test_a_file_that_takes_parts_is_written_whole() -> None:
    spool = spool_in(NearlyFull(10**6))
    spool.fill(Columns(), 0, WIDTH_PX, lambda: None)
    planes = np.empty((1, HEIGHT_PX, WIDTH_PX), np.float32)
    spool.read(0, HEIGHT_PX, planes, np.arange(HEIGHT_PX))
    down, across = np.mgrid[:HEIGHT_PX, :WIDTH_PX]
    assert (planes[0] == 1000.0 * across + down).all()


def test_a_full_disk_is_told_with_its_folder_and_what_is_needed() -> None:
    spool = spool_in(NearlyFull(2000))
    with pytest.raises(OutputError, match=r"temporary folder .* is full") as caught:
        spool.fill(Columns(), 0, WIDTH_PX, lambda: None)
    assert caught.value.code == "disk-full"
    assert "TMPDIR" in caught.value.choice
