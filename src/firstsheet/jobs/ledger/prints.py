"""Prints the ledger knows: listed, found, shown, and what a person says of their sheets.

Tests: tests/jobs/ledger/test_ledger_prints.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePath
from typing import Literal

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.ledger import LedgerEntry, PrintState, PrintVerdict
from firstsheet.jobs.clock import local_time, month_bounds, utc_now
from firstsheet.jobs.ledger.answers import PrintLine, PrintsAnswer, PrintShowAnswer
from firstsheet.store.ledger.connect import Ledger, ledger_file, open_ledger
from firstsheet.store.ledger.entries import entry_files, find_print, kept_plan, kept_versions
from firstsheet.store.ledger.history import (
    add_judged,
    add_printed,
    print_history,
    state_of,
    withdraw,
)
from firstsheet.store.ledger.listing import PrintQuery, list_prints

__all__ = [
    "judge_print",
    "prints_known",
    "say_printed",
    "show_print",
    "the_print",
    "withdraw_line",
]

_MOST_SHEETS = 100_000
_SAID = {"good": "good", "spoiled": "spoiled", "": "not judged yet"}


def prints_known(
    ledger: Path | None,
    *,
    words: str = "",
    stock: str = "",
    month: str = "",
    verdict: Literal["good", "spoiled", "unjudged"] | None = None,
    limit: int = 50,
) -> PrintsAnswer:
    """List prints, newest first.

    Parameters
    ----------
    ledger
        The ledger's file; None takes the person's own.
    words
        Each must begin some word of the picture's name, folder, stock, sheet or history.
    month
        Year and month in this computer's zone: `2026-11`.

    Raises
    ------
    LedgerError
        If the month is none, or the ledger cannot be read.
    """
    begin, end = month_bounds(month) if month else ("", "")
    query = PrintQuery(
        words=words,
        stock=stock,
        begin=begin,
        end=end,
        verdict="" if verdict == "unjudged" else verdict,
        limit=limit,
    )
    with reading(ledger) as book:
        count, found = list_prints(book, query)
        return PrintsAnswer(
            ledger=str(book.path),
            count=count,
            prints=tuple(_line(entry, state) for entry, state in found),
        )


def show_print(name: str, ledger: Path | None) -> PrintShowAnswer:
    """Show one print, named as `the_print` says.

    Raises
    ------
    LedgerError
        If there is none.
    """
    with reading(ledger) as book:
        return _shown(book, the_print(book, name))


def say_printed(
    name: str, ledger: Path | None, *, copies: int, verdict: PrintVerdict, words: str
) -> PrintShowAnswer:
    """Say that sheets of a print went through the printer.

    Raises
    ------
    LedgerError
        If there is no such print, or the number of sheets is none.
    """
    if not 1 <= copies <= _MOST_SHEETS:
        raise LedgerError(
            f"{copies} sheets are none that a printer prints.",
            "Nothing was written.",
            "Give the number of sheets.",
            "bad-copies",
            "--copies N",
        )
    with writing(ledger) as book:
        entry = the_print(book, name)
        add_printed(book, entry.number, copies=copies, verdict=verdict, words=words)
        sheets = "1 sheet" if copies == 1 else f"{copies} sheets"
        return _shown(book, entry, f"Print {entry.number}: {sheets} printed, {_SAID[verdict]}.")


def judge_print(
    name: str, ledger: Path | None, *, copies: int | None, verdict: PrintVerdict, words: str
) -> PrintShowAnswer:
    """Judge sheets that were printed before; None judges all that wait for it.

    Raises
    ------
    LedgerError
        If there is no such print, or not so many sheets wait.
    """
    with writing(ledger) as book:
        entry = the_print(book, name)
        line = add_judged(book, entry.number, copies=copies, verdict=verdict, words=words)
        sheets = "1 sheet" if line.copies == 1 else f"{line.copies} sheets"
        return _shown(book, entry, f"Print {entry.number}: {sheets} judged {verdict}.")


def withdraw_line(name: str, line: int, ledger: Path | None, *, words: str) -> PrintShowAnswer:
    """Take back a line of a print's history; it stays readable.

    Raises
    ------
    LedgerError
        If there is no such print or line.
    """
    with writing(ledger) as book:
        entry = the_print(book, name)
        withdraw(book, entry.number, line, words=words)
        return _shown(book, entry, f"Line {line} of print {entry.number} is withdrawn.")


def the_print(book: Ledger, name: str) -> LedgerEntry:
    """One entry by number, `latest`, first digits of its plan's digest, or folder.

    Raises
    ------
    LedgerError
        If there is none.
    """
    if PurePath(name).name != name or Path(name).is_dir():
        return find_print(book, str(Path(name).absolute()))
    return find_print(book, name)


@contextmanager
def reading(ledger: Path | None) -> Iterator[Ledger]:
    """The ledger as it is; an absent one is empty and is not made."""
    with open_ledger(ledger_file(ledger), at=utc_now(), create=False) as book:
        yield book


@contextmanager
def writing(ledger: Path | None) -> Iterator[Ledger]:
    """The ledger, made where it is absent."""
    with open_ledger(ledger_file(ledger), at=utc_now()) as book:
        yield book


def _shown(book: Ledger, entry: LedgerEntry, words: str = "") -> PrintShowAnswer:
    state = state_of(book, entry.number)
    return PrintShowAnswer(
        ledger=str(book.path),
        line=_line(entry, state),
        entry=entry,
        state=state,
        history=print_history(book, entry.number),
        files=entry_files(book, entry.number),
        versions=dict(kept_versions(book, entry.versions_sha256)),
        ticket=kept_plan(book, entry.plan_digest)[0],
        folder_is_there=(Path(entry.folder) / entry.print_file).is_file(),
        picture_is_there=Path(entry.picture_path).is_file(),
        words=words,
    )


def _line(entry: LedgerEntry, state: PrintState) -> PrintLine:
    return PrintLine(
        number=entry.number,
        kind=entry.kind,
        made_at=entry.made_at,
        made_local=local_time(entry.made_at),
        picture=PurePath(entry.picture_path.replace("\\", "/")).name,
        stock=entry.stock,
        stock_title=entry.stock_title,
        sheet=entry.sheet,
        width_mm=entry.width_mm,
        height_mm=entry.height_mm,
        used=state.used,
        good=state.good,
        spoiled=state.spoiled,
        verdict=state.verdict,
        plan_digest=entry.plan_digest,
        folder=entry.folder,
    )
