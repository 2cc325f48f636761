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
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from concurrent.futures import ThreadPoolExecutor

__all__ = ["ahead", "let_by", "share_out", "stand_back", "worker_count"]

_MOST_THREADS = 8
_BACK, _LAST = 10, 19  # steps of niceness, and the last there is
_LINGER_SECONDS = 0.02  # after a tile the next one is likely to be asked for
_PATIENCE_SECONDS = 0.1  # a tile that takes longer may be waiting for what stands back
_LONGEST_WAIT_SECONDS = 0.2  # then a thread that stands back goes on, tiles or not,
_TURN_SECONDS = 0.05  # for so long
_own = threading.local()


class _Road:
    """How many go ahead now, and when the last one came or went."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.clear = threading.Event()
        self.clear.set()
        self.ahead = 0
        self.moved = float("-inf")

    def step(self, by: int) -> None:
        with self.lock:
            self.ahead += by
            self.moved = time.monotonic()
            if self.ahead:
                self.clear.clear()
            else:
                self.clear.set()


_road = _Road()


@contextmanager
def ahead() -> Iterator[None]:
    """While this lasts, and a moment longer, threads that stand back wait at their next `let_by`.

    For tiles: a person is looking.
    """
    _road.step(1)
    try:
        yield
    finally:
        _road.step(-1)


def let_by() -> None:
    """In a thread that stands back, wait while others go ahead; elsewhere go on at once.

    Nobody waits for ever. After a fifth of a second a thread goes on for a twentieth, whatever
    comes; and where nothing came or went ahead for a tenth, what is ahead may need something this
    thread holds, and it goes on at once.
    """
    if getattr(_own, "behind", False):
        _wait()


def _wait() -> None:
    begun = time.monotonic()
    if begun < getattr(_own, "turn_ends", 0.0):
        return
    now = begun
    while now - begun < _LONGEST_WAIT_SECONDS:
        patience = _PATIENCE_SECONDS if _road.ahead else _LINGER_SECONDS
        left = min(patience - (now - _road.moved), _LONGEST_WAIT_SECONDS - (now - begun))
        if left <= 0.0:
            return
        if _road.ahead:
            _road.clear.wait(left)
        else:
            time.sleep(left)
        now = time.monotonic()
    _own.turn_ends = now + _TURN_SECONDS


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
    the thread. Only Linux knows an order of threads; elsewhere it only lets others by.
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
    behind = getattr(_own, "behind", False)  # a helper keeps the place it began with
    if pieces <= 1 or threads <= 1:
        for piece in range(pieces):
            let_by()
            work(piece)
        return
    numbers = itertools.count()  # one step of it cannot be torn apart by another thread
    failed = threading.Event()

    def labour() -> None:
        while not failed.is_set():
            piece = next(numbers)
            if piece >= pieces:
                return
            if behind:
                _wait()
            try:
                work(piece)
            except BaseException:
                failed.set()
                raise

    team = _team(behind=behind)
    helpers = [team.submit(labour) for _ in range(min(threads, pieces, _MOST_THREADS) - 1)]
    try:
        labour()
    finally:
        begun = [helper for helper in helpers if not helper.cancel()]
        errors = [helper.exception() for helper in begun]  # waits
    for error in errors:
        if error is not None:
            raise error
