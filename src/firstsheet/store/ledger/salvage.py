"""Rows of a damaged ledger, as far as they can be read.

Takes an open connection; gives rows, passing over those that SQLite refuses. Tests:
tests/store/ledger/test_ledger_damage.py.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

__all__ = ["read_what_is_there", "readable_rows"]

_LEAST_ROW_BYTES = 16  # no row is shorter: bounds how many there can be


def read_what_is_there(tables: sqlite3.Connection) -> None:
    """Let a connection read a file that is shorter than its head says; it must write nothing."""
    tables.execute("PRAGMA writable_schema = ON")


def readable_rows(tables: sqlite3.Connection, table: str) -> Iterator[sqlite3.Row]:
    """Rows of a table in order of their rowid, without those that cannot be read.

    A scan goes on behind a damaged place: it looks for the next readable row at growing distance,
    then asks for each row between singly.
    """
    end = _highest(tables, table)
    last = 0
    while True:
        try:
            for row in tables.execute(
                f"SELECT rowid AS at_, * FROM {table} WHERE rowid > ? ORDER BY rowid", (last,)
            ):
                last = int(row["at_"])
                yield row
            return
        except sqlite3.DatabaseError:
            behind = _next_readable(tables, table, last, end)
        for one in range(last + 1, behind if behind is not None else last + 1):
            row = _single(tables, table, one)
            if row is not None:
                yield row
        if behind is None:
            return
        last = behind - 1


def _next_readable(tables: sqlite3.Connection, table: str, last: int, end: int) -> int | None:
    """The rowid from which a scan can go on, behind a damaged place."""
    step = 1
    while last + step <= end:
        try:
            row = tables.execute(
                f"SELECT rowid AS at_, * FROM {table} WHERE rowid > ? ORDER BY rowid LIMIT 1",
                (last + step,),
            ).fetchone()
            return None if row is None else int(row["at_"])
        except sqlite3.DatabaseError:
            step *= 2
    return None


def _single(tables: sqlite3.Connection, table: str, rowid: int) -> sqlite3.Row | None:
    try:
        row: sqlite3.Row | None = tables.execute(
            f"SELECT rowid AS at_, * FROM {table} WHERE rowid = ?", (rowid,)
        ).fetchone()
        return row
    except sqlite3.DatabaseError:
        return None


def _highest(tables: sqlite3.Connection, table: str) -> int:
    """The last rowid, or how many rows the file has room for where that cannot be read."""
    try:
        return int(tables.execute(f"SELECT max(rowid) FROM {table}").fetchone()[0] or 0)
    except sqlite3.DatabaseError:
        pages, size = (
            int(tables.execute(f"PRAGMA {name}").fetchone()[0])
            for name in ("page_count", "page_size")
        )
        return pages * size // _LEAST_ROW_BYTES
