"""Prices a person entered, and counts of sheets at the price of their time.

Takes prices; gives what `engine.costs` sums. Lines are added, never changed; the latest counts.
Tests: tests/store/ledger/test_ledger_prices.py.
"""

from __future__ import annotations

import sqlite3

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.costs import Price, PriceItem, SheetCount
from firstsheet.engine.records.ledger import LedgerEntry, PrintState
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.entries import entry_of

__all__ = [
    "add_price",
    "currency_of",
    "latest_price",
    "latest_print",
    "prices",
    "printed_stocks",
    "sheet_counts",
    "stock_state",
]


def add_price(
    ledger: Ledger, item: PriceItem, amount: float, *, stock: str, sheet: str, currency: str
) -> Price:
    """Keep a price that holds from now on.

    Raises
    ------
    LedgerError
        If it is in another currency than those before.
    """
    with ledger.writing() as tables:
        before = _currency(tables)
        if currency and before and currency != before:
            raise LedgerError(
                f"The price is in {currency}; the ledger counts in {before}.",
                "Amounts of two currencies cannot be added, so it was not kept.",
                f"Give the price in {before}.",
                "other-currency",
            )
        number = tables.execute(
            "INSERT INTO price (at, stock, item, sheet, amount, currency) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            (ledger.at, stock, item, sheet, amount, currency),
        ).lastrowid
        row = tables.execute("SELECT * FROM price WHERE number = ?", (number,)).fetchone()
    return Price.model_validate(dict(row))


def currency_of(ledger: Ledger) -> str:
    """The currency of the prices; empty where there are none."""
    with ledger.reading() as tables:
        return _currency(tables)


def _currency(tables: sqlite3.Connection) -> str:
    row = tables.execute(
        "SELECT currency FROM price WHERE currency != '' ORDER BY number LIMIT 1"
    ).fetchone()
    return "" if row is None else str(row[0])


def prices(ledger: Ledger) -> tuple[Price, ...]:
    """Every price, oldest first."""
    with ledger.reading() as tables:
        rows = tables.execute("SELECT * FROM price ORDER BY number").fetchall()
    return tuple(Price.model_validate(dict(row)) for row in rows)


def latest_price(ledger: Ledger, item: PriceItem, stock: str, sheet: str = "") -> float | None:
    """The amount that holds now: the stock's own, else that for every stock, else None."""
    with ledger.reading() as tables:
        row = tables.execute(
            "SELECT amount FROM price WHERE item = ? AND stock IN (?, '') AND sheet = ? "
            "ORDER BY stock != '' DESC, number DESC LIMIT 1",
            (item, stock, sheet),
        ).fetchone()
    return None if row is None else float(row[0])


def sheet_counts(ledger: Ledger, stock: str) -> tuple[SheetCount, ...]:
    """Sheets of a stock that went through the printer, by size and by the price of that day.

    Sheets printed before any price was entered count at the first.
    """
    with ledger.reading() as tables:
        rows = tables.execute(
            """
            SELECT entry.stock, entry.sheet, sum(line.copies) AS used,
                   sum(line.copies * entry.width_mm * entry.height_mm) AS area_mm2,
                   coalesce(
                     (SELECT amount FROM price WHERE item = 'sheet' AND price.stock = entry.stock
                      AND price.sheet = entry.sheet AND price.at <= line.at
                      ORDER BY number DESC LIMIT 1),
                     (SELECT amount FROM price WHERE item = 'sheet' AND price.stock = entry.stock
                      AND price.sheet = entry.sheet ORDER BY number LIMIT 1)
                   ) AS sheet_price
            FROM entry JOIN history AS line ON line.entry = entry.number
            WHERE entry.stock = ? AND line.kind = 'printed' AND NOT EXISTS
              (SELECT 1 FROM history AS later WHERE later.withdraws = line.number)
            GROUP BY entry.sheet, sheet_price ORDER BY entry.sheet, sheet_price
            """,
            (stock,),
        ).fetchall()
    return tuple(SheetCount.model_validate(dict(row)) for row in rows)


def printed_stocks(ledger: Ledger) -> tuple[tuple[str, str], ...]:
    """Names and latest titles of all stocks that prints were made for."""
    with ledger.reading() as tables:
        rows = tables.execute(
            "SELECT stock, stock_title, max(number) FROM entry GROUP BY stock ORDER BY stock"
        ).fetchall()
    return tuple((row["stock"], row["stock_title"]) for row in rows)


def stock_state(ledger: Ledger, stock: str) -> PrintState:
    """Sheets of all prints on a stock together."""
    with ledger.reading() as tables:
        row = tables.execute(
            "SELECT coalesce(sum(used), 0), coalesce(sum(good), 0), coalesce(sum(spoiled), 0) "
            "FROM entry JOIN state ON state.entry = entry.number WHERE stock = ?",
            (stock,),
        ).fetchone()
    return PrintState(used=row[0], good=row[1], spoiled=row[2])


def latest_print(ledger: Ledger, stock: str) -> LedgerEntry | None:
    """The newest print (no test sheet) on a stock."""
    with ledger.reading() as tables:
        row = tables.execute(
            "SELECT * FROM entry WHERE stock = ? AND kind = 'print' ORDER BY number DESC LIMIT 1",
            (stock,),
        ).fetchone()
    return None if row is None else entry_of(row)
