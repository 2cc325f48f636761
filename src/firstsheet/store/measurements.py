"""Measurements kept on disk, so that the next command on the same picture need not repeat them.

Takes a question and what its answer depends on; gives bytes. The folder may be deleted at any
time, is safe for several processes at once, and holds no more than `MOST_BYTES`. Whatever goes
wrong here costs time, never a command. Theory: docs/theory/speed.md.
Tests: tests/store/test_measurements.py.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import firstsheet

__all__ = ["MOST_BYTES", "MeasurementStore", "measurements_folder"]

MOST_BYTES = 96 << 20
_SUM_BYTES = 32
_PACKAGES = ("engine/detail", "engine/file", "engine/colour", "files/reading", "jobs/planning")


def measurements_folder() -> Path | None:
    """Where measurements are kept: FIRSTSHEET_MEASUREMENTS, or the platform's cache folder.

    None where the variable is `off`.
    """
    chosen = os.environ.get("FIRSTSHEET_MEASUREMENTS")
    if chosen:
        return None if chosen == "off" else Path(chosen)
    from platformdirs import user_cache_dir

    return Path(user_cache_dir("firstsheet", appauthor=False)) / "measurements"


class MeasurementStore:
    """Answers by question and key; a damaged or unreadable entry counts as none."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder

    def load(self, question: str, key: Sequence[object]) -> bytes | None:
        """The answer kept for a key, None where there is none.

        Parameters
        ----------
        question
            What was measured, such as `detail`.
        key
            Everything the answer depends on, as JSON can hold it.
        """
        if self._folder is None:
            return None
        try:
            data = self._path(question, key).read_bytes()
        except OSError:
            return None
        body = data[_SUM_BYTES:]
        return body if hashlib.sha256(body).digest() == data[:_SUM_BYTES] else None

    def save(self, question: str, key: Sequence[object], answer: bytes) -> None:
        """Keep an answer; where the disk does not take it, nothing is kept."""
        if self._folder is None:
            return
        temporary = ""
        try:
            self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            handle, temporary = tempfile.mkstemp(prefix=".", dir=self._folder)
            with os.fdopen(handle, "wb") as out:
                out.write(hashlib.sha256(answer).digest() + answer)
            Path(temporary).replace(self._path(question, key))
            self._prune()
        except OSError:
            with contextlib.suppress(OSError):
                if temporary:
                    Path(temporary).unlink(missing_ok=True)

    def _path(self, question: str, key: Sequence[object]) -> Path:
        assert self._folder is not None
        words = json.dumps([question, _code_mark(), *key])
        return self._folder / hashlib.sha256(words.encode()).hexdigest()

    def _prune(self) -> None:
        """Delete the oldest entries beyond the limit; another process may do so too."""
        assert self._folder is not None
        entries = []
        for entry in os.scandir(self._folder):
            with contextlib.suppress(OSError):
                facts = entry.stat()
                entries.append((facts.st_mtime_ns, facts.st_size, entry.path))
        total = 0
        for _, size, path in sorted(entries, reverse=True):
            total += size
            if total > MOST_BYTES:
                with contextlib.suppress(OSError):
                    Path(path).unlink(missing_ok=True)


@lru_cache(maxsize=1)
def _code_mark() -> str:
    """The program's version and when the measuring code was last changed."""
    root = Path(firstsheet.__file__).parent
    newest = max(
        (one.stat().st_mtime_ns for part in _PACKAGES for one in (root / part).rglob("*.py")),
        default=0,
    )
    return f"{firstsheet.__version__} {newest}"
