"""Work shared with threads that are always there: each piece once, no waiting, first error."""

from __future__ import annotations

import os
import sys
import threading

import pytest

from firstsheet.pixels.team import share_out, stand_back


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
