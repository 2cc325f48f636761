"""Lists of prints: the newest first, by words, stock, time and verdict.

Takes a `PrintQuery`; gives entries with their sums. 100,000 entries stay under 100 ms
(benchmarks/ledger.py). Tests: tests/store/ledger/test_ledger_search.py.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from firstsheet.engine.records.ledger import LedgerEntry, PrintState
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.entries import entry_of
from firstsheet.store.ledger.search import matching, plain_words

__all__ = ["PrintQuery", "list_prints"]


@dataclass(frozen=True, kw_only=True)
class PrintQuery:
    """Which prints to list; what is left out does not matter."""

    words: str = ""  # each begins some word of picture, folder, stock, sheet or history
    stock: str = ""
    begin: str = ""  # UTC time, inclusive
    end: str = ""  # exclusive
    verdict: str | None = None  # "" lists those nobody has judged
    limit: int = 50
    offset: int = 0


def list_prints(
    ledger: Ledger, query: PrintQuery
) -> tuple[int, tuple[tuple[LedgerEntry, PrintState], ...]]:
    """How many there are, and those asked for with their sums, newest first."""
    with ledger.reading() as tables:
        numbers, values = _numbers(tables, query)
        count = int(tables.execute(f"SELECT count(*) {numbers}", values).fetchone()[0])
        key = _key(query)
        rows = tables.execute(
            "SELECT entry.*, state.used, state.good, state.spoiled, state.verdict AS judged "
            f"FROM (SELECT {key} AS wanted {numbers} ORDER BY {key} DESC LIMIT ? OFFSET ?) "
            "CROSS JOIN entry ON entry.number = wanted CROSS JOIN state ON state.entry = wanted "
            "ORDER BY wanted DESC",
            (*values, query.limit, query.offset),
        ).fetchall()
    return count, tuple(
        (
            entry_of(row),
            PrintState(
                used=row["used"], good=row["good"], spoiled=row["spoiled"], verdict=row["judged"]
            ),
        )
        for row in rows
    )


def _key(query: PrintQuery) -> str:
    """The column that numbers the entries in `_numbers`."""
    if plain_words(query.words):
        return "found.rowid"
    return "state.entry" if query.verdict is not None else "entry.number"


def _numbers(tables: sqlite3.Connection, query: PrintQuery) -> tuple[str, list[str]]:
    """FROM and WHERE over as few tables as the query needs, the narrowest first."""
    sources: list[str] = []
    where: list[str] = []
    values: list[str] = []
    key = _key(query)
    if key == "found.rowid":
        table, condition, more = matching(tables, query.words)
        sources.append(f"{table} AS found")
        where.append(condition)
        values += more
    if query.verdict is not None:
        sources.append("state" if not sources else f"state ON state.entry = {key}")
        where.append("state.verdict = ?")
        values.append(query.verdict)
    asked = [
        (condition, value)
        for condition, value in (
            ("entry.stock = ?", query.stock),
            ("entry.made_at >= ?", query.begin),
            ("entry.made_at < ?", query.end),
        )
        if value
    ]
    if asked or not sources:
        sources.append("entry" if not sources else f"entry ON entry.number = {key}")
        where += [condition for condition, _ in asked]
        values += [value for _, value in asked]
    text = f"FROM {' CROSS JOIN '.join(sources)}"
    return f"{text} WHERE {' AND '.join(where)}" if where else text, values
