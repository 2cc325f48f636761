"""Editions never grow, a number is given once, and history stays. In words, and in the file."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from ledger_maker import NOW, made_print  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.edition import EditionSize, EditionTerms
from firstsheet.store.ledger.connect import Ledger, open_ledger
from firstsheet.store.ledger.editions import (
    NewCopy,
    add_copy,
    add_copy_line,
    edition_copies,
    edition_names,
    edition_terms,
    new_edition,
    terms_history,
)
from firstsheet.store.ledger.entries import add_entry


def terms(**changes: Any) -> EditionTerms:
    fields: dict[str, Any] = {
        "name": "quay", "title": "The Quay", "artist": "Ada Merrow", "year": "2026", "size": 3,
        "proofs": 2, "sizes": [{"width_mm": 381, "height_mm": 254}], "paper": "Chalk Matte 310",
    }  # fmt: skip
    return EditionTerms.model_validate(fields | changes)


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with open_ledger(tmp_path / "ledger.sqlite3", at=NOW) as book:
        add_entry(book, made_print(1))
        new_edition(book, terms())
        yield book


def labels(ledger: Ledger) -> list[tuple[str, str]]:
    return [(one.label, one.state) for one in edition_copies(ledger, "quay")]


def refusal(ledger: Ledger, new: NewCopy) -> LedgerError:
    before = edition_copies(ledger, "quay")
    with pytest.raises(LedgerError) as refused:
        add_copy(ledger, "quay", new)
    assert edition_copies(ledger, "quay") == before
    return refused.value


def test_terms_come_back_as_they_were_kept(ledger: Ledger) -> None:
    assert edition_terms(ledger, "quay") == terms()
    assert edition_names(ledger) == ("quay",)


def test_numbers_and_proofs_count_apart_and_name_their_print(ledger: Ledger) -> None:
    size = EditionSize(width_mm=381, height_mm=254)
    copy = add_copy(ledger, "quay", NewCopy(entry=1, size=size))
    add_copy(ledger, "quay", NewCopy(position=3))
    add_copy(ledger, "quay", NewCopy())
    add_copy(ledger, "quay", NewCopy(series="proof"))

    assert (copy.label, copy.print_number, copy.size, copy.at) == ("1/3", 1, size, NOW)
    assert labels(ledger) == [
        ("1/3", "held"), ("2/3", "held"), ("3/3", "held"), ("A.P. I/II", "held"),
    ]  # fmt: skip


def test_no_number_is_given_twice(ledger: Ledger) -> None:
    add_copy(ledger, "quay", NewCopy(position=2))

    error = refusal(ledger, NewCopy(position=2))

    assert error.code == "number-taken"
    assert "2/3 of quay is given already" in error.found
    assert "never given twice" in error.consequence


@pytest.mark.parametrize("position", [0, -1, 4, 1000])
def test_no_number_lies_beyond_the_edition(ledger: Ledger, position: int) -> None:
    assert refusal(ledger, NewCopy(position=position)).code == "beyond-edition"


def test_a_complete_edition_gives_no_more(ledger: Ledger) -> None:
    for _ in range(3):
        add_copy(ledger, "quay", NewCopy())
    for _ in range(2):
        add_copy(ledger, "quay", NewCopy(series="proof"))

    assert refusal(ledger, NewCopy()).code == "edition-complete"
    assert refusal(ledger, NewCopy(series="proof")).code == "edition-complete"


def test_an_edition_without_proofs_has_none(ledger: Ledger) -> None:
    new_edition(ledger, terms(name="bare", proofs=0))

    with pytest.raises(LedgerError):
        add_copy(ledger, "bare", NewCopy(series="proof", position=1))


def test_the_size_is_fixed_with_the_first_number(ledger: Ledger) -> None:
    new_edition(ledger, terms(size=5), replace=True)
    add_copy(ledger, "quay", NewCopy())

    with pytest.raises(LedgerError) as refused:
        new_edition(ledger, terms(size=50), replace=True)

    assert refused.value.code == "edition-fixed"
    assert edition_terms(ledger, "quay").size == 5
    assert [one.size for _, one in terms_history(ledger, "quay")] == [3, 5]


def test_a_name_is_not_taken_twice_without_a_word(ledger: Ledger) -> None:
    with pytest.raises(LedgerError) as refused:
        new_edition(ledger, terms(size=9))

    assert refused.value.code == "edition-exists"
    assert edition_terms(ledger, "quay").size == 3


def test_a_spoiled_number_is_given_again_only_on_the_explicit_word(ledger: Ledger) -> None:
    add_copy(ledger, "quay", NewCopy(position=2))
    assert refusal(ledger, NewCopy(position=2, replaces_spoiled=True)).code == "number-taken"

    add_copy_line(ledger, "quay", "number", 2, "spoiled", words="corner bent by the framer")
    error = refusal(ledger, NewCopy(position=2))
    assert "and spoiled" in error.found
    assert "--replace-spoiled" in error.choice

    add_copy(ledger, "quay", NewCopy(position=2, replaces_spoiled=True, words="agreed by letter"))
    assert labels(ledger) == [("2/3", "replaced"), ("2/3", "held")]
    old = edition_copies(ledger, "quay")[0]
    assert [(one.kind, one.words) for one in old.history] == [
        ("spoiled", "corner bent by the framer")
    ]
    assert refusal(ledger, NewCopy(position=2, replaces_spoiled=True)).code == "number-taken"
    assert refusal(ledger, NewCopy(position=1, replaces_spoiled=True)).code == "nothing-to-replace"


def test_a_spoiled_number_is_not_taken_by_the_next_free_one(ledger: Ledger) -> None:
    add_copy(ledger, "quay", NewCopy())
    add_copy_line(ledger, "quay", "number", 1, "spoiled", words="")

    assert add_copy(ledger, "quay", NewCopy()).label == "2/3"


def test_copies_go_out_and_come_back(ledger: Ledger) -> None:
    add_copy(ledger, "quay", NewCopy())
    given = add_copy_line(ledger, "quay", "number", 1, "given", words="to the fair")
    assert given.state == "given"
    with pytest.raises(LedgerError, match="is given, so it cannot be given"):
        add_copy_line(ledger, "quay", "number", 1, "given", words="again")

    assert add_copy_line(ledger, "quay", "number", 1, "returned", words="unsold").state == "held"
    with pytest.raises(LedgerError, match="cannot come back"):
        add_copy_line(ledger, "quay", "number", 1, "returned", words="")


def test_a_wrong_line_is_withdrawn_and_stays_readable(ledger: Ledger) -> None:
    add_copy(ledger, "quay", NewCopy())
    copy = add_copy_line(ledger, "quay", "number", 1, "spoiled", words="the wrong sheet")
    line = copy.history[0].number

    copy = add_copy_line(ledger, "quay", "number", 1, "withdrawn", words="", withdraws=line)

    assert copy.state == "held"
    assert [(one.kind, one.is_withdrawn) for one in copy.history] == [
        ("spoiled", True), ("withdrawn", False),
    ]  # fmt: skip
    with pytest.raises(LedgerError, match="no standing line"):
        add_copy_line(ledger, "quay", "number", 1, "withdrawn", words="", withdraws=line)


@pytest.mark.parametrize("kind", ["spoiled", "given", "returned"])
def test_nothing_happens_to_a_sheet_that_was_not_numbered(ledger: Ledger, kind: Any) -> None:
    with pytest.raises(LedgerError) as refused:
        add_copy_line(ledger, "quay", "number", 3, kind, words="")

    assert refused.value.code == "unnumbered"


def test_an_unknown_edition_is_told_with_those_that_are_there(ledger: Ledger) -> None:
    with pytest.raises(LedgerError, match="There are: quay"):
        edition_terms(ledger, "pier")


def test_the_file_itself_refuses_what_the_words_refuse(ledger: Ledger) -> None:
    """As if another program, or a mistake of this one, wrote into it."""
    add_copy(ledger, "quay", NewCopy(position=1))
    add_copy(ledger, "quay", NewCopy(position=2))
    spoilt = add_copy_line(ledger, "quay", "number", 1, "spoiled", words="").number
    line = ledger.connection.execute("SELECT number FROM copy_history").fetchone()[0]
    insert = (
        "INSERT INTO copy (edition, series, position, at, replaces, words) "
        "VALUES (1, 'number', {}, '', {}, '')"
    )

    for change, words in (
        (insert.format(1, "NULL"), "UNIQUE"),
        (insert.format(4, "NULL"), "ends before"),
        (insert.format(2, 2), "only a spoiled copy"),
        (insert.format(3, spoilt), "only a spoiled copy"),
        ("UPDATE copy SET position = 3", "never changed"),
        ("DELETE FROM copy_history", "never changed"),
        ("UPDATE edition_terms SET size = 99", "never changed"),
        (
            "INSERT INTO edition_terms SELECT 99, edition, at, title, artist, year, 99, proofs, "
            "sizes, technique, paper, inks, note, picture_sha256 FROM edition_terms",
            "fixed with the first",
        ),
    ):
        with pytest.raises(sqlite3.IntegrityError, match=words):
            ledger.connection.execute(change)

    add_copy(ledger, "quay", NewCopy(position=1, replaces_spoiled=True))
    with pytest.raises(sqlite3.IntegrityError, match="stays spoiled"):
        ledger.connection.execute(
            "INSERT INTO copy_history (copy, at, kind, words, withdraws) "
            "VALUES (?, '', 'withdrawn', '', ?)",
            (spoilt, line),
        )


def test_two_at_once_never_give_one_number_twice(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as book:
        new_edition(book, terms(size=30))
    given: list[int] = []

    def number() -> None:
        for _ in range(15):
            with open_ledger(path, at=NOW) as book:
                given.append(add_copy(book, "quay", NewCopy()).position)

    both = [threading.Thread(target=number) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()

    assert sorted(given) == list(range(1, 31))
