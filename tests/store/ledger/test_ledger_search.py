"""Prints are found by words, stock, time and verdict, newest first."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from ledger_maker import NOW, made_print  # type: ignore[import-not-found]

from firstsheet.store.ledger import search
from firstsheet.store.ledger.connect import Ledger, open_ledger
from firstsheet.store.ledger.entries import add_entry
from firstsheet.store.ledger.history import add_printed, withdraw
from firstsheet.store.ledger.listing import PrintQuery, list_prints


@pytest.fixture(params=["index", "no index"])
def ledger(
    tmp_path: Path, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Ledger]:
    if request.param == "no index":  # a SQLite without FTS5
        monkeypatch.setattr(search, "_can_index", lambda: False)
    with open_ledger(tmp_path / "ledger.sqlite3", at=NOW) as book:
        stairs = "/scans/Ferry-Stairs_Übergang.tif"
        add_entry(book, made_print(1, picture_path=stairs, made_at="2026-10-31T23:59:59Z"))
        add_entry(book, made_print(2, stock="harbour-gloss", stock_title="Harbour Gloss 260"))
        add_entry(book, made_print(3, made_at="2026-11-01T00:00:00Z"))
        yield book


def found(ledger: Ledger, **wanted: object) -> list[int]:
    count, rows = list_prints(ledger, PrintQuery(**wanted))  # type: ignore[arg-type]
    assert count == len(rows)
    return [entry.number for entry, _ in rows]


def test_all_prints_are_listed_newest_first(ledger: Ledger) -> None:
    assert found(ledger) == [3, 2, 1]


@pytest.mark.parametrize(
    ("words", "numbers"),
    [
        ("ferry", [1]),
        ("FERRY stairs", [1]),
        ("ubergang", [1]),
        ("Über", [1]),
        ("chalk", [3, 1]),
        ("quay chalk", [3, 1]),
        ("gloss 260", [2]),
        ("nowhere", []),
        ("erry", []),  # a word is found by its beginning
        ('"; DROP TABLE entry; --', []),
        ("-*()", [3, 2, 1]),  # no words at all
    ],
)
def test_prints_are_found_by_the_beginnings_of_words(
    ledger: Ledger, words: str, numbers: list[int]
) -> None:
    assert found(ledger, words=words) == numbers


def test_what_was_said_of_a_print_is_found_until_it_is_withdrawn(ledger: Ledger) -> None:
    line = add_printed(ledger, 2, copies=1, verdict="spoiled", words="Kratzer über dem Himmel")
    assert found(ledger, words="kratz himmel") == [2]

    add_printed(ledger, 2, copies=1, verdict="good", words="calm sky")
    assert found(ledger, words="kratz sky") == [2]
    withdraw(ledger, 2, line.number, words="the other print")
    assert found(ledger, words="other print") == [2]


def test_prints_are_found_by_stock_time_and_verdict(ledger: Ledger) -> None:
    add_printed(ledger, 1, copies=1, verdict="spoiled", words="")
    add_printed(ledger, 3, copies=1, verdict="good", words="")

    assert found(ledger, stock="harbour-gloss") == [2]
    assert found(ledger, begin="2026-11-01T00:00:00Z", end="2026-12-01T00:00:00Z") == [3]
    assert found(ledger, verdict="spoiled") == [1]
    assert found(ledger, verdict="") == [2]
    assert found(ledger, words="quay", verdict="good", stock="chalk-matte") == [3]


def test_a_long_list_is_given_in_parts_with_its_whole_count(ledger: Ledger) -> None:
    count, rows = list_prints(ledger, PrintQuery(limit=2, offset=1))

    assert count == 3
    assert [entry.number for entry, _ in rows] == [2, 1]


def test_an_index_that_was_passed_over_is_made_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not search._can_index():
        pytest.skip("this SQLite has no FTS5")
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as book:
        add_entry(book, made_print(1))
    with monkeypatch.context() as without:
        without.setattr(search, "_can_index", lambda: False)
        with open_ledger(path, at=NOW) as book:
            add_entry(book, made_print(2))
            add_printed(book, 1, copies=1, verdict="good", words="written without index")

    with open_ledger(path, at=NOW) as book:
        assert search.has_index(book.connection)
        assert found(book, words="quay") == [2, 1]
        assert found(book, words="without index") == [1]
        add_printed(book, 1, copies=1, verdict="good", words="and with it")
        assert found(book, words="without index and with") == [1]
