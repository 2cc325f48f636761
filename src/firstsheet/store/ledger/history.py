"""What happened to prints after they were made. Lines are added, never changed.

Takes what a person said; gives lines and their sums. A line that was wrong is withdrawn by a later
one and stays readable. Tests: tests/store/ledger/test_ledger_history.py.
"""

from __future__ import annotations

import sqlite3

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.prints import print_state
from firstsheet.engine.records.ledger import HistoryLine, PrintState, PrintVerdict
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.entries import entry_of
from firstsheet.store.ledger.search import keep_words

__all__ = ["add_judged", "add_printed", "print_history", "recount", "state_of", "withdraw"]


def add_printed(
    ledger: Ledger, entry: int, *, copies: int, verdict: PrintVerdict, words: str
) -> HistoryLine:
    """Say that sheets of a print went through the printer, and how they turned out.

    Parameters
    ----------
    copies
        Sheets, at least 1.
    verdict
        What all of them are; empty where nobody has judged yet.
    words
        Why.
    """
    with ledger.writing() as tables:
        return _add(tables, entry, ledger.at, ("printed", copies, verdict, words, None))


def add_judged(
    ledger: Ledger, entry: int, *, copies: int | None, verdict: PrintVerdict, words: str
) -> HistoryLine:
    """Judge sheets that were printed before; None judges all that wait for it.

    Raises
    ------
    LedgerError
        If fewer sheets are waiting to be judged.
    """
    with ledger.writing() as tables:
        state = print_state(_lines(tables, entry))
        waiting = state.used - state.good - state.spoiled
        count = waiting if copies is None else copies
        if count > waiting or count < 1:
            raise LedgerError(
                f"{_sheets(count)} of print {entry} to be judged; {waiting} waiting for it.",
                "Nothing was written.",
                "Say first that they were printed.",
                "nothing-to-judge",
                f"firstsheet prints printed {entry} --copies N",
            )
        return _add(tables, entry, ledger.at, ("judged", count, verdict, words, None))


def _sheets(count: int) -> str:
    return "1 sheet" if count == 1 else f"{count} sheets"


def withdraw(ledger: Ledger, entry: int, line: int, *, words: str) -> HistoryLine:
    """Take back a line that was wrong; it stays readable.

    Raises
    ------
    LedgerError
        If the print has no such line, or it is withdrawn already.
    """
    with ledger.writing() as tables:
        standing = [
            one.number
            for one in _lines(tables, entry)
            if not one.is_withdrawn and one.kind != "withdrawn"
        ]
        if line not in standing:
            raise LedgerError(
                f"Print {entry} has no standing line {line}.",
                "Nothing was written.",
                f"Its lines that stand: {', '.join(map(str, standing)) or 'none'}.",
                "unknown-line",
            )
        return _add(tables, entry, ledger.at, ("withdrawn", 0, "", words, line))


def _add(
    tables: sqlite3.Connection,
    entry: int,
    at: str,
    line: tuple[str, int, PrintVerdict, str, int | None],
) -> HistoryLine:
    number = tables.execute(
        "INSERT INTO history (entry, at, kind, copies, verdict, words, withdraws) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        (entry, at, *line),
    ).lastrowid
    return next(one for one in recount(tables, entry) if one.number == number)


def recount(tables: sqlite3.Connection, entry: int) -> tuple[HistoryLine, ...]:
    """Sum a print's history anew, inside an open transaction; gives its lines."""
    lines = _lines(tables, entry)
    state = print_state(lines)
    tables.execute(
        "INSERT INTO state (entry, used, good, spoiled, verdict) VALUES (?, ?, ?, ?, ?) "
        "ON CONFLICT (entry) DO UPDATE SET used = excluded.used, good = excluded.good, "
        "spoiled = excluded.spoiled, verdict = excluded.verdict",
        (entry, state.used, state.good, state.spoiled, state.verdict),
    )
    row = tables.execute("SELECT * FROM entry WHERE number = ?", (entry,)).fetchone()
    keep_words(tables, entry_of(row), (one.words for one in lines))
    return lines


def print_history(ledger: Ledger, entry: int) -> tuple[HistoryLine, ...]:
    """All lines of a print, oldest first; those withdrawn say so."""
    with ledger.reading() as tables:
        return _lines(tables, entry)


def state_of(ledger: Ledger, entry: int) -> PrintState:
    """Sheets used, good and spoiled of one print."""
    return print_state(print_history(ledger, entry))


def _lines(tables: sqlite3.Connection, entry: int) -> tuple[HistoryLine, ...]:
    rows = tables.execute(
        "SELECT * FROM history WHERE entry = ? ORDER BY number", (entry,)
    ).fetchall()
    taken_back = {row["withdraws"] for row in rows}
    return tuple(
        HistoryLine.model_validate({**dict(row), "is_withdrawn": row["number"] in taken_back})
        for row in rows
    )
