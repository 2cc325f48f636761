"""Certificate and label of a copy, and what is kept of those who hold copies.

Tests: tests/jobs/ledger/test_edition_jobs.py.
"""

from __future__ import annotations

from pathlib import Path

from firstsheet import __version__
from firstsheet.engine.editions import copy_label, parse_copy
from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.edition import (
    CertificateFacts,
    EditionCopy,
    EditionSize,
    EditionTerms,
    Holder,
)
from firstsheet.engine.records.ledger import LedgerEntry
from firstsheet.jobs.ledger.answers import CertificateAnswer, HolderLine, HoldersAnswer
from firstsheet.jobs.ledger.prints import reading, writing
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.editions import edition_copies, edition_terms
from firstsheet.store.ledger.entries import read_entry, small_picture
from firstsheet.store.ledger.history import print_history
from firstsheet.store.ledger.holders import (
    all_holders,
    erase_holder,
    find_holder,
    holder_lines,
)

__all__ = ["erase", "holders_known", "write_certificate"]


def write_certificate(
    ledger: Path | None, name: str, copy: str, *, out: Path, label: Path | None
) -> CertificateAnswer:
    """Write the certificate, and the label where a file for it is named.

    Raises
    ------
    LedgerError
        If no sheet has that number, or it is spoiled.
    OutputError
        If a file cannot be written.
    """
    from firstsheet.files.jobsheet.certificate import certificate_pdf, label_pdf
    from firstsheet.files.writing.whole import write_whole

    with reading(ledger) as book:
        terms = edition_terms(book, name)
        found = _copy(terms, edition_copies(book, name), copy)
        entry = read_entry(book, found.print_number) if found.print_number else None
        jpeg = small_picture(book, entry.number) if entry else b""
        facts = _facts(book, terms, found, entry)
    files = [out]
    write_whole(out, certificate_pdf(facts, jpeg))
    if label is not None:
        write_whole(label, label_pdf(facts, jpeg))
        files.append(label)
    return CertificateAnswer(
        ledger=str(book.path), facts=facts, files=tuple(str(one) for one in files)
    )


def _copy(terms: EditionTerms, copies: tuple[EditionCopy, ...], words: str) -> EditionCopy:
    wanted = parse_copy(words)
    for copy in copies:
        if (copy.series, copy.position) == wanted and copy.state in ("held", "given"):
            return copy
    spoiled = any((one.series, one.position) == wanted for one in copies)
    label = copy_label(*wanted, terms) if wanted[0] == "number" or terms.proofs else words
    raise LedgerError(
        f"{label} of {terms.name} {'is spoiled' if spoiled else 'is not numbered'}.",
        "No certificate was written.",
        f"`firstsheet edition list {terms.name}` shows its copies.",
        "no-such-copy",
    )


def _facts(
    book: Ledger, terms: EditionTerms, copy: EditionCopy, entry: LedgerEntry | None
) -> CertificateFacts:
    printed, sheet, paper, identity = "", None, terms.paper, f"edition {terms.name}"
    if entry is not None:
        lines = print_history(book, entry.number)
        days = [one.at for one in lines if one.kind == "printed" and not one.is_withdrawn]
        printed = (days[0] if days else entry.made_at)[:7]
        sheet = EditionSize(
            width_mm=round(entry.sheet_width_mm, 1), height_mm=round(entry.sheet_height_mm, 1)
        )
        paper = terms.paper or entry.stock_title
        identity += f", print {entry.number}, plan {entry.plan_digest[:12]}"
    return CertificateFacts(
        artist=terms.artist,
        title=terms.title,
        year=terms.year,
        printed=printed,
        label=copy.label,
        series=copy.series,
        position=copy.position,
        edition_size=terms.size,
        proofs=terms.proofs,
        sizes=terms.sizes,
        image=copy.size,
        sheet=sheet,
        technique=terms.technique,
        paper=paper,
        inks=terms.inks,
        note=terms.note,
        replaces_spoiled=copy.replaces is not None,
        identity=identity,
        made_by=f"firstsheet {__version__}",
    )


def holders_known(ledger: Path | None, *, name: str = "") -> HoldersAnswer:
    """Everything kept of all holders, or of one: what a person may ask to be given.

    Raises
    ------
    LedgerError
        If there is no such holder.
    """
    with reading(ledger) as book:
        found = (find_holder(book, name),) if name else all_holders(book)
        return _holders(book, found)


def erase(ledger: Path | None, name: str) -> HoldersAnswer:
    """Erase what is kept of a holder.

    Raises
    ------
    LedgerError
        If there is no such holder, or the data is erased already.
    """
    with writing(ledger) as book:
        holder = erase_holder(book, find_holder(book, name).number)
        answer = _holders(book, (holder,))
    return answer.model_copy(
        update={
            "words": f"Name, contact and place of holder {holder.number} are erased from the "
            "ledger. Copies, backups and exports from before still hold them, and so may words "
            "you wrote about a copy."
        }
    )


def _holders(book: Ledger, found: tuple[Holder, ...]) -> HoldersAnswer:
    lines = {}
    for holder in found:
        lines[holder.number] = tuple(
            HolderLine(
                edition=edition,
                label=copy_label(
                    "proof" if series == "proof" else "number",
                    position,
                    edition_terms(book, edition),
                ),
                at=at,
                words=words,
            )
            for edition, series, position, at, words in holder_lines(book, holder.number)
        )
    return HoldersAnswer(ledger=str(book.path), holders=found, lines=lines)
