"""Small pieces of work shared between the calling thread and a few that are always there.

Takes a number of pieces; does each once. A tile takes a few milliseconds, and threads made for
it alone would cost a good part of that. Where the others are busy, the caller does all pieces
itself and waits for nobody. Tests: tests/pixels/test_team.py.
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache

__all__ = ["share_out"]

_MOST_THREADS = 8


@lru_cache(maxsize=1)
def _team() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(_MOST_THREADS - 1, thread_name_prefix="tile-colours")


def share_out(pieces: int, work: Callable[[int], None], *, threads: int) -> None:
    """Do `work(0)` to `work(pieces - 1)`, each once, in any order, on up to `threads` threads.

    Raises
    ------
    BaseException
        The first one that a piece raised; pieces not begun by then are left out.
    """
    if pieces <= 1 or threads <= 1:
        for piece in range(pieces):
            work(piece)
        return
    numbers = itertools.count()  # one step of it cannot be torn apart by another thread
    failed = threading.Event()

    def labour() -> None:
        while not failed.is_set():
            piece = next(numbers)
            if piece >= pieces:
                return
            try:
                work(piece)
            except BaseException:
                failed.set()
                raise

    helpers = [_team().submit(labour) for _ in range(min(threads, pieces, _MOST_THREADS) - 1)]
    try:
        labour()
    finally:
        begun = [helper for helper in helpers if not helper.cancel()]
        errors = [helper.exception() for helper in begun]  # waits
    for error in errors:
        if error is not None:
            raise error
