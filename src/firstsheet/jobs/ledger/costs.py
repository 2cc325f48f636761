"""What sheets cost: prices a person enters, sums by stock, and the next sheet.

Tests: tests/jobs/ledger/test_costs_job.py.
"""

from __future__ import annotations

import re
from pathlib import Path

from firstsheet.engine.costs import INK_ML_PER_M2, InkPrice, LatestPrint, stock_cost
from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.costs import StockCost
from firstsheet.engine.sheets import parse_sheet
from firstsheet.jobs.ledger.answers import CostsAnswer
from firstsheet.jobs.ledger.prints import reading, writing
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.prices import (
    add_price,
    currency_of,
    latest_price,
    latest_print,
    printed_stocks,
    sheet_counts,
    stock_state,
)

__all__ = ["costs_by_stock", "set_ink", "set_sheet_price"]

_MONEY = re.compile(
    r"^\s*(?P<before>[^\d\s.,+-]{1,5})?\s*(?P<amount>\d+(?:[.,]\d{1,4})?)\s*"
    r"(?P<after>[^\d\s.,+-]{1,5})?\s*$"
)


def costs_by_stock(ledger: Path | None, *, stock: str = "") -> CostsAnswer:
    """Sum every stock that prints were made for, or one of them."""
    with reading(ledger) as book:
        return _costs(book, stock)


def set_sheet_price(ledger: Path | None, *, stock: str, sheet: str, price: str) -> CostsAnswer:
    """Enter what a sheet of a stock costs from now on.

    Raises
    ------
    LedgerError
        If it is no amount of money, or in another currency than before.
    TicketError
        If the sheet is none.
    """
    name = parse_sheet(sheet).name
    with writing(ledger) as book:
        amount, currency = _money(price, currency_of(book))
        add_price(book, "sheet", amount, stock=stock, sheet=name, currency=currency)
        return _costs(book, stock, f"A sheet {name} of {stock} costs {amount:.2f} {currency}.")


def set_ink(
    ledger: Path | None, *, stock: str, per_ml: str | None, ml_per_m2: float | None
) -> CostsAnswer:
    """Enter what a ml of ink costs, or how much ink your prints take.

    Parameters
    ----------
    stock
        Empty for every stock without a figure of its own.
    per_ml
        Money for a ml.
    ml_per_m2
        Ink for a square metre of picture, ml, from the printer's own accounts.

    Raises
    ------
    LedgerError
        If an amount is none, or in another currency than before.
    """
    told = []
    with writing(ledger) as book:
        if per_ml is not None:
            amount, currency = _money(per_ml, currency_of(book))
            add_price(book, "ink-ml", amount, stock=stock, sheet="", currency=currency)
            told.append(f"A ml of ink costs {amount:.2f} {currency}.")
        if ml_per_m2 is not None:
            if not 0 < ml_per_m2 < 1000:
                raise LedgerError(
                    f"{ml_per_m2:g} ml/m² is no amount of ink that paper takes.",
                    "It was not kept.",
                    f"Usual are {INK_ML_PER_M2:g} ml/m².",
                    "bad-amount",
                )
            add_price(book, "ink-ml-per-m2", ml_per_m2, stock=stock, sheet="", currency="")
            told.append(f"A square metre of picture takes {ml_per_m2:g} ml of ink.")
        return _costs(book, stock, " ".join(told))


def _money(words: str, usual: str) -> tuple[float, str]:
    match = _MONEY.match(words)
    if match is None or (match["before"] and match["after"]):
        raise LedgerError(
            f"“{words}” is no amount of money.",
            "It was not kept.",
            "Write it with its currency: 4.20 EUR.",
            "bad-amount",
        )
    currency = (match["before"] or match["after"] or usual).upper()
    if not currency:
        raise LedgerError(
            f"“{words}” names no currency.",
            "It was not kept.",
            "Write the first price with its currency: 4.20 EUR.",
            "no-currency",
        )
    return float(match["amount"].replace(",", ".")), currency


def _costs(book: Ledger, stock: str, words: str = "") -> CostsAnswer:
    currency = currency_of(book)
    return CostsAnswer(
        ledger=str(book.path),
        currency=currency,
        stocks=tuple(
            _one(book, name, currency)
            for name in printed_stocks(book)
            if not stock or name[0] == stock
        ),
        words=words,
    )


def _one(book: Ledger, name: tuple[str, str], currency: str) -> StockCost:
    stock = name[0]
    own = latest_price(book, "ink-ml-per-m2", stock)
    entry = latest_print(book, stock)
    latest = None
    if entry is not None:
        latest = LatestPrint(
            number=entry.number,
            sheet=entry.sheet,
            area_mm2=entry.width_mm * entry.height_mm,
            sheet_price=latest_price(book, "sheet", stock, entry.sheet),
        )
    return stock_cost(
        name,
        sheet_counts(book, stock),
        stock_state(book, stock),
        InkPrice(
            ml_per_m2=INK_ML_PER_M2 if own is None else own,
            is_own=own is not None,
            per_ml=latest_price(book, "ink-ml", stock),
        ),
        latest,
        currency,
    )
