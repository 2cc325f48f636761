"""Lists of prints: the newest first, by words, stock, time and verdict.

Takes a `PrintQuery`; gives entries with their sums. 100,000 entries stay under 100 ms
(benchmarks/ledger.py). Tests: tests/store/ledger/test_ledger_search.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from firstsheet.engine.records.ledger import LedgerEntry, PrintState
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.entries import entry_of
from firstsheet.store.ledger.search import matching

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
    where: list[str] = ["1"]
    values: list[str] = []
    with ledger.reading() as tables:
        if query.words.strip():
            text, more = matching(tables, query.words)
            where.append(text)
            values += more
        for column, value in (
            ("stock = ?", query.stock),
            ("made_at >= ?", query.begin),
            ("made_at < ?", query.end),
        ):
            if value:
                where.append(column)
                values.append(value)
        if query.verdict is not None:
            where.append("state.verdict = ?")
            values.append(query.verdict)
        text = f"FROM entry JOIN state ON state.entry = entry.number WHERE {' AND '.join(where)}"
        count = int(tables.execute(f"SELECT count(*) {text}", values).fetchone()[0])
        rows = tables.execute(
            f"SELECT entry.*, state.used, state.good, state.spoiled, "
            f"state.verdict AS judged {text} ORDER BY number DESC LIMIT ? OFFSET ?",
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
