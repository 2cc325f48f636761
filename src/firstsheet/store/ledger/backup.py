"""Copies of the whole ledger, taken while others may write to it.

Takes two paths; the copy appears whole or not at all. Tests:
tests/store/ledger/test_ledger_connect.py.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import tempfile
from pathlib import Path

from firstsheet.engine.errors import OutputError
from firstsheet.store.ledger.faults import WAIT_S, explain

__all__ = ["copies_beside", "copy_ledger"]


def copy_ledger(source: Path, target: Path) -> None:
    """Copy what is committed in a ledger to a new file.

    Raises
    ------
    OutputError
        If the target exists, or cannot be written whole.
    LedgerError
        If the source is damaged or in use for too long.
    """
    if target.exists():
        raise OutputError(
            f"{target} exists already.",
            "An earlier copy is never replaced.",
            "Choose another name.",
            "copy-exists",
        )
    temporary = ""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
        os.close(handle)
        with (
            contextlib.closing(sqlite3.connect(source, timeout=WAIT_S)) as ours,
            contextlib.closing(sqlite3.connect(temporary)) as copy,
        ):
            ours.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
        _flush(Path(temporary))
        Path(temporary).replace(target)
    except sqlite3.Error as error:
        raise explain(error, source) from error
    except OSError as error:
        raise OutputError(
            f"The copy {target} could not be written: {error.strerror or error}.",
            "The ledger itself is unchanged.",
            "Make room, or choose another place.",
            "copy-not-written",
        ) from error
    finally:
        if temporary:
            Path(temporary).unlink(missing_ok=True)


def copies_beside(path: Path) -> tuple[Path, ...]:
    """Copies that migrations left beside a ledger, oldest first."""
    return tuple(sorted(path.parent.glob(f"{path.stem}.before-*{path.suffix}")))


def _flush(path: Path) -> None:
    handle = os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
