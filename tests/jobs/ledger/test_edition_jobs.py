"""Editions as a person keeps them, from the first word to the certificate."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pypdf
import pytest

from firstsheet.engine.errors import LedgerError
from firstsheet.jobs.ledger import certificates, editions
from firstsheet.jobs.ledger.editions import EditionWish, NumberWish
from firstsheet.jobs.ledger.prints import say_printed


def wish(**changes: Any) -> EditionWish:
    fields: dict[str, Any] = {
        "name": "quay", "title": "The Quay", "artist": "Ada Merrow", "year": "2024", "size": 30,
        "proofs": 3, "print_": "1", "technique": "Pigment print", "inks": "nine pigment inks",
    }  # fmt: skip
    return EditionWish(**(fields | changes))


def number(ledger: Path, copy: str = "", **changes: Any) -> Any:
    return editions.number_copy(ledger, NumberWish(name="quay", copy=copy, **changes))


@pytest.fixture
def book(ledger: Path) -> Path:
    """A ledger with the edition begun."""
    editions.begin_edition(ledger, wish())
    return ledger


def test_an_edition_takes_size_and_paper_from_its_print(ledger: Path) -> None:
    answer = editions.begin_edition(ledger, wish())

    (size,) = answer.terms.sizes
    assert (size.width_mm, round(size.height_mm)) == (60, 43)
    assert answer.terms.paper == "Chalk Matte 310"
    assert len(answer.terms.picture_sha256) == 64
    assert {one.code for one in answer.findings} == {"edition-proofs", "edition-french-text"}


def test_a_sheet_gets_the_lowest_free_number_or_the_one_named(book: Path) -> None:
    assert number(book, print_="1").words.startswith("This sheet is 1/30 of The Quay.")
    assert number(book, "7/30", print_="1").words.startswith("This sheet is 7/30")
    assert number(book, "II", print_="1").words.startswith("This sheet is A.P. II/III")
    assert number(book, proof=True).words.startswith("This sheet is A.P. I/III")

    state = editions.show_edition(book, "quay", holders=False).state
    assert (state.numbered, state.free, state.proofs_numbered) == (2, 28, 2)


def test_more_numbers_than_printed_sheets_are_told(book: Path) -> None:
    say_printed("1", book, copies=2, verdict="good", words="")
    assert number(book, print_="1").findings == ()
    assert number(book, print_="1").findings == ()

    (told,) = number(book, print_="1").findings

    assert told.code == "more-numbers-than-sheets"
    assert told.figures == {"numbered": 3, "sheets": 2}


def test_a_picture_of_another_size_does_not_belong_to_the_edition(ledger: Path) -> None:
    editions.begin_edition(ledger, wish(sizes=("400x267mm", "40 x 60 cm")))

    with pytest.raises(LedgerError) as refused:
        number(ledger, print_="1")

    assert refused.value.code == "size-not-in-edition"
    assert "400 × 267 mm" in refused.value.found
    assert "400 × 600 mm" in refused.value.found


def test_several_sizes_share_the_numbers_and_each_copy_says_which(ledger: Path) -> None:
    editions.begin_edition(ledger, wish(sizes=("60x42.7mm", "400x267mm")))

    with pytest.raises(LedgerError) as refused:
        number(ledger)
    assert refused.value.code == "which-size"
    number(ledger, print_="1")
    number(ledger, size="400x267mm")

    copies = editions.show_edition(ledger, "quay", holders=False).copies
    assert [(one.label, one.size.width_mm) for one in copies if one.size] == [
        ("1/30", 60), ("2/30", 400),
    ]  # fmt: skip


def test_a_sheet_on_another_paper_is_asked_about_before_a_number_is_gone(ledger: Path) -> None:
    editions.begin_edition(ledger, wish(paper="Cotton 300"))

    with pytest.raises(LedgerError) as refused:
        number(ledger, print_="1")
    assert refused.value.code == "not-of-edition"
    assert "on Chalk Matte 310, not on Cotton 300" in refused.value.found
    assert editions.show_edition(ledger, "quay", holders=False).copies == ()

    number(ledger, print_="1", words="the same paper, renamed by its maker")
    (copy,) = editions.show_edition(ledger, "quay", holders=False).copies
    assert copy.words == "the same paper, renamed by its maker"


def test_editions_of_one_picture_know_of_each_other(book: Path) -> None:
    answer = editions.begin_edition(book, wish(name="quay-large", sizes=("800x569mm",)))

    codes = {one.code: one for one in answer.findings}
    assert codes["edition-other-editions"].figures == {"copies": 66}
    assert codes["edition-french-text"].weight == "caution"


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"name": "The Quay"}, "edition-name"),
        ({"size": 0}, "edition-size"),
        ({"proofs": -1}, "edition-size"),
        ({"sizes": ("large",)}, "bad-picture-size"),
        ({"print_": "99"}, "unknown-print"),
    ],
)
def test_what_cannot_be_an_edition_is_told(
    ledger: Path, changes: dict[str, Any], code: str
) -> None:
    with pytest.raises(LedgerError) as refused:
        editions.begin_edition(ledger, wish(**changes))

    assert refused.value.code == code
    assert editions.editions_known(ledger).editions == ()


def test_a_buyer_is_kept_only_when_given_and_never_where_nobody_asked(
    book: Path, tmp_path: Path
) -> None:
    number(book, print_="1")
    number(book, print_="1")
    editions.give_copy(book, "quay", "1", to=("", "", ""), words="at the fair")
    editions.give_copy(
        book, "quay", "2", to=("Josefine Tidewater", "j@merrowick.example", ""), words="sold"
    )

    certificates.write_certificate(
        book, "quay", "2", out=tmp_path / "c.pdf", label=tmp_path / "l.pdf"
    )
    plain = editions.show_edition(book, "quay", holders=False)
    assert plain.holders == ()
    assert "Josefine" not in plain.model_dump_json()
    for file in ("c.pdf", "l.pdf"):
        told = pypdf.PdfReader(tmp_path / file).pages[0].extract_text()
        assert "Josefine" not in told
        assert "2/30" in told
    (holder,) = editions.show_edition(book, "quay", holders=True).holders
    assert holder.name == "Josefine Tidewater"


def test_a_person_is_told_all_that_is_kept_and_can_have_it_erased(book: Path) -> None:
    number(book)
    editions.give_copy(
        book, "quay", "1", to=("Josefine Tidewater", "j@merrowick.example", ""), words="sold"
    )

    told = certificates.holders_known(book, name="Josefine Tidewater")
    assert told.holders[0].contact == "j@merrowick.example"
    assert [(one.edition, one.label, one.words) for one in told.lines[1]] == [
        ("quay", "1/30", "sold")
    ]

    erased = certificates.erase(book, "1")
    assert erased.holders[0].is_erased
    assert "Josefine" not in certificates.holders_known(book).model_dump_json()
    assert certificates.holders_known(book, name="1").lines[1][0].label == "1/30"


def test_what_cannot_be_given_keeps_nobodys_data(book: Path) -> None:
    with pytest.raises(LedgerError):
        editions.give_copy(book, "quay", "1", to=("Josefine Tidewater", "", ""), words="")

    assert certificates.holders_known(book).holders == ()


def test_a_spoiled_copy_has_no_certificate_and_its_successor_says_so(
    book: Path, tmp_path: Path
) -> None:
    number(book, print_="1")
    editions.copy_happened(book, "quay", "1", "spoiled", words="torn")
    with pytest.raises(LedgerError, match="1/30 of quay is spoiled"):
        certificates.write_certificate(book, "quay", "1", out=tmp_path / "c.pdf", label=None)
    assert not (tmp_path / "c.pdf").exists()

    number(book, "1", print_="1", replace_spoiled=True)
    answer = certificates.write_certificate(book, "quay", "1", out=tmp_path / "c.pdf", label=None)

    assert answer.facts.replaces_spoiled
    assert "was spoiled; this one takes its place" in " ".join(
        pypdf.PdfReader(tmp_path / "c.pdf").pages[0].extract_text().split()
    )


def test_the_commands_go_the_whole_way(ledger: Path, tmp_path: Path) -> None:
    def run(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "firstsheet", "edition", *words, "--ledger", str(ledger)]
        return subprocess.run(command, capture_output=True, text=True, timeout=120)

    terms = ("--title", "The Quay", "--artist", "Ada Merrow", "--year", "2024", "--size", "30")
    assert run("new", "quay", *terms, "--print", "1").returncode == 0
    assert "This sheet is 1/30" in run("number", "quay", "--print", "1").stdout
    assert run("number", "quay", "1").returncode == 7
    assert "given" in run("give", "quay", "1", "--because", "sold").stdout
    assert "1/30 is back." in run("give", "quay", "1", "--back").stdout
    assert "is spoiled" in run("spoil", "quay", "1", "--because", "torn").stdout
    assert "is held" in run("withdraw", "quay", "1", "3", "--because", "not this one").stdout
    paper = str(tmp_path / "c.pdf")
    assert paper in run("certificate", "quay", "1", "--out", paper).stdout
    listed = json.loads(run("list", "quay", "--json").stdout)
    assert listed == json.loads(
        editions.show_edition(ledger, "quay", holders=False).model_dump_json()
    )
    assert "1/30" in run("list", "quay").stdout
    assert "The Quay" in run("list").stdout
    assert "Nobody's data is kept." in run("holders").stdout
    assert run("erase", "1").returncode == 7
