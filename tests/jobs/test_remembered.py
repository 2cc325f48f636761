"""What was measured once is not measured again, and is not measured where it may not be."""

from __future__ import annotations

import threading
from functools import partial

import pytest

from firstsheet.jobs.planning.cache import MeasurementCache, NotMeasuredError


def test_work_is_done_once_for_a_key() -> None:
    memory, done = MeasurementCache(), []

    def measure() -> float:
        done.append(1)
        return 95.0

    for _ in range(3):
        assert memory.once("white", measure) == 95.0
    assert len(done) == 1


def test_inside_only_nothing_is_measured() -> None:
    memory = MeasurementCache()
    memory.once("white", lambda: 95.0)
    with memory.only():
        assert memory.once("white", lambda: 0.0) == 95.0
        with pytest.raises(NotMeasuredError):
            memory.once("black", lambda: 4.0)
    assert memory.once("black", lambda: 4.0) == 4.0


def test_only_holds_for_its_own_thread() -> None:
    memory, found = MeasurementCache(), []
    with memory.only():
        other = threading.Thread(target=lambda: found.append(memory.once("black", lambda: 4.0)))
        other.start()
        other.join()
    assert found == [4.0]


def test_whole_pictures_give_way_to_the_next_and_numbers_stay() -> None:
    memory = MeasurementCache()
    made: list[str] = []
    memory.once("number", lambda: 1.0)
    for name in ("first", "second", "first"):
        memory.once(name, partial(made.append, name), whole_pictures=True)
    assert made == ["first", "second", "first"]
    memory.forget_pictures()
    memory.once("first", lambda: made.append("again"), whole_pictures=True)
    assert made[-1] == "again"
    with memory.only():
        assert memory.once("number", lambda: 0.0) == 1.0


def test_who_takes_time_keeps_nobody_waiting() -> None:
    """Dust is looked for until something was measured beside it."""
    memory, measured = MeasurementCache(), threading.Event()
    begun = threading.Event()

    def dust() -> bool:
        begun.set()
        return measured.wait(timeout=60)

    found: list[bool] = []
    slow = threading.Thread(target=lambda: found.append(memory.once("dust", dust, turn="dusting")))
    slow.start()
    assert begun.wait(timeout=60)
    assert memory.known("dust") is None
    assert memory.once("white", lambda: 95.0) == 95.0
    measured.set()
    slow.join()
    assert found == [True]
    assert memory.known("dust") is True


def test_two_threads_asking_at_once_measure_once() -> None:
    memory, done = MeasurementCache(), []
    begun = threading.Barrier(2)

    def ask() -> None:
        begun.wait()
        memory.once("white", lambda: done.append(1))

    threads = [threading.Thread(target=ask) for _ in range(2)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert done == [1]
