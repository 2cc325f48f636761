"""A damaged ledger is told, and what can be read of it becomes a sound one."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest
from ledger_maker import NOW, made_print, tables_of  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError
from firstsheet.store.ledger.backup import copy_ledger
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import add_entry
from firstsheet.store.ledger.export import export_tables
from firstsheet.store.ledger.history import add_printed, withdraw
from firstsheet.store.ledger.restore import import_tables
from firstsheet.store.ledger.sound import check_ledger

PAGE = 4096
PRINTS = 40


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Forty prints with pictures over several pages."""
    path = tmp_path_factory.mktemp("whole") / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as book:
        for number in range(1, PRINTS + 1):
            made = made_print(number)
            object.__setattr__(made, "jpeg", random.Random(number).randbytes(6000))
            add_entry(book, made)
            line = add_printed(book, number, copies=1, verdict="good", words="kept " * 40)
            if number % 4 == 0:
                withdraw(book, number, line.number, words="not this one")
    return path


def pages(path: Path) -> int:
    return path.stat().st_size // PAGE


def harmed(whole: Path, tmp_path: Path, page: int) -> Path:
    """A copy with one page overwritten by noise."""
    path = Path(shutil.copy(whole, tmp_path / f"harmed-{page}.sqlite3"))
    with path.open("r+b") as file:
        file.seek((page - 1) * PAGE)
        file.write(random.Random(page).randbytes(PAGE))
    return path


def test_a_sound_ledger_is_called_sound(whole: Path) -> None:
    report = check_ledger(whole)

    assert report.is_sound
    assert report.problems == ()
    counts = {one.name: (one.rows, one.readable) for one in report.tables}
    assert counts["prints"] == (PRINTS, PRINTS)
    assert counts["history"] == (50, 50)


def test_wherever_a_page_is_lost_the_rest_becomes_a_sound_ledger(
    whole: Path, tmp_path: Path
) -> None:
    """One page after another; page 1 is the head of the file, and has its own test."""
    before = tables_of(whole)
    saved = []
    for page in range(2, pages(whole) + 1, 3):
        path = harmed(whole, tmp_path, page)
        report = check_ledger(path)
        export, again = tmp_path / f"export-{page}", tmp_path / f"again-{page}.sqlite3"
        export.mkdir()
        try:
            export_tables(path, export, at=NOW, salvage=True)
        except LedgerError:  # a page with the tables' own description
            assert not report.is_sound
            continue
        with open_ledger(again, at=NOW) as book:
            import_tables(book, export)
        told = check_ledger(again).problems
        # a lost profile or plan leaves its prints in place, and is told
        assert all("was lost" in one or "more problems" in one for one in told), told
        after = tables_of(again)
        for name in ("entry", "history", "small_picture", "entry_file"):
            if name == "history":  # a line may have lost the line it took back
                assert {row[:7] for row in after[name]} <= {row[:7] for row in before[name]}
            else:
                assert set(after[name]) <= set(before[name]), name
        lost = any(len(after[name]) < len(before[name]) for name in after)
        assert not (lost and report.is_sound), f"page {page}: lost rows, and was called sound"
        saved.append(len(after["entry"]))

    assert len(saved) > 20
    assert min(saved) > 0
    assert sum(saved) / len(saved) > 0.9 * PRINTS


def test_a_lost_head_is_told_with_the_copies_that_lie_beside(whole: Path, tmp_path: Path) -> None:
    path = harmed(whole, tmp_path, 1)
    copy_ledger(whole, path.with_name(f"{path.stem}.before-2.sqlite3"))

    report = check_ledger(path)

    assert not report.is_sound
    assert "cannot read the file" in report.problems[-1]
    assert [(Path(one.path).name, one.prints) for one in report.copies] == [
        ("harmed-1.before-2.sqlite3", PRINTS)
    ]
    with pytest.raises(LedgerError) as refused:
        export_tables(path, tmp_path, at=NOW, salvage=True)
    assert refused.value.code == "ledger-damaged"


def test_a_file_cut_short_is_told(whole: Path, tmp_path: Path) -> None:
    path = Path(shutil.copy(whole, tmp_path / "cut.sqlite3"))
    with path.open("r+b") as file:
        file.truncate(pages(whole) // 2 * PAGE)

    report = check_ledger(path)

    assert not report.is_sound
    prints = next(one for one in report.tables if one.name == "prints")
    assert 0 < prints.readable < PRINTS


def test_a_kept_profile_that_is_not_the_one_it_was_is_told(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as book:
        add_entry(book, made_print(1))
        book.connection.execute("INSERT INTO profile VALUES ('00ff', 'another', x'abcd')")

    report = check_ledger(path)

    assert report.problems == (
        "profiles/00ff.icc (as an export calls it) was changed, or was lost.",
    )


def test_a_byte_that_changed_inside_a_picture_is_told(whole: Path, tmp_path: Path) -> None:
    """SQLite itself does not notice it."""
    path = Path(shutil.copy(whole, tmp_path / "ledger.sqlite3"))
    content = path.read_bytes()
    at = content.index(random.Random(7).randbytes(6000)[5000:5050])  # beyond the first page
    path.write_bytes(content[:at] + b"!" + content[at + 1 :])

    report = check_ledger(path)

    assert report.problems == ("pictures/7.jpg (as an export calls it) was changed, or was lost.",)
    with pytest.raises(LedgerError, match=r"pictures/7\.jpg was changed"):
        export_tables(path, tmp_path, at=NOW)


def test_sums_that_do_not_agree_with_the_history_are_told(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as book:
        add_entry(book, made_print(1))
        add_printed(book, 1, copies=3, verdict="good", words="")
        book.connection.execute("UPDATE state SET good = 2")

    assert check_ledger(path).problems == ("The sums of print 1 do not agree with its history.",)


def test_an_absent_ledger_is_told(tmp_path: Path) -> None:
    with pytest.raises(LedgerError) as refused:
        check_ledger(tmp_path / "none.sqlite3")

    assert refused.value.code == "no-ledger"
