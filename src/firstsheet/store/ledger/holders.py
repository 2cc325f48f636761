"""Who holds copies: personal data in a table of its own, the only one from which rows may go.

Takes what a person gave; gives it back, or erases it. What was erased is overwritten in the file
and gone from its log; that it was erased, and when, stays. Tests:
tests/store/ledger/test_holders.py.
"""

from __future__ import annotations

import sqlite3

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.edition import Holder
from firstsheet.store.ledger.connect import Ledger

__all__ = ["add_holder", "all_holders", "erase_holder", "find_holder", "holder_lines"]

_ALL = """
SELECT holder.number, holder.at, coalesce(data.name, '') AS name,
       coalesce(data.contact, '') AS contact, coalesce(data.place, '') AS place,
       EXISTS (SELECT 1 FROM erasure WHERE erasure.holder = holder.number) AS is_erased
FROM holder LEFT JOIN holder_data AS data ON data.holder = holder.number
"""


def add_holder(ledger: Ledger, *, name: str, contact: str, place: str) -> Holder:
    """Keep a holder's data; the same name with the same contact is the same holder."""
    with ledger.writing() as tables:
        row = tables.execute(
            "SELECT holder FROM holder_data WHERE name = ? AND contact = ? AND place = ?",
            (name, contact, place),
        ).fetchone()
        if row is not None:
            return _holder(tables, int(row[0]))
        number = tables.execute("INSERT INTO holder (at) VALUES (?)", (ledger.at,)).lastrowid
        assert number is not None
        tables.execute(
            "INSERT INTO holder_data (holder, name, contact, place) VALUES (?, ?, ?, ?)",
            (number, name, contact, place),
        )
        return _holder(tables, number)


def all_holders(ledger: Ledger) -> tuple[Holder, ...]:
    """Every holder, also those whose data was erased."""
    with ledger.reading() as tables:
        rows = tables.execute(f"{_ALL} ORDER BY holder.number").fetchall()
    return tuple(_of(row) for row in rows)


def find_holder(ledger: Ledger, name: str) -> Holder:
    """One holder by number or by the whole name.

    Raises
    ------
    LedgerError
        If there is none, or several have that name.
    """
    found = [one for one in all_holders(ledger) if name in (str(one.number), one.name)]
    if len(found) == 1:
        return found[0]
    numbers = ", ".join(str(one.number) for one in found)
    raise LedgerError(
        f"{len(found) or 'No'} holders are called “{name}”.",
        "Nothing was done.",
        f"Give the number: {numbers}." if found else "`firstsheet edition holders` lists them.",
        "unknown-holder",
    )


def holder_lines(ledger: Ledger, number: int) -> tuple[tuple[str, str, int, str, str], ...]:
    """What the ledger says of a holder: edition, series, number, time and words of each line."""
    with ledger.reading() as tables:
        rows = tables.execute(
            "SELECT edition.name, copy.series, copy.position, line.at, line.words "
            "FROM copy_history AS line JOIN copy ON copy.number = line.copy "
            "JOIN edition ON edition.number = copy.edition WHERE line.holder = ? "
            "ORDER BY line.number",
            (number,),
        ).fetchall()
    return tuple((row[0], row[1], row[2], row[3], row[4]) for row in rows)


def erase_holder(ledger: Ledger, number: int) -> Holder:
    """Erase a holder's data for good; that there was one, and which copies went there, stays.

    Raises
    ------
    LedgerError
        If there is no such holder, it is erased already, or another process keeps the log in use.
    """
    with ledger.writing() as tables:
        before = _holder(tables, number)
        if before.is_erased:
            raise LedgerError(
                f"The data of holder {number} is erased already.",
                "Nothing was done.",
                "Copies and exports of the ledger from before may still hold it.",
                "already-erased",
            )
        tables.execute("DELETE FROM holder_data WHERE holder = ?", (number,))
        tables.execute("INSERT INTO erasure (holder, at) VALUES (?, ?)", (number, ledger.at))
        after = _holder(tables, number)
    with ledger.explained():
        # the log still has the page as it was: write it back and cut it to nothing
        busy = ledger.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    if busy:
        raise LedgerError(
            f"The data of holder {number} is erased, but another process reads the ledger.",
            "Until it ends, its log may still hold the data.",
            "Close other Firstsheet programs; the next one that opens the ledger clears the log.",
            "erased-log-in-use",
        )
    return after


def _holder(tables: sqlite3.Connection, number: int) -> Holder:
    row = tables.execute(f"{_ALL} WHERE holder.number = ?", (number,)).fetchone()
    if row is None:
        raise LedgerError(
            f"There is no holder {number}.",
            "Nothing was done.",
            "`firstsheet edition holders` lists them.",
            "unknown-holder",
        )
    return _of(row)


def _of(row: sqlite3.Row) -> Holder:
    return Holder(
        number=row["number"],
        at=row["at"],
        name=row["name"],
        contact=row["contact"],
        place=row["place"],
        is_erased=bool(row["is_erased"]),
    )
