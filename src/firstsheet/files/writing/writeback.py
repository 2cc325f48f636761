"""Ask the disk to begin keeping a stretch of a file while work goes on.

The final flush then finds little left to do. Only Linux offers it (`sync_file_range`); elsewhere
nothing happens. It promises nothing by itself: `files.writing.folder` still flushes every file.
"""

from __future__ import annotations

import ctypes
import functools
import sys
from typing import Any

__all__ = ["begin_to_keep"]

_START_WRITING = 2  # SYNC_FILE_RANGE_WRITE in linux/fs.h


def begin_to_keep(handle: int, place: int, length: int) -> None:
    """Start writing this stretch to the disk without waiting for it."""
    call = _call()
    if call is not None:
        call(handle, ctypes.c_int64(place), ctypes.c_int64(length), ctypes.c_uint(_START_WRITING))


@functools.cache
def _call() -> Any:
    if str(sys.platform) != "linux":
        return None
    return getattr(ctypes.CDLL(None), "sync_file_range", None)
