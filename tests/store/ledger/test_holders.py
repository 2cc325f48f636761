"""Personal data: kept apart, exported on request, erased for good."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from ledger_maker import NOW, tables_of  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.edition import EditionTerms
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.editions import (
    NewCopy,
    add_copy,
    add_copy_line,
    edition_copies,
    new_edition,
)
from firstsheet.store.ledger.export import export_tables
from firstsheet.store.ledger.holders import (
    add_holder,
    all_holders,
    erase_holder,
    find_holder,
    holder_lines,
)
from firstsheet.store.ledger.restore import import_tables

PERSON = {"name": "Josefine Tidewater", "contact": "josefine@merrowick.example", "place": "Quay 4"}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """An edition with a copy that Josefine holds, a replaced one and a proof."""
    path = tmp_path / "ledger.sqlite3"
    fields: dict[str, Any] = {
        "name": "quay", "title": "The Quay", "artist": "Ada Merrow", "year": "2026", "size": 9,
        "proofs": 1,
    }  # fmt: skip
    with open_ledger(path, at=NOW) as book:
        new_edition(book, EditionTerms.model_validate(fields))
        holder = add_holder(book, **PERSON).number
        for _ in range(2):
            add_copy(book, "quay", NewCopy())
        add_copy(book, "quay", NewCopy(series="proof"))
        add_copy_line(book, "quay", "number", 1, "given", words="sold", holder=holder)
        add_copy_line(book, "quay", "number", 2, "spoiled", words="torn")
        add_copy(book, "quay", NewCopy(position=2, replaces_spoiled=True, words="replaced"))
        add_copy_line(book, "quay", "number", 2, "spoiled", words="torn again")
        add_copy(book, "quay", NewCopy(position=2, replaces_spoiled=True, words="once more"))
    return path


def test_a_holder_is_kept_once_and_found_by_number_or_name(path: Path) -> None:
    with open_ledger(path, at=NOW) as book:
        again = add_holder(book, **PERSON)
        other = add_holder(book, name="Josefine Tidewater", contact="", place="")

        assert again.number == 1
        assert other.number == 2
        assert find_holder(book, "1").contact == PERSON["contact"]
        with pytest.raises(LedgerError, match="2 holders are called"):
            find_holder(book, "Josefine Tidewater")
        with pytest.raises(LedgerError, match="No holders are called"):
            find_holder(book, "Nobody")
        assert holder_lines(book, 1) == (("quay", "number", 1, NOW, "sold"),)


def test_erased_data_is_gone_from_the_file_and_what_stays_is_that_it_was(path: Path) -> None:
    assert any(word.encode() in path.read_bytes() for word in PERSON.values())
    with open_ledger(path, at="2027-01-01T00:00:00Z") as book:
        erase_holder(book, 1)
        # while it is still open: neither file nor log holds the data
        for file in path.parent.iterdir():
            assert not any(word.encode() in file.read_bytes() for word in PERSON.values()), file

        (left,) = all_holders(book)
        assert left.is_erased
        assert (left.name, left.contact, left.place) == ("", "", "")
        assert edition_copies(book, "quay")[0].holder == 1
        with pytest.raises(LedgerError) as refused:
            erase_holder(book, 1)
    assert refused.value.code == "already-erased"
    assert tables_of(path)["erasure"] == [(1, 1, "2027-01-01T00:00:00Z")]


def test_personal_data_stands_in_its_own_table_only(path: Path) -> None:
    found = {
        name
        for name, rows in tables_of(path).items()
        if any(word in str(row) for row in rows for word in PERSON.values())
    }

    assert found == {"holder_data"}


def test_an_export_leaves_personal_data_out_when_asked(path: Path, tmp_path: Path) -> None:
    bare, whole = tmp_path / "bare", tmp_path / "whole"
    for folder in (bare, whole):
        folder.mkdir()
        export_tables(path, folder, at=NOW, personal=folder is whole)

    text = "".join(file.read_text() for file in bare.iterdir() if file.is_file())
    assert not any(word in text for word in PERSON.values())
    assert json.loads((whole / "holder-data.json").read_text())[0]["name"] == PERSON["name"]


@pytest.mark.parametrize("personal", [True, False])
def test_an_import_gives_the_same_editions(path: Path, tmp_path: Path, personal: bool) -> None:
    """Also copies that were replaced, twice, though the rules ask for the spoiled one first."""
    folder, again = tmp_path / "export", tmp_path / "again.sqlite3"
    folder.mkdir()
    export_tables(path, folder, at=NOW, personal=personal)
    with open_ledger(again, at=NOW) as book:
        import_tables(book, folder)
        copies = edition_copies(book, "quay")

    with open_ledger(path, at=NOW) as book:
        assert copies == edition_copies(book, "quay")
    before, after = tables_of(path), tables_of(again)
    before.pop("migration")
    after.pop("migration")
    if not personal:
        assert before.pop("holder_data")
        assert after.pop("holder_data") == []
    assert after == before


def test_data_is_erased_but_never_changed(path: Path) -> None:
    import sqlite3

    with open_ledger(path, at=NOW) as book, pytest.raises(sqlite3.IntegrityError):
        book.connection.execute("UPDATE holder_data SET name = 'somebody else'")
