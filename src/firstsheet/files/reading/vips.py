"""The forward reader: libvips decodes row by row, strictly, for formats without row access.

Takes a path; gives chunks of rows. `fail_on` is always set: by default libvips passes
damaged files in silence. Tests: tests/files/test_open_formats.py, test_open_damage.py.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.files.reading.raw_rows import DamagedRowsError

__all__ = ["VipsFailed", "harmless_warning", "vips", "vips_chunks", "vips_open"]

_DTYPES = {"uchar": np.uint8, "ushort": np.uint16, "float": np.float32}
_CHUNK_ROWS = 16

VipsFailed = Exception  # pyvips.Error, named without importing it


def vips() -> Any:
    """The pyvips module, with its memory of earlier operations switched off."""
    import pyvips

    pyvips.cache_set_max(0)
    logging.getLogger("pyvips").setLevel(logging.CRITICAL + 1)  # its errors are raised anyway
    return pyvips


def vips_open(path: Path, loader: str, **options: Any) -> Any:
    """Open a picture for one pass from top to bottom."""
    options = {"access": "sequential", "fail_on": "warning", **options}
    return getattr(vips().Image, loader)(os.fsencode(path), **options)


def vips_chunks(image: Any) -> Iterator[NDArray[Any]]:
    """Rows of `image` in chunks, from the top; DamagedRowsError where decoding stops."""
    dtype = np.dtype(_DTYPES[image.format])
    region = vips().Region.new(image)
    for top in range(0, image.height, _CHUNK_ROWS):
        rows = min(_CHUNK_ROWS, image.height - top)
        try:
            data = region.fetch(0, top, image.width, rows)
        except vips().Error as error:
            raise DamagedRowsError(top, _reason(error)) from error
        yield np.frombuffer(data, dtype).reshape(rows, image.width, image.bands)


def harmless_warning(error: Exception) -> bool:
    """Whether a decoder only remarks on stray bytes that cost no pixel."""
    return "extraneous bytes" in str(error)


def _reason(error: Exception) -> str:
    lines = [line for line in str(error).splitlines() if line.strip()]
    return (lines[-1] if lines else "unknown damage").strip()[:160]
