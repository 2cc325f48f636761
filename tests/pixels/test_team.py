"""Work shared with threads that are always there: each piece once, no waiting, first error."""

from __future__ import annotations

import threading

import pytest

from firstsheet.pixels.team import share_out


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
