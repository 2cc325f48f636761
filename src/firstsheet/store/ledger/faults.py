"""What SQLite refuses, in words.

Takes an error of `sqlite3`; gives an error with its three parts. Tests:
tests/store/ledger/test_ledger_faults.py.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from firstsheet.engine.errors import FirstsheetError, LedgerError, OutputError

__all__ = ["WAIT_S", "explain", "is_damage"]

WAIT_S = 30.0  # a second process waits so long for the first
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT}
_UNWRITABLE = {
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_AUTH,
    sqlite3.SQLITE_IOERR,
}


def _code(error: sqlite3.Error) -> int:
    """The primary result code of SQLite; -1 where the error carries none."""
    return int(getattr(error, "sqlite_errorcode", -1)) & 0xFF


def is_damage(error: sqlite3.Error) -> bool:
    """Whether the error says that the file itself is damaged."""
    return _code(error) in _DAMAGED


def explain(error: sqlite3.Error, path: Path) -> FirstsheetError | sqlite3.Error:
    """The refusal in words; a mistake of the program stays what it is."""
    code = _code(error)
    if code == sqlite3.SQLITE_FULL:
        return OutputError(
            f"The disk of {path.parent} is full: the ledger could not be written.",
            "What it held before is unchanged; the new entry was not kept.",
            "Free some room there, or name a ledger on another disk.",
            "ledger-disk-full",
            "--ledger FILE",
        )
    if code in _BUSY:
        return LedgerError(
            f"Another process has held the ledger {path} for {WAIT_S:.0f} seconds.",
            "Nothing was changed in it.",
            "Try again when the other one has finished.",
            "ledger-in-use",
        )
    if is_damage(error):
        return LedgerError(
            f"The ledger {path} is damaged, or is no ledger: {error}.",
            "Nothing was changed in it.",
            "Run `firstsheet ledger check` to hear what can be saved.",
            "ledger-damaged",
        )
    if code in _UNWRITABLE:
        return OutputError(
            f"The ledger {path} cannot be opened or written: {error}.",
            "Nothing was changed in it.",
            "Check the folder and its permissions, or name another ledger.",
            "ledger-not-writable",
            "--ledger FILE",
        )
    return error
