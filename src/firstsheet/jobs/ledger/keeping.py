"""Looking after the ledger: check it, copy it, write it out as plain files, read those back.

Tests: tests/jobs/ledger/test_keeping.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.ledger_check import LedgerReport
from firstsheet.jobs.clock import utc_now
from firstsheet.jobs.ledger.answers import LedgerCheckAnswer, LedgerFilesAnswer
from firstsheet.jobs.ledger.prints import writing
from firstsheet.store.ledger.backup import copy_ledger
from firstsheet.store.ledger.connect import ledger_file
from firstsheet.store.ledger.export import export_tables
from firstsheet.store.ledger.restore import import_tables
from firstsheet.store.ledger.sound import check_ledger

__all__ = ["back_up", "check", "export", "import_export"]


def check(ledger: Path | None) -> LedgerCheckAnswer:
    """Look at the whole ledger, and say what can be done where it is damaged.

    Raises
    ------
    LedgerError
        If there is none.
    """
    report = check_ledger(ledger_file(ledger))
    return LedgerCheckAnswer(report=report, sentences=_advice(report))


def _advice(report: LedgerReport) -> tuple[str, ...]:
    if report.is_sound:
        return ("The ledger is sound.",)
    count = len(report.problems)
    problems = "1 problem" if count == 1 else f"{count} problems"
    said = [f"The ledger has {problems}; nothing was changed."]
    saved = {one.name: one for one in report.tables}
    if "prints" in saved:
        prints = saved["prints"]
        of = f" of {prints.rows}" if prints.rows is not None else ""
        said.append(
            f"{prints.readable}{of} prints can be read. `firstsheet ledger export FOLDER "
            "--salvage` writes out all that can be; `firstsheet ledger import FOLDER --ledger "
            "NEW` makes a sound ledger of it."
        )
    else:
        said.append("Nothing in the file itself can be read.")
    for copy in report.copies:
        holds = "cannot be read" if copy.prints is None else f"holds {copy.prints} prints"
        said.append(f"A copy lies beside it and {holds}: {copy.path}.")
    said.append(
        "Copy the file away before anything else. Each print's folder still has its plan.json."
    )
    return tuple(said)


def back_up(ledger: Path | None, target: Path) -> LedgerFilesAnswer:
    """Copy the ledger to a file, while it may be in use.

    Raises
    ------
    LedgerError, OutputError
        If it is damaged or in use for too long, or the copy cannot be written.
    """
    path = ledger_file(ledger)
    check_there(path)
    copy_ledger(path, target)
    return LedgerFilesAnswer(
        ledger=str(path), place=str(target), rows={}, words=f"Copied to {target}."
    )


def export(
    ledger: Path | None, folder: Path, *, replace: bool, personal: bool, salvage: bool
) -> LedgerFilesAnswer:
    """Write the whole ledger as CSV and JSON with the files it rests on; whole or not at all.

    Raises
    ------
    LedgerError, OutputError
        If it cannot be read, or the folder cannot be written.
    """
    from firstsheet.files.writing.folder import whole_folder

    path = ledger_file(ledger)
    check_there(path)
    needed = 4 * path.stat().st_size  # plain text is longer, plans are no longer packed
    with whole_folder(folder, needed_bytes=needed, replace=replace) as staging:
        rows = export_tables(path, staging, at=utc_now(), personal=personal, salvage=salvage)
    return LedgerFilesAnswer(
        ledger=str(path),
        place=str(folder),
        rows=dict(rows),
        words=f"{_prints(rows)} written to {folder}. Begin with its README.txt.",
    )


def import_export(ledger: Path | None, folder: Path) -> LedgerFilesAnswer:
    """Make a ledger of an export.

    Raises
    ------
    LedgerError, OutputError
        If the ledger holds prints already, or the folder is no whole export.
    """
    with writing(ledger) as book:
        rows = import_tables(book, folder)
        return LedgerFilesAnswer(
            ledger=str(book.path),
            place=str(folder),
            rows=dict(rows),
            words=f"{_prints(rows)} read into {book.path}.",
        )


def check_there(path: Path) -> None:
    """Refuse an absent ledger.

    Raises
    ------
    LedgerError
        If there is no file.
    """
    if not path.is_file():
        raise LedgerError(
            f"There is no ledger at {path}.",
            "Nothing was written.",
            "Name the ledger with --ledger, or make a print first.",
            "no-ledger",
        )


def _prints(rows: Mapping[str, int]) -> str:
    count = rows.get("prints", 0)
    return "1 print" if count == 1 else f"{count} prints"
