"""News for the open pages: who listens is told at once, whoever does not read is dropped.

Takes small dictionaries from any thread. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from typing import Any

__all__ = ["News", "Pace"]

Listener = Callable[[Mapping[str, Any]], None]
_SECONDS = 0.1  # between two news of how far something is


class Pace:
    """When it is time to tell again how far something is; the first time at once."""

    def __init__(self) -> None:
        self._told = 0.0

    def due(self) -> bool:
        """Whether it is; who is told so tells."""
        now = time.monotonic()
        if now - self._told <= _SECONDS:
            return False
        self._told = now
        return True


class News:
    """Listeners and what they are told."""

    def __init__(self) -> None:
        self._listeners: list[Listener] = []
        self._lock = threading.Lock()

    def listen(self, listener: Listener) -> Callable[[], None]:
        """Tell a listener from now on; gives what ends it."""
        with self._lock:
            self._listeners.append(listener)

        def end() -> None:
            with self._lock:
                if listener in self._listeners:
                    self._listeners.remove(listener)

        return end

    def tell(self, **event: Any) -> None:
        """Tell everyone."""
        with self._lock:
            listeners = list(self._listeners)
        for listener in listeners:
            listener(event)
