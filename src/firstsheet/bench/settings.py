"""Settings of the bench that outlive it, such as the screen's size.

Takes the state folder; keeps a small JSON file in it. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import json
import threading
from pathlib import Path
from typing import Any

__all__ = ["Settings"]


class Settings:
    """Named values in `settings.json`; an unreadable file counts as none."""

    def __init__(self, state: Path) -> None:
        self._path, self._lock = state / "settings.json", threading.Lock()
        self._values = self._read()

    def _read(self) -> dict[str, Any]:
        try:
            found = json.loads(self._path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return found if isinstance(found, dict) else {}

    def get(self, name: str, default: Any) -> Any:
        """A value, or the default where none is kept."""
        return self._values.get(name, default)

    def keep(self, name: str, value: Any) -> None:
        """Keep one value over restarts.

        Raises
        ------
        OutputError
            If the disk does not take it.
        """
        from firstsheet.files.writing.whole import write_whole

        with self._lock:
            self._values[name] = value
            text = json.dumps(self._values, indent=1)
            write_whole(self._path, text.encode("utf-8"))
