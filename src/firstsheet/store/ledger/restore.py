"""A ledger made again of its export.

Takes a folder as `store.ledger.export` writes it; fills an empty ledger in one transaction.
Sums and the word index are made anew. Tests: tests/store/ledger/test_ledger_export.py.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import Any, cast

from firstsheet.engine.errors import LedgerError
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.export import CHECKSUMS_FILE, HEAD_FILE
from firstsheet.store.ledger.history import recount
from firstsheet.store.ledger.migrations import MIGRATIONS
from firstsheet.store.ledger.plain import PLAIN_TABLES, PlainTable

__all__ = ["import_tables"]


def import_tables(ledger: Ledger, folder: Path) -> Mapping[str, int]:
    """Fill an empty ledger from an export.

    Returns
    -------
    Mapping
        Rows read, by plain name.

    Raises
    ------
    LedgerError
        If the ledger is not empty, or the folder is no export, was changed, or is of a newer
        program. Then nothing is kept.
    """
    head = _head(folder)
    _check_sums(folder)
    counts: dict[str, int] = {}
    with ledger.writing() as tables:
        if tables.execute("SELECT 1 FROM entry LIMIT 1").fetchone() is not None:
            raise LedgerError(
                f"The ledger {ledger.path} holds prints already.",
                "Two ledgers are not mixed, so nothing was imported.",
                "Name a new file: --ledger other.sqlite3.",
                "ledger-not-empty",
            )
        tables.execute("PRAGMA defer_foreign_keys = ON")
        there = [plain for plain in PLAIN_TABLES if plain.name in head["rows"]]
        for plain in there:
            counts[plain.name] = _fill(tables, folder, plain, late=False)
        for plain in there:
            counts[plain.name] += _fill(tables, folder, plain, late=True) if plain.late else 0
        for row in tables.execute("SELECT number FROM entry ORDER BY number").fetchall():
            recount(tables, row[0])
    return counts


def _head(folder: Path) -> Mapping[str, Any]:
    try:
        head = json.loads((folder / HEAD_FILE).read_text(encoding="utf-8"))
        ours = head["what"] == "firstsheet ledger" and isinstance(head["rows"], dict)
        form = int(head["form"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise _no_export(folder) from error
    if not ours:
        raise _no_export(folder)
    if form > len(MIGRATIONS):
        raise LedgerError(
            f"{folder} was exported by a newer program ({head.get('made_by', 'unknown')}).",
            "This one does not know all of its tables, so nothing was imported.",
            "Use the newer program.",
            "export-newer",
        )
    return cast(Mapping[str, Any], head)


def _no_export(folder: Path) -> LedgerError:
    return LedgerError(
        f"{folder} holds no export of a ledger.",
        "Nothing was imported.",
        f"Name the folder that `firstsheet ledger export` wrote; {HEAD_FILE} lies in it.",
        "no-export",
    )


def _check_sums(folder: Path) -> None:
    """Refuse a folder in which a file is missing or not the one that was written."""
    try:
        lines = (folder / CHECKSUMS_FILE).read_text(encoding="utf-8").splitlines()
    except OSError as error:
        raise _no_export(folder) from error
    changed = []
    for line in lines:
        wanted, _, name = line.partition("  ")
        try:
            with (folder / name).open("rb") as file:
                right = hashlib.file_digest(file, "sha256").hexdigest() == wanted
        except OSError:
            right = False
        if not right:
            changed.append(name)
    if changed:
        shown = ", ".join(changed[:3]) + (f" and {len(changed) - 3} more" if changed[3:] else "")
        raise LedgerError(
            f"In {folder} these files are missing or were changed: {shown}.",
            "A ledger made of them would not be the one that was exported; nothing was imported.",
            "Put the files back as they were written.",
            "export-changed",
        )


def _fill(tables: sqlite3.Connection, folder: Path, plain: PlainTable, *, late: bool) -> int:
    """Insert a table's rows, or only those that must come after all others."""
    known = {row["name"] for row in tables.execute(f"PRAGMA table_info({plain.table})")}
    rows = json.loads((folder / f"{plain.name}.json").read_text(encoding="utf-8"))
    now = [row for row in rows if (bool(plain.late) and row[plain.late] is not None) == late]
    for row in now:
        values = dict(row)
        for column, one in plain.files.items():
            values[column] = one.from_bytes((folder / one.place(row)).read_bytes(), row)
        names = [name for name in values if name in known]
        tables.execute(
            f"INSERT INTO {plain.table} ({', '.join(names)}) "
            f"VALUES ({', '.join('?' for _ in names)})",
            [values[name] for name in names],
        )
    return len(now)
