"""The whole ledger as plain CSV and JSON, with the profiles, tickets and plans it rests on.

Takes a ledger and an empty folder; needs no program to be read. Everything in the CSV stands in
the JSON too; `store.ledger.restore` reads the JSON. Docs: docs/ledger.md.
Tests: tests/store/ledger/test_ledger_export.py.
"""

from __future__ import annotations

import contextlib
import csv
import hashlib
import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from firstsheet import __version__
from firstsheet.engine.errors import LedgerError
from firstsheet.store.ledger.faults import WAIT_S, explain
from firstsheet.store.ledger.plain import PLAIN_TABLES, PlainTable
from firstsheet.store.ledger.salvage import read_what_is_there, salvaged_rows

__all__ = ["CHECKSUMS_FILE", "HEAD_FILE", "export_tables"]

HEAD_FILE, CHECKSUMS_FILE, README_FILE = "ledger.json", "checksums.sha256", "README.txt"


def export_tables(
    path: Path, folder: Path, *, at: str, personal: bool = True, salvage: bool = False
) -> Mapping[str, int]:
    """Write the whole ledger into a folder.

    Parameters
    ----------
    path
        The ledger; it must exist, and is only read.
    folder
        Exists and is empty.
    at
        The time now, UTC.
    personal
        Whether personal data of buyers is written too.
    salvage
        Pass over what a damaged file no longer gives, instead of refusing.

    Returns
    -------
    Mapping
        Rows written, by plain name.

    Raises
    ------
    LedgerError
        If there is no ledger, or it is damaged and `salvage` is not set.
    OutputError
        If it cannot be read.
    """
    tables = _opened(path, salvage=salvage)
    try:
        with contextlib.closing(tables):
            there = {row[0] for row in tables.execute("SELECT name FROM sqlite_schema")}
            if not {"entry", "migration"} <= there:
                raise sqlite3.DatabaseError("the tables' description is lost")
            form = tables.execute("SELECT max(number) FROM migration").fetchone()[0]
            counts = _write(tables, folder, personal=personal, salvage=salvage)
    except sqlite3.Error as error:
        told = explain(error, path)
        lost = salvage or type(error) is sqlite3.DatabaseError  # no mistake of the program
        raise (_nothing_to_save(path, error) if told is error and lost else told) from error
    head = {
        "what": "firstsheet ledger",
        "form": form,
        "made_by": f"firstsheet {__version__}",
        "exported_at": at,
        "personal_data": personal,
        "salvaged": salvage,
        "rows": dict(counts),
    }
    _text(folder / HEAD_FILE, json.dumps(head, indent=1) + "\n")
    _text(folder / README_FILE, _readme(counts))
    _text(folder / CHECKSUMS_FILE, "".join(_checksums(folder)))
    return counts


def _nothing_to_save(path: Path, error: sqlite3.Error) -> LedgerError:
    return LedgerError(
        f"The ledger {path} is damaged: {error}.",
        "Nothing of it can be written out.",
        "Run `firstsheet ledger check` to hear of copies.",
        "ledger-damaged",
    )


def _opened(path: Path, *, salvage: bool) -> sqlite3.Connection:
    if not path.is_file():
        raise LedgerError(
            f"There is no ledger at {path}.",
            "Nothing was written.",
            "Name the ledger with --ledger, or make a print first.",
            "no-ledger",
        )
    try:
        tables = sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)
        tables.row_factory = sqlite3.Row
        if salvage:
            read_what_is_there(tables)
        tables.execute("BEGIN")  # one moment of the ledger, whatever others write meanwhile
        return tables
    except sqlite3.Error as error:
        raise explain(error, path) from error


def _write(
    tables: sqlite3.Connection, folder: Path, *, personal: bool, salvage: bool
) -> Mapping[str, int]:
    there = {row[0] for row in tables.execute("SELECT name FROM sqlite_schema")}
    counts: dict[str, int] = {}
    for plain in PLAIN_TABLES:
        if plain.table not in there or (plain.personal and not personal):
            continue
        rows: Iterable[Mapping[str, Any]]
        if salvage:
            rows = salvaged_rows(tables, plain)
        else:
            rows = (
                dict(row) for row in tables.execute(f"SELECT * FROM {plain.table} ORDER BY rowid")
            )
        counts[plain.name] = _write_table(folder, plain, _columns(tables, plain.table), rows)
    return counts


def _columns(tables: sqlite3.Connection, table: str) -> list[str]:
    return [row["name"] for row in tables.execute(f"PRAGMA table_info({table})")]


def _write_table(
    folder: Path, plain: PlainTable, columns: list[str], rows: Iterable[Mapping[str, Any]]
) -> int:
    """One table as CSV and JSON, a row at a time; columns that are files go to their folders."""
    for one in plain.files.values():
        (folder / one.folder).mkdir(exist_ok=True)
    count = 0
    with (
        (folder / f"{plain.name}.csv").open("w", encoding="utf-8", newline="") as as_csv,
        (folder / f"{plain.name}.json").open("w", encoding="utf-8", newline="\n") as as_json,
    ):
        writer = csv.writer(as_csv, lineterminator="\r\n")  # RFC 4180
        writer.writerow(columns)
        as_json.write("[")
        for row in rows:
            shown = dict(row)
            for column, one in plain.files.items():
                place = one.place(row)
                if row[column] and not one.is_sound(row[column], row):
                    raise LedgerError(
                        f"The ledger is damaged: what it keeps as {place} was changed.",
                        "Nothing was written.",
                        "Run `firstsheet ledger check` to hear what can be saved.",
                        "ledger-damaged",
                    )
                (folder / place).write_bytes(one.to_bytes(row[column], row))
                shown[column] = place
            writer.writerow(["" if shown[name] is None else shown[name] for name in columns])
            as_json.write(",\n" if count else "\n")
            as_json.write(json.dumps(shown, ensure_ascii=False))
            count += 1
        as_json.write("\n]\n")
    return count


def _text(path: Path, words: str) -> None:
    path.write_text(words, encoding="utf-8", newline="\n")


def _checksums(folder: Path) -> Iterator[str]:
    """Lines as `sha256sum -c` reads them."""
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not path.name.startswith("."):
            with path.open("rb") as file:
                digest = hashlib.file_digest(file, "sha256").hexdigest()
            yield f"{digest}  {path.relative_to(folder).as_posix()}\n"


def _readme(counts: Mapping[str, int]) -> str:
    about = "\n".join(
        f"  {plain.name + '.csv':<20}{counts[plain.name]:>8} rows   {plain.about}"
        for plain in PLAIN_TABLES
        if plain.name in counts
    )
    return f"""A ledger of prints, written out by Firstsheet {__version__}.

No program is needed to read it. Each table stands here twice with the same content: as CSV
(RFC 4180, UTF-8, first line the columns' names) and as JSON (UTF-8, one row a line).

{about}

Times are UTC (ISO 8601). Units stand in the columns' names: _mm, _bytes, _lux. Where a column
holds a path such as profiles/….icc, the content is that file: ICC profiles, JPEG pictures, tickets
and stocks as TOML, plans as JSON. `entry` in a table is the `number` of a line of prints.csv.
A line of history.csv is never changed; a wrong one is taken back by a later line, which names it
in `withdraws`.

checksums.sha256 lists the SHA-256 of every file; `sha256sum -c checksums.sha256` compares them.
`firstsheet ledger import FOLDER --ledger NEW` makes the same ledger of it again.
"""
