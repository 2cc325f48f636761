"""Small pieces of work shared between the calling thread and a few that are always there.

Takes a number of pieces; does each once. A tile takes a few milliseconds, and threads made for
it alone would cost a good part of that. Where the others are busy, the caller does all pieces
itself and waits for nobody. Tests: tests/pixels/test_team.py.
"""

from __future__ import annotations

import itertools
import os
import sys
import threading
from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from concurrent.futures import ThreadPoolExecutor

__all__ = ["share_out", "stand_back", "worker_count"]

_MOST_THREADS = 8
_BACK, _LAST = 10, 19  # steps of niceness, and the last there is
_own = threading.local()


def worker_count() -> int:
    """Threads worth using here: the processors this process may run on, at most eight."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, min(_MOST_THREADS, len(os.sched_getaffinity(0))))
    return max(1, min(_MOST_THREADS, os.cpu_count() or 1))


@lru_cache(maxsize=2)
def _team(*, behind: bool) -> ThreadPoolExecutor:
    from concurrent.futures import ThreadPoolExecutor  # a whole print does not need it

    name = "behind" if behind else "tile-colours"
    return ThreadPoolExecutor(_MOST_THREADS - 1, thread_name_prefix=name)


def stand_back() -> None:
    """Let this thread, and those it starts from now on, come after the others for a processor.

    For work that a person does not wait for while they look at tiles. It holds for the life of
    the thread. Only Linux knows an order of threads; elsewhere nothing happens.
    """
    if sys.platform == "linux":
        thread = threading.get_native_id()
        now = os.getpriority(os.PRIO_PROCESS, thread)
        os.setpriority(os.PRIO_PROCESS, thread, min(_LAST, now + _BACK))
        _own.behind = True


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

    team = _team(behind=getattr(_own, "behind", False))  # a helper keeps the place it began with
    helpers = [team.submit(labour) for _ in range(min(threads, pieces, _MOST_THREADS) - 1)]
    try:
        labour()
    finally:
        begun = [helper for helper in helpers if not helper.cancel()]
        errors = [helper.exception() for helper in begun]  # waits
    for error in errors:
        if error is not None:
            raise error
