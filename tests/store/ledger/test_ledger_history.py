"""What became of prints: lines are added, sums follow, mistakes are withdrawn and stay readable."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from ledger_maker import NOW, made_print  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.ledger import PrintState
from firstsheet.store.ledger.connect import Ledger, open_ledger
from firstsheet.store.ledger.entries import add_entry
from firstsheet.store.ledger.history import (
    add_judged,
    add_printed,
    print_history,
    state_of,
    withdraw,
)


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with open_ledger(tmp_path / "ledger.sqlite3", at=NOW) as book:
        add_entry(book, made_print(1))
        add_entry(book, made_print(2))
        yield book


def test_sheets_are_summed_print_by_print(ledger: Ledger) -> None:
    add_printed(ledger, 1, copies=2, verdict="spoiled", words="head strike")
    add_printed(ledger, 1, copies=1, verdict="good", words="deep blacks")
    add_printed(ledger, 2, copies=5, verdict="", words="")

    assert state_of(ledger, 1) == PrintState(used=3, good=1, spoiled=2, verdict="good")
    assert state_of(ledger, 2) == PrintState(used=5)


def test_dry_sheets_are_judged_later_without_being_counted_again(ledger: Ledger) -> None:
    add_printed(ledger, 1, copies=3, verdict="", words="")
    add_judged(ledger, 1, copies=1, verdict="spoiled", words="scratched")
    add_judged(ledger, 1, copies=None, verdict="good", words="")

    assert state_of(ledger, 1) == PrintState(used=3, good=2, spoiled=1, verdict="good")
    with pytest.raises(LedgerError, match="1 sheet of print 1 to be judged; 0 waiting"):
        add_judged(ledger, 1, copies=1, verdict="good", words="")


def test_a_wrong_line_is_withdrawn_and_stays_readable(ledger: Ledger) -> None:
    wrong = add_printed(ledger, 1, copies=30, verdict="spoiled", words="a slip of the finger")
    add_printed(ledger, 1, copies=3, verdict="spoiled", words="")
    withdraw(ledger, 1, wrong.number, words="it was three")

    lines = print_history(ledger, 1)
    assert state_of(ledger, 1) == PrintState(used=3, spoiled=3, verdict="spoiled")
    assert [(one.kind, one.copies, one.is_withdrawn) for one in lines] == [
        ("printed", 30, True),
        ("printed", 3, False),
        ("withdrawn", 0, False),
    ]
    with pytest.raises(LedgerError, match=f"no standing line {wrong.number}"):
        withdraw(ledger, 1, wrong.number, words="once more")


def test_a_line_of_another_print_is_not_withdrawn(ledger: Ledger) -> None:
    line = add_printed(ledger, 2, copies=1, verdict="good", words="")

    with pytest.raises(LedgerError) as refused:
        withdraw(ledger, 1, line.number, words="")

    assert refused.value.code == "unknown-line"
    assert state_of(ledger, 2).good == 1


def test_history_is_never_rewritten(ledger: Ledger) -> None:
    add_printed(ledger, 1, copies=1, verdict="good", words="as it was")

    for change in ("UPDATE history SET words = 'better'", "DELETE FROM history"):
        with pytest.raises(sqlite3.IntegrityError, match="never changed"):
            ledger.connection.execute(change)
