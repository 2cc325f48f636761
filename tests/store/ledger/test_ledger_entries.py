"""Entries come back as they were kept, whole, and are never changed."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from ledger_maker import NOW, PROFILE, made_print  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError
from firstsheet.store.ledger.connect import Ledger, open_ledger
from firstsheet.store.ledger.entries import (
    add_entry,
    entry_files,
    find_print,
    kept_plan,
    kept_profile,
    kept_sample,
    kept_versions,
    read_entry,
    small_picture,
)


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with open_ledger(tmp_path / "ledger.sqlite3", at=NOW) as book:
        yield book


def test_a_print_comes_back_as_it_was_kept(ledger: Ledger) -> None:
    made = made_print(4)
    kept = add_entry(ledger, made)

    entry = read_entry(ledger, kept.number)
    sample = kept_sample(ledger, entry.number)
    assert entry == kept
    assert entry.model_copy(update={"number": 0, "versions_sha256": ""}) == made.entry
    assert entry_files(ledger, entry.number) == made.files
    assert small_picture(ledger, entry.number) == made.jpeg
    assert kept_profile(ledger, entry.profile_sha256) == PROFILE
    assert kept_plan(ledger, entry.plan_digest) == (made.ticket, made.stock, made.plan)
    assert kept_versions(ledger, entry.versions_sha256) == made.versions
    assert sample is not None
    assert (sample.columns, sample.rows, sample.channels, sample.codes) == (
        2,
        1,
        3,
        bytes(range(12)),
    )


def test_numbers_count_up_and_profile_and_plan_are_kept_once(ledger: Ledger) -> None:
    numbers = [add_entry(ledger, made_print(1)).number for _ in range(3)]

    assert numbers == [1, 2, 3]
    for table in ("profile", "plan", "versions"):
        assert ledger.connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == 1


def test_nothing_of_an_entry_is_kept_where_a_part_of_it_fails(ledger: Ledger) -> None:
    twice = made_print(1)
    object.__setattr__(twice, "files", (*twice.files, twice.files[0]))  # a name twice

    with pytest.raises(sqlite3.IntegrityError):
        add_entry(ledger, twice)

    for table in ("entry", "profile", "plan", "entry_file", "entry_words"):
        assert ledger.connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == 0


@pytest.mark.parametrize("table", ["profile", "plan", "versions", "entry", "entry_file", "sample"])
def test_what_stands_is_neither_changed_nor_removed(ledger: Ledger, table: str) -> None:
    add_entry(ledger, made_print(1))
    column = ledger.connection.execute(f"PRAGMA table_info({table})").fetchone()["name"]

    for change in (f"UPDATE {table} SET {column} = {column}", f"DELETE FROM {table}"):
        with pytest.raises(sqlite3.IntegrityError, match="never changed"):
            ledger.connection.execute(change)


def test_replacing_a_row_is_a_change_too(ledger: Ledger) -> None:
    add_entry(ledger, made_print(1))

    with pytest.raises(sqlite3.IntegrityError, match="never changed"):
        ledger.connection.execute("INSERT OR REPLACE INTO entry SELECT * FROM entry")


@pytest.mark.parametrize(
    ("name", "number"), [("2", 2), ("#2", 2), ("latest", 3), ("/prints/quay-1", 1)]
)
def test_a_print_is_found_by_what_is_at_hand(ledger: Ledger, name: str, number: int) -> None:
    for one in (1, 2, 3):
        add_entry(ledger, made_print(one))

    assert find_print(ledger, name).number == number


def test_a_print_is_found_by_the_digits_in_its_border(ledger: Ledger) -> None:
    add_entry(ledger, made_print(1))
    entry = add_entry(ledger, made_print(2))
    add_entry(ledger, made_print(3))

    assert find_print(ledger, entry.plan_digest[:12]).number == entry.number
    assert find_print(ledger, entry.plan_digest[:12].upper()).number == entry.number


@pytest.mark.parametrize("name", ["9", "", "quay", "abcdef012345", "latest-one"])
def test_an_unknown_print_is_told_with_what_would_be_right(ledger: Ledger, name: str) -> None:
    add_entry(ledger, made_print(1))

    with pytest.raises(LedgerError) as refused:
        find_print(ledger, name)

    assert refused.value.code == "unknown-print"
    assert f"“{name}”" in refused.value.found
    assert "firstsheet prints" in refused.value.choice
