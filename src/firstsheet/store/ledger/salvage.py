"""Rows of a damaged ledger, as far as they can be read.

Takes an open connection; gives rows, passing over those that SQLite refuses. Tests:
tests/store/ledger/test_ledger_damage.py.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from typing import Any

from firstsheet.store.ledger.plain import PlainTable

__all__ = ["read_what_is_there", "readable_rows", "salvaged_rows"]

_Row = Mapping[str, Any]
# what stands for a row that entries rest on and that was lost: column of the entry, key, the rest
_STAND_INS: Mapping[str, tuple[str, str, _Row]] = {
    "profile": ("profile_sha256", "sha256", {"description": "lost", "icc": b""}),
    "plan": ("plan_digest", "digest", {"ticket": "", "stock": "", "plan": b""}),
    "versions": ("versions_sha256", "sha256", {"versions": "{}"}),
}

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


def salvaged_rows(tables: sqlite3.Connection, plain: PlainTable) -> Iterator[_Row]:
    """Readable rows of a table that still hang together, and stand-ins for lost ones.

    A row whose other half is lost is left out, or, where it can do without, let go of it. A row
    that prints or numbered sheets rest on is replaced by one that says it was lost.
    """
    about = tables.execute(f"PRAGMA table_info({plain.table})").fetchall()
    columns = [row["name"] for row in about]
    needed = {row["name"] for row in about if row["notnull"] or row["pk"]}
    kept = {
        row["from"]: {one[row["to"]] for one in readable_rows(tables, row["table"])}
        for row in tables.execute(f"PRAGMA foreign_key_list({plain.table})").fetchall()
        if row["table"] not in (*_STAND_INS, "edition")
    }
    outcasts = _successors_of_nobody(tables)
    seen = set()
    for row in readable_rows(tables, plain.table):
        found = {name: row[name] for name in columns}
        lost = [
            name
            for name, there in kept.items()
            if found[name] is not None and found[name] not in there
        ]
        sound = all(one.is_sound(found[column], found) for column, one in plain.files.items())
        if any(name in needed for name in lost) or not sound:
            continue
        of_copy = {"copy": "number", "copy_history": "copy"}.get(plain.table)
        if of_copy is not None and found[of_copy] in outcasts:
            continue
        found.update(dict.fromkeys(lost))
        seen.add(found["edition" if plain.table == "edition_terms" else columns[0]])
        yield found
    yield from _stand_ins(tables, plain.table, seen)


def _stand_ins(tables: sqlite3.Connection, table: str, seen: set[Any]) -> Iterator[_Row]:
    if table in _STAND_INS:
        of_entry, key, rest = _STAND_INS[table]
        wanted = {row[of_entry] for row in readable_rows(tables, "entry")}
        for missing in sorted(wanted - seen):
            yield {key: missing, **rest}
    if table in ("edition", "edition_terms"):
        highest: dict[int, dict[str, int]] = {}
        for row in readable_rows(tables, "copy"):
            of_series = highest.setdefault(row["edition"], {"number": 1, "proof": 0})
            of_series[row["series"]] = max(of_series[row["series"]], row["position"])
        for missing in sorted(set(highest) - seen):
            if table == "edition":
                yield {"number": missing, "name": f"lost-{missing}", "at": ""}
            else:
                words = ("title", "artist", "year", "technique", "paper", "inks", "note")
                yield {
                    "number": 1_000_000 + missing,
                    "edition": missing,
                    "at": "",
                    **dict.fromkeys(words, "lost"),
                    "size": highest[missing]["number"],
                    "proofs": highest[missing]["proof"],
                    "sizes": "[]",
                    "picture_sha256": "",
                }


def _successors_of_nobody(tables: sqlite3.Connection) -> set[int]:
    """Copies whose number was freed by a line that is lost: the rules would refuse them."""
    spoiled = {
        row["copy"] for row in readable_rows(tables, "copy_history") if row["kind"] == "spoiled"
    }
    return {
        row["number"]
        for row in readable_rows(tables, "copy")
        if row["replaces"] is not None and row["replaces"] not in spoiled
    }
