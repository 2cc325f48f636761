"""Prices hold from when they were entered; sheets count at the price of their day."""

from __future__ import annotations

from pathlib import Path

import pytest
from ledger_maker import made_print  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import add_entry
from firstsheet.store.ledger.history import add_printed, withdraw
from firstsheet.store.ledger.prices import (
    add_price,
    currency_of,
    latest_price,
    printed_stocks,
    sheet_counts,
    stock_state,
)


def on(path: Path, day: int):  # type: ignore[no-untyped-def]  # a context of the ledger
    return open_ledger(path, at=f"2026-12-{day:02d}T12:00:00Z")


def test_sheets_count_at_the_price_of_their_day(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with on(path, 1) as book:
        add_entry(book, made_print(1))
        add_entry(book, made_print(2, sheet="A4", width_mm=100.0, height_mm=50.0))
        add_entry(book, made_print(3, stock="harbour-gloss"))
        add_printed(book, 1, copies=2, verdict="good", words="")
    with on(path, 2) as book:
        add_price(book, "sheet", 4.0, stock="chalk-matte", sheet="A3+", currency="EUR")
        add_printed(book, 1, copies=3, verdict="spoiled", words="")
        wrong = add_printed(book, 1, copies=70, verdict="spoiled", words="a slip")
    with on(path, 3) as book:
        add_price(book, "sheet", 5.0, stock="chalk-matte", sheet="A3+", currency="EUR")
        add_printed(book, 1, copies=1, verdict="good", words="")
        add_printed(book, 2, copies=4, verdict="", words="")
        add_printed(book, 3, copies=9, verdict="", words="")
        withdraw(book, 1, wrong.number, words="")

        counts = sheet_counts(book, "chalk-matte")
        state = stock_state(book, "chalk-matte")
        stocks = printed_stocks(book)

    found = [(one.sheet, one.used, one.area_mm2, one.sheet_price) for one in counts]
    picture_mm2 = 381 * 254
    assert found == [
        ("A3+", 5, 5 * picture_mm2, 4.0),  # the first two from before there was a price
        ("A3+", 1, picture_mm2, 5.0),
        ("A4", 4, 4 * 5000, None),
    ]
    assert (state.used, state.good, state.spoiled) == (10, 3, 3)
    assert stocks == (("chalk-matte", "Chalk Matte 310"), ("harbour-gloss", "Chalk Matte 310"))


def test_the_latest_price_holds_and_a_stocks_own_comes_first(tmp_path: Path) -> None:
    with on(tmp_path / "ledger.sqlite3", 1) as book:
        assert latest_price(book, "ink-ml", "cotton") is None
        add_price(book, "ink-ml", 0.9, stock="", sheet="", currency="EUR")
        add_price(book, "ink-ml", 0.5, stock="cotton", sheet="", currency="EUR")
        add_price(book, "ink-ml", 0.8, stock="", sheet="", currency="EUR")

        assert latest_price(book, "ink-ml", "cotton") == 0.5
        assert latest_price(book, "ink-ml", "baryta") == 0.8


def test_two_currencies_are_never_added(tmp_path: Path) -> None:
    with on(tmp_path / "ledger.sqlite3", 1) as book:
        add_price(book, "sheet", 4.0, stock="cotton", sheet="A4", currency="EUR")
        add_price(book, "ink-ml-per-m2", 11.0, stock="", sheet="", currency="")

        with pytest.raises(LedgerError) as refused:
            add_price(book, "ink-ml", 0.5, stock="", sheet="", currency="CHF")

        assert refused.value.code == "other-currency"
        assert currency_of(book) == "EUR"
