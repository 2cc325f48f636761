"""Work shared with threads that are always there: each piece once, no waiting, first error."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Callable

import pytest

from firstsheet.pixels.team import ahead, let_by, share_out, stand_back


@pytest.mark.parametrize(("pieces", "threads"), [(0, 2), (1, 4), (7, 1), (200, 2), (200, 8)])
def test_each_piece_is_done_once(pieces: int, threads: int) -> None:
    done: list[int] = []
    share_out(pieces, done.append, threads=threads)
    assert sorted(done) == list(range(pieces))


def test_another_thread_takes_pieces_too() -> None:
    """Two pieces that wait for each other can only end side by side."""
    meeting = threading.Barrier(2, timeout=60)
    share_out(2, lambda _piece: meeting.wait(), threads=2)  # type: ignore[arg-type]
    assert not meeting.broken


def test_where_all_others_are_busy_the_caller_does_the_work() -> None:
    """Every piece asks for help of its own; a team that waited for itself would stand still."""
    done: list[tuple[int, int]] = []

    def outer(first: int) -> None:
        share_out(5, lambda second: done.append((first, second)), threads=8)

    share_out(40, outer, threads=8)
    assert sorted(done) == [(a, b) for a in range(40) for b in range(5)]


@pytest.mark.parametrize("threads", [1, 2, 4])
def test_an_error_ends_the_work_and_reaches_the_caller(threads: int) -> None:
    done: list[int] = []

    def work(piece: int) -> None:
        if piece == 3:
            raise KeyError(piece)
        done.append(piece)

    with pytest.raises(KeyError):
        share_out(10_000, work, threads=threads)
    assert len(done) < 9_999


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux knows an order of threads")
def test_a_thread_that_stands_back_takes_its_helpers_along_and_nobody_else() -> None:
    """Niceness of each thread as the system tells it."""
    here = os.getpriority(os.PRIO_PROCESS, threading.get_native_id())
    seen: dict[int, int] = {}
    meeting = threading.Barrier(2, timeout=60)

    def piece(_number: int) -> None:
        meeting.wait()
        own = threading.get_native_id()
        seen[own] = os.getpriority(os.PRIO_PROCESS, own)

    def behind() -> None:
        stand_back()
        share_out(2, piece, threads=2)

    thread = threading.Thread(target=behind)
    thread.start()
    thread.join()
    assert len(seen) == 2
    assert set(seen.values()) == {min(19, here + 10)}
    seen.clear()
    share_out(2, piece, threads=2)
    assert len(seen) == 2
    assert set(seen.values()) == {here}


def behind(work: Callable[[], object]) -> threading.Thread:
    """A thread that stands back and does some work."""

    def run() -> None:
        stand_back()
        work()

    thread = threading.Thread(target=run)
    thread.start()
    return thread


def keep_coming(done: threading.Event, came: list[int]) -> threading.Thread:
    """Tiles one after the other, until something is done; each is noted in `came`."""

    def come() -> None:
        while not done.is_set():
            with ahead():
                time.sleep(0.002)
            came.append(1)

    thread = threading.Thread(target=come)
    thread.start()
    return thread


def test_most_tiles_come_while_what_stands_back_waits_for_them() -> None:
    ended = threading.Event()
    came: list[int] = []
    let_through = 0

    def work() -> None:
        nonlocal let_through
        for _ in range(100):  # never for ever: all of them are done beside the tiles
            before = len(came)
            let_by()
            let_through += len(came) - before
            time.sleep(0.001)
        ended.set()

    tiles = keep_coming(ended, came)
    behind(work).join()
    tiles.join()
    assert let_through > 0.5 * len(came)


def test_a_tile_that_waits_for_what_stands_back_gets_it() -> None:
    """A thousand pieces under a lock that the tile needs; waiting at each would take minutes."""
    lock, taken = threading.Lock(), threading.Event()

    def work() -> None:
        with lock:
            taken.set()
            for _ in range(1000):
                let_by()

    worker = behind(work)
    taken.wait()
    with ahead():
        assert lock.acquire(timeout=30)
    worker.join()


@pytest.mark.parametrize("threads", [1, 2])
def test_pieces_that_stand_back_are_all_done_beside_tiles(threads: int) -> None:
    ended = threading.Event()
    done: list[int] = []

    def work() -> None:
        share_out(300, done.append, threads=threads)
        ended.set()

    tiles = keep_coming(ended, [])
    behind(work).join()
    tiles.join()
    assert sorted(done) == list(range(300))


def test_who_does_not_stand_back_does_not_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    def sleep(_seconds: float) -> None:
        raise AssertionError("it waited")

    with ahead():
        monkeypatch.setattr("firstsheet.pixels.team._wait", sleep)
        let_by()
        share_out(5, lambda _piece: None, threads=1)
