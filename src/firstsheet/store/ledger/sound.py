"""A look at the whole ledger: is the file sound, and does what it holds agree with itself?

Takes a path; changes nothing. For a damaged file it says what can still be read. Tests:
tests/store/ledger/test_ledger_damage.py.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.ledger_check import LedgerCopy, LedgerReport, TableReport
from firstsheet.store.ledger.backup import copies_beside
from firstsheet.store.ledger.connect import APPLICATION_ID
from firstsheet.store.ledger.faults import WAIT_S
from firstsheet.store.ledger.migrations import MIGRATIONS
from firstsheet.store.ledger.plain import PLAIN_TABLES
from firstsheet.store.ledger.salvage import read_what_is_there, readable_rows

__all__ = ["check_ledger"]

_MOST_PROBLEMS = 20
_SUMS = """
SELECT state.entry FROM state WHERE
  used != (SELECT coalesce(sum(copies), 0) FROM standing
           WHERE standing.entry = state.entry AND kind = 'printed')
  OR good != (SELECT coalesce(sum(copies), 0) FROM standing
              WHERE standing.entry = state.entry AND verdict = 'good')
  OR spoiled != (SELECT coalesce(sum(copies), 0) FROM standing
                 WHERE standing.entry = state.entry AND verdict = 'spoiled')
"""
_STANDING = """
WITH standing AS (SELECT * FROM history AS line WHERE kind != 'withdrawn' AND NOT EXISTS
  (SELECT 1 FROM history AS later WHERE later.withdraws = line.number))
"""
_EDITION_RULES = """
SELECT edition.name, copy.series, copy.position FROM copy JOIN edition ON edition.number = edition
WHERE position > (SELECT CASE copy.series WHEN 'number' THEN size ELSE proofs END
                  FROM edition_terms AS terms WHERE terms.edition = copy.edition
                  ORDER BY number DESC LIMIT 1)
   OR (replaces IS NULL AND EXISTS (SELECT 1 FROM copy AS other
       WHERE other.replaces IS NULL AND other.number < copy.number
       AND other.edition = copy.edition AND other.series = copy.series
       AND other.position = copy.position))
"""


def check_ledger(path: Path) -> LedgerReport:
    """Look at everything once.

    Raises
    ------
    LedgerError
        If there is no such file.
    """
    if not path.is_file():
        raise LedgerError(
            f"There is no ledger at {path}.",
            "There is nothing to check.",
            "Name the ledger with --ledger, or make a print first.",
            "no-ledger",
        )
    problems: list[str] = []
    tables: tuple[TableReport, ...] = ()
    form: int | None = None
    with contextlib.closing(sqlite3.connect(path, timeout=WAIT_S, isolation_level=None)) as book:
        book.row_factory = sqlite3.Row
        try:
            whose = book.execute("PRAGMA application_id").fetchone()[0]
            if whose != APPLICATION_ID:
                problems.append("The file does not say that it is a ledger of Firstsheet.")
            book.execute("SELECT count(*) FROM sqlite_schema").fetchone()
            problems += _file_problems(book)
        except sqlite3.DatabaseError as error:
            problems.append(f"SQLite cannot read the file: {error}.")
        with contextlib.suppress(sqlite3.DatabaseError):
            read_what_is_there(book)
            tables = _tables(book)
            form = _form(book)
        if not problems and form == len(MIGRATIONS):  # older ones: when they are next written to
            problems += _content_problems(book)
    shown = problems[:_MOST_PROBLEMS]
    if len(problems) > _MOST_PROBLEMS:
        shown.append(f"{len(problems) - _MOST_PROBLEMS} more problems are not listed.")
    return LedgerReport(
        path=str(path),
        size_bytes=path.stat().st_size,
        form=form,
        is_sound=not problems,
        tables=tables,
        problems=tuple(shown),
        copies=tuple(_copy(one) for one in copies_beside(path)),
    )


def _form(book: sqlite3.Connection) -> int | None:
    with contextlib.suppress(sqlite3.DatabaseError):
        return int(book.execute("SELECT max(number) FROM migration").fetchone()[0])
    return None


def _file_problems(book: sqlite3.Connection) -> list[str]:
    try:
        told = [row[0] for row in book.execute(f"PRAGMA integrity_check({_MOST_PROBLEMS})")]
        lines = [line for one in told for line in str(one).splitlines()]
        found = [f"The file is damaged: {line}." for line in lines if line != "ok"]
        for row in book.execute("PRAGMA foreign_key_check"):
            found.append(f"Row {row[1]} of {row[0]} rests on a row of {row[2]} that is missing.")
        return found
    except sqlite3.DatabaseError as error:
        return [f"The file is damaged: {error}."]


def _tables(book: sqlite3.Connection) -> tuple[TableReport, ...]:
    there = {row[0] for row in book.execute("SELECT name FROM sqlite_schema")}
    reports = []
    for plain in PLAIN_TABLES:
        if plain.table not in there:
            continue
        rows: int | None = None
        with contextlib.suppress(sqlite3.DatabaseError):
            rows = int(book.execute(f"SELECT count(*) FROM {plain.table}").fetchone()[0])
        readable = sum(1 for _ in readable_rows(book, plain.table))
        reports.append(TableReport(name=plain.name, rows=rows, readable=readable))
    return tuple(reports)


def _content_problems(book: sqlite3.Connection) -> Iterator[str]:
    """Whether kept content is what its name says, and sums agree with histories."""
    for plain in PLAIN_TABLES:
        for found in book.execute(f"SELECT * FROM {plain.table}") if plain.files else ():
            row = dict(found)
            for column, one in plain.files.items():
                if not one.is_sound(row[column], row):
                    yield f"{one.place(row)} (as an export calls it) was changed, or was lost."
    for row in book.execute(_STANDING + _SUMS):
        yield f"The sums of print {row[0]} do not agree with its history."
    for row in book.execute(_EDITION_RULES):
        yield f"Edition {row[0]}: number {row[2]} ({row[1]}) is given twice, or beyond its size."
    missing = "SELECT number FROM entry WHERE number NOT IN (SELECT entry FROM {})"
    for table, what in (("state", "sums"), ("entry_words", "words to be found by")):
        for row in book.execute(missing.format(table)):
            yield f"Print {row[0]} has no {what}."


def _copy(path: Path) -> LedgerCopy:
    try:
        with contextlib.closing(
            sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
        ) as book:
            count = int(book.execute("SELECT count(*) FROM entry").fetchone()[0])
    except sqlite3.DatabaseError:
        return LedgerCopy(path=str(path), prints=None)
    return LedgerCopy(path=str(path), prints=count)
