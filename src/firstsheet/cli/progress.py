"""Progress on everything over a second, and Ctrl-C that leaves nothing half done.

The first Ctrl-C asks the job to stop at its next step; the job then cleans up and raises
StoppedError. A second Ctrl-C interrupts at once.
"""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

from firstsheet.engine.errors import StoppedError

__all__ = ["Work", "working"]

_PATIENCE_S = 1.0  # nothing is shown for work shorter than this
_WIDTH = 28


class Work:
    """What a job gets from the person: an ear for progress and a way to be stopped."""

    def __init__(self, title: str, *, quiet: bool) -> None:
        self._title = title
        self._shown = False
        self._quiet = quiet or not sys.stderr.isatty()
        self._begun_s = time.monotonic()
        self._last_s = 0.0
        self.stopped = False

    def progress(self, doing: str, share: float) -> None:
        """Show what is being done and how far it is, once a second has passed."""
        now_s = time.monotonic()
        if self._quiet or now_s - self._begun_s < _PATIENCE_S or now_s - self._last_s < 0.05:
            return
        self._last_s, self._shown = now_s, True
        done = round(_WIDTH * min(max(share, 0.0), 1.0))
        bar = "─" * done + " " * (_WIDTH - done)
        sys.stderr.write(f"\r\x1b[2K{doing or self._title}  {bar} {share:4.0%}")
        sys.stderr.flush()

    def stop(self) -> None:
        """Raise StoppedError if the person asked to stop."""
        if self.stopped:
            raise StoppedError("Stopped by you.", "Nothing half done is left.", "", "stopped")

    def close(self) -> None:
        """Clear the progress line."""
        if self._shown:
            sys.stderr.write("\r\x1b[2K")
            sys.stderr.flush()


@contextmanager
def working(title: str, *, quiet: bool) -> Iterator[Work]:
    """Run a job with progress and a gentle Ctrl-C."""
    work = Work(title, quiet=quiet)

    def ask_to_stop(_signal: int, _frame: FrameType | None) -> None:
        if work.stopped:
            raise KeyboardInterrupt
        work.stopped = True

    before: Any = signal.signal(signal.SIGINT, ask_to_stop)
    try:
        yield work
    finally:
        signal.signal(signal.SIGINT, before)
        work.close()
