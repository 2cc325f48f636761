"""Threads that share a list of pieces of work, and stop together.

Takes pieces and what each thread needs; the calling thread tells progress and asks whether to
stop. Tests: tests/pixels/test_render_sheet.py.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence

from firstsheet.engine.streams import Progress, StopCheck

__all__ = ["Abandoned", "Work", "run_all"]

_POLL_SECONDS = 0.1


class Abandoned(Exception):  # noqa: N818  # not an error: another thread has the error
    """Another thread failed or the person stopped; this one leaves its piece."""


class Work:
    """What the threads share: the next piece, how much is done, and the first error."""

    def __init__(self, pieces: int) -> None:
        self._pieces = pieces
        self._next = 0
        self._done = 0.0
        self._lock = threading.Lock()
        self._error: BaseException | None = None

    def take(self) -> int | None:
        """The next piece, or None when all are taken."""
        with self._lock:
            if self._error is not None or self._next >= self._pieces:
                return None
            self._next += 1
            return self._next - 1

    def alive(self) -> None:
        """Leave the piece when the work has been given up; called often."""
        if self._error is not None:
            raise Abandoned

    def add(self, share: float) -> None:
        """Tell that a share of one piece is done."""
        with self._lock:
            self._done += share

    def fail(self, error: BaseException) -> None:
        """Keep the first error."""
        with self._lock:
            if self._error is None:
                self._error = error

    @property
    def share_done(self) -> float:
        """Share of all pieces, 0..1."""
        return min(1.0, self._done / max(1, self._pieces))

    @property
    def error(self) -> BaseException | None:
        """The first error, if any."""
        return self._error


def run_all(
    pieces: int,
    threads: int,
    make_worker: Callable[[Work], Callable[[int], None]],
    *,
    words: str,
    progress: Progress,
    stop: StopCheck,
    share: Sequence[float] = (0.0, 1.0),
) -> None:
    """Do all pieces in threads; raise the first error after every thread has left.

    Parameters
    ----------
    pieces
        How many there are; they are taken in order.
    threads
        How many threads work.
    make_worker
        Called once in each thread; gives the function that does one piece.
    words, share
        What to tell through `progress`, and between which shares of the whole it lies.
    """
    work = Work(pieces)

    def labour() -> None:
        try:
            do = make_worker(work)
            while (piece := work.take()) is not None:
                do(piece)
        except Abandoned:
            pass
        except BaseException as error:
            work.fail(error)

    team = [
        threading.Thread(target=labour, name=f"pixels-{i}", daemon=True)
        for i in range(max(1, min(threads, pieces)))
    ]
    try:
        for thread in team:
            thread.start()
        for thread in team:
            while thread.is_alive():
                thread.join(_POLL_SECONDS)
                stop()
                progress(words, share[0] + (share[1] - share[0]) * work.share_done)
    except BaseException as error:
        work.fail(error)
        raise
    finally:
        for thread in team:
            if thread.ident is not None:
                thread.join()
    if work.error is not None:
        raise work.error
