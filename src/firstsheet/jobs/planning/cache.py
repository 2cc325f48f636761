"""What was measured once and may be asked for again, from several threads.

Takes keys and the work behind them; does each piece of work once. Holds no picture of its own.
Tests: tests/jobs/test_remembered.py.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Literal, TypeVar, cast

from firstsheet.store.measurements import MeasurementStore, measurements_folder

__all__ = ["KeptOnDisk", "MeasurementCache", "NotMeasuredError", "Turn", "kept_on_disk"]

_MOST = 48  # results kept for wishes that come back (undo, comparing papers)
_MOST_PICTURES = 1  # of those that hold whole small pictures

Answer = TypeVar("Answer")
# Who waits for whom: within each of these one piece of work is done at a time.
# measuring: what a plan needs of colour. detail: what the pixels truly hold, measured beside it.
# chaining: chains are quick, and must not wait for measuring.
# proposing, dusting: they take their time, and nothing else waits for them.
Turn = Literal["measuring", "detail", "chaining", "proposing", "dusting"]


class NotMeasuredError(Exception):
    """Something would have to be measured first: a signal, never told to people."""


class MeasurementCache:
    """Results by what they depend on; the oldest go first."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()
        self._pictures: OrderedDict[Hashable, Any] = OrderedDict()
        self._memory = threading.Lock()  # held for moments only
        self._turns: dict[Turn, threading.RLock] = {}
        self._here = threading.local()  # whether this thread may measure

    @contextmanager
    def only(self) -> Iterator[None]:
        """Let this thread take what is there, and raise where something is missing."""
        self._here.only = True
        try:
            yield
        finally:
            self._here.only = False

    def forget_pictures(self) -> None:
        """Let go of the whole small pictures; they are made again when they are wanted again."""
        with self._memory:
            self._pictures.clear()

    def known(self, key: Hashable) -> Any:
        """The result under a key, None where there is none (yet)."""
        with self._memory:
            return self._kept.get(key)

    def once(
        self,
        key: Hashable,
        work: Callable[[], Answer],
        *,
        whole_pictures: bool = False,
        turn: Turn = "measuring",
    ) -> Answer:
        """The result under a key; the work is done where there is none yet.

        Raises
        ------
        NotMeasuredError
            Inside `only`, where the work would have to be done.
        """
        kept = self._pictures if whole_pictures else self._kept
        with self._memory:
            if key in kept:
                kept.move_to_end(key)
                return cast(Answer, kept[key])
        if getattr(self._here, "only", False):
            raise NotMeasuredError
        with self._memory:
            lock = self._turns.setdefault(turn, threading.RLock())
        with lock:
            with self._memory:
                if key in kept:
                    return cast(Answer, kept[key])
            answer = work()
            with self._memory:
                kept[key] = answer
                while len(kept) > (_MOST_PICTURES if whole_pictures else _MOST):
                    kept.popitem(last=False)
            return answer


class KeptOnDisk:
    """Answers to one question, kept between two runs of the program."""

    def __init__(self, question: str, store: MeasurementStore) -> None:
        self._question, self._store = question, store

    def load(self, key: Sequence[object]) -> bytes | None:
        """The answer kept for a key, None where there is none."""
        return self._store.load(self._question, key)

    def save(self, key: Sequence[object], answer: bytes) -> None:
        """Keep an answer, where the disk takes it."""
        self._store.save(self._question, key, answer)


def kept_on_disk(question: str) -> KeptOnDisk:
    """Where the answers to a question are kept, as the user's settings have it."""
    return KeptOnDisk(question, MeasurementStore(measurements_folder()))
