"""Two threads over bands of a small picture; the ICC engine releases the lock."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.streams import StopCheck
from firstsheet.pixels.team import worker_count

__all__ = ["in_bands"]

_BAND_PX = 65_536


def in_bands(
    work: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    picture: NDArray[Any],
    stop: StopCheck,
) -> NDArray[np.float64]:
    """Apply a function of colours to a picture, band by band.

    Parameters
    ----------
    work
        (n, w, c) to (n, w, k).
    picture
        (h, w, c).
    """
    height, width = picture.shape[:2]
    rows = max(1, _BAND_PX // max(width, 1))
    tops = range(0, height, rows)

    def one(top: int) -> NDArray[np.float64]:
        stop()
        return work(picture[top : top + rows])

    with ThreadPoolExecutor(worker_count()) as pool:
        return np.concatenate(list(pool.map(one, tops)), axis=0)
