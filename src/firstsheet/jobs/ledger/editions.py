"""Editions as a person keeps them: begun, numbered, spoiled, given, listed.

Tests: tests/jobs/ledger/test_edition_jobs.py.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from firstsheet.engine.editions import edition_findings, edition_state, parse_copy, same_size
from firstsheet.engine.errors import LedgerError
from firstsheet.engine.findings import finding
from firstsheet.engine.records import Finding
from firstsheet.engine.records.edition import EditionCopy, EditionSize, EditionTerms
from firstsheet.engine.records.ledger import LedgerEntry
from firstsheet.engine.units import parse_length_mm, size_words
from firstsheet.jobs.ledger.answers import EditionAnswer, EditionLine, EditionsAnswer
from firstsheet.jobs.ledger.prints import reading, the_print, writing
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.editions import (
    NewCopy,
    add_copy,
    add_copy_line,
    edition_copies,
    edition_names,
    edition_terms,
    new_edition,
)
from firstsheet.store.ledger.history import state_of
from firstsheet.store.ledger.holders import add_holder, all_holders

__all__ = [
    "EditionWish",
    "NumberWish",
    "begin_edition",
    "copy_happened",
    "editions_known",
    "give_copy",
    "number_copy",
    "parse_picture_size",
    "show_edition",
]

_NAME = re.compile(r"^[a-z0-9]+(-[a-z0-9]+)*$")


@dataclass(frozen=True, kw_only=True)
class EditionWish:
    """What a person promises of an edition, as typed."""

    name: str
    title: str
    artist: str
    year: str
    size: int
    proofs: int = 0
    sizes: Sequence[str] = ()  # 400x267mm
    technique: str = ""
    paper: str = ""
    inks: str = ""
    note: str = ""
    print_: str = ""  # a print of the ledger: ties the edition to its picture and paper
    replace: bool = False


@dataclass(frozen=True, kw_only=True)
class NumberWish:
    """What a person says when a sheet gets its number, as typed."""

    name: str
    copy: str = ""  # 7 or II; empty: the lowest free one
    proof: bool = False
    print_: str = ""
    size: str = ""
    replace_spoiled: bool = False
    words: str = field(default="")


def begin_edition(ledger: Path | None, wish: EditionWish) -> EditionAnswer:
    """Fix an edition's terms before its first number.

    Raises
    ------
    LedgerError
        If the name or a size is none, the name is taken, or numbers have been given.
    """
    if not _NAME.match(wish.name):
        raise LedgerError(
            f"“{wish.name}” cannot be an edition's name.",
            "Nothing was written.",
            "Take small letters, digits and single hyphens: ferry-stairs.",
            "edition-name",
        )
    if wish.size < 1 or wish.proofs < 0:
        raise LedgerError(
            f"An edition of {wish.size} with {wish.proofs} proofs cannot be.",
            "Nothing was written.",
            "Give --size of at least 1 and --proofs of at least 0.",
            "edition-size",
        )
    sizes = tuple(parse_picture_size(one) for one in wish.sizes)
    with writing(ledger) as book:
        entry = the_print(book, wish.print_) if wish.print_ else None
        terms = EditionTerms(
            name=wish.name,
            title=wish.title,
            artist=wish.artist,
            year=wish.year,
            size=wish.size,
            proofs=wish.proofs,
            sizes=sizes or ((_size_of(entry),) if entry else ()),
            technique=wish.technique,
            paper=wish.paper or (entry.stock_title if entry else ""),
            inks=wish.inks,
            note=wish.note,
            picture_sha256=entry.picture_sha256 if entry else "",
        )
        new_edition(book, terms, replace=wish.replace)
        answer = _shown(book, wish.name)
    words = f"The edition {wish.name} is begun: {wish.size} numbers, {wish.proofs} artist's proofs."
    return answer.model_copy(update={"words": words})


def parse_picture_size(words: str) -> EditionSize:
    """Read a size of picture such as `400x267mm`, width first.

    Raises
    ------
    LedgerError, TicketError
        If it is no size.
    """
    match = re.match(r"^\s*([\d.,/ ]+?)\s*(mm|cm|in|\"|″)?\s*[x×]\s*(.+?)\s*$", words)
    if match is None:
        raise LedgerError(
            f"“{words}” is no size of a picture.",
            "Nothing was written.",
            "Write width and height with their unit: 400x267mm.",
            "bad-picture-size",
        )
    unit = match[2] or re.sub(r"[\d.,/\s]", "", match[3])
    return EditionSize(
        width_mm=parse_length_mm(f"{match[1]}{unit}"), height_mm=parse_length_mm(match[3])
    )


def number_copy(ledger: Path | None, wish: NumberWish) -> EditionAnswer:
    """Give a sheet its number.

    Raises
    ------
    LedgerError
        If the number is taken, lies beyond the edition, or the sheet does not belong to it.
    """
    series: Literal["number", "proof"] = "proof" if wish.proof else "number"
    position: int | None = None
    if wish.copy:
        series, position = parse_copy(wish.copy, proof=wish.proof)
    with writing(ledger) as book:
        terms = edition_terms(book, wish.name)
        entry = the_print(book, wish.print_) if wish.print_ else None
        if entry is not None and not wish.words:
            _refuse_stranger(terms, entry)
        copy = add_copy(
            book,
            wish.name,
            NewCopy(
                series=series,
                position=position,
                entry=entry.number if entry else None,
                size=_size_for(terms, entry, wish.size),
                replaces_spoiled=wish.replace_spoiled,
                words=wish.words,
            ),
        )
        answer = _shown(book, wish.name)
        more = _sheets_left(book, entry) if entry else ()
    return answer.model_copy(
        update={
            "words": f"This sheet is {copy.label} of {terms.title}. Write it in pencil below the "
            "picture on the left, and sign on the right (custom).",
            "findings": more,
        }
    )


def _size_of(entry: LedgerEntry) -> EditionSize:
    return EditionSize(width_mm=round(entry.width_mm, 1), height_mm=round(entry.height_mm, 1))


def _size_for(terms: EditionTerms, entry: LedgerEntry | None, typed: str) -> EditionSize | None:
    """The copy's size: the print's own, the one typed, or the edition's only one."""
    if entry is not None:
        size = _size_of(entry)
    elif typed:
        size = parse_picture_size(typed)
    elif len(terms.sizes) == 1:
        return terms.sizes[0]
    elif terms.sizes:
        raise LedgerError(
            f"{terms.name} covers {len(terms.sizes)} sizes, and it is not said which this one is.",
            "No sheet was numbered.",
            "Name its print with --print, or its size with --size-of-picture.",
            "which-size",
        )
    else:
        return None
    for one in terms.sizes:
        if same_size(one, size):
            return one
    if not terms.sizes:
        return size
    known = "; ".join(size_words(one.width_mm, one.height_mm) for one in terms.sizes)
    raise LedgerError(
        f"The picture measures {size_words(size.width_mm, size.height_mm)}; {terms.name} covers "
        f"{known}.",
        "Another size is another edition, so no sheet was numbered.",
        "Print it in a size of the edition, or begin another edition.",
        "size-not-in-edition",
    )


def _refuse_stranger(terms: EditionTerms, entry: LedgerEntry) -> None:
    """A number once given cannot be taken back, so a sheet of another picture is asked about."""
    wrong = []
    if terms.picture_sha256 and terms.picture_sha256 != entry.picture_sha256:
        wrong.append("its picture file is not the edition's")
    if terms.paper and terms.paper.casefold() != entry.stock_title.casefold():
        wrong.append(f"it is on {entry.stock_title}, not on {terms.paper}")
    if wrong:
        raise LedgerError(
            f"Print {entry.number} may not belong to {terms.name}: {' and '.join(wrong)}.",
            "A changed picture or paper is another edition (custom), and a number given cannot be "
            "taken back; no sheet was numbered.",
            "If it belongs there all the same, say why: --because WORDS.",
            "not-of-edition",
        )


def _sheets_left(book: Ledger, entry: LedgerEntry) -> tuple[Finding, ...]:
    """Whether more sheets of a print are numbered than were said to be printed well."""
    state = state_of(book, entry.number)
    with book.reading() as tables:
        numbered = tables.execute(
            "SELECT count(*) FROM copy WHERE entry = ?", (entry.number,)
        ).fetchone()[0]
    sound = state.used - state.spoiled
    if numbered <= sound:
        return ()
    return (
        finding(
            code="more-numbers-than-sheets",
            weight="caution",
            found=f"{numbered} sheets of print {entry.number} are numbered; the ledger knows of "
            f"{sound} that were printed and not spoiled.",
            consequence="One of the two accounts is not complete.",
            choices=(
                f"Say what was printed: firstsheet prints printed {entry.number} --copies N.",
            ),
            figures={"numbered": numbered, "sheets": sound},
        ),
    )


def copy_happened(
    ledger: Path | None,
    name: str,
    copy: str,
    kind: Literal["spoiled", "returned", "withdrawn"],
    *,
    words: str,
    line: int | None = None,
) -> EditionAnswer:
    """Say that a copy is spoiled or came back, or take back a line about it.

    Raises
    ------
    LedgerError
        If there is no such copy, or that cannot have happened to it.
    """
    series, position = parse_copy(copy)
    with writing(ledger) as book:
        found = add_copy_line(book, name, series, position, kind, words=words, withdraws=line)
        said = {
            "spoiled": "is spoiled; its number stays taken",
            "returned": "is back",
            "withdrawn": f"had line {line} taken back; it is {found.state}",
        }[kind]
        return _said(book, name, f"{found.label} {said}.")


def give_copy(
    ledger: Path | None, name: str, copy: str, *, to: tuple[str, str, str], words: str
) -> EditionAnswer:
    """Say that a copy left the artist.

    Parameters
    ----------
    to
        Name, contact and place of who got it; all empty keeps no personal data.

    Raises
    ------
    LedgerError
        If there is no such copy, or it is not with the artist.
    """
    series, position = parse_copy(copy)
    with writing(ledger) as book:
        # first of all: what cannot be given keeps nobody's data
        _must_be_held(edition_copies(book, name), edition_terms(book, name), (series, position))
        holder = None
        if any(to):
            holder = add_holder(book, name=to[0], contact=to[1], place=to[2]).number
        found = add_copy_line(book, name, series, position, "given", words=words, holder=holder)
        who = f" to holder {holder}" if holder is not None else ""
        return _said(book, name, f"{found.label} is given{who}.")


def _must_be_held(
    copies: Sequence[EditionCopy], terms: EditionTerms, wanted: tuple[str, int]
) -> None:
    held = any((one.series, one.position) == wanted and one.state == "held" for one in copies)
    if not held:
        raise LedgerError(
            f"{terms.name} has no such copy at hand.",
            "Nothing was written.",
            f"`firstsheet edition list {terms.name}` shows where each one is.",
            "impossible-for-copy",
        )


def editions_known(ledger: Path | None) -> EditionsAnswer:
    """All editions with their counts."""
    with reading(ledger) as book:
        lines = []
        for name in edition_names(book):
            terms = edition_terms(book, name)
            state = edition_state(terms, edition_copies(book, name))
            lines.append(EditionLine(terms=terms, state=state))
        return EditionsAnswer(ledger=str(book.path), editions=tuple(lines))


def show_edition(ledger: Path | None, name: str, *, holders: bool) -> EditionAnswer:
    """One edition with every copy; personal data only where it is asked for.

    Raises
    ------
    LedgerError
        If there is no such edition.
    """
    with reading(ledger) as book:
        answer = _shown(book, name)
        if not holders:
            return answer
        wanted = {line.holder for copy in answer.copies for line in copy.history}
        return answer.model_copy(
            update={"holders": tuple(one for one in all_holders(book) if one.number in wanted)}
        )


def _shown(book: Ledger, name: str) -> EditionAnswer:
    terms = edition_terms(book, name)
    copies = edition_copies(book, name)
    others = [
        other
        for other in (edition_terms(book, one) for one in edition_names(book) if one != name)
        if terms.picture_sha256 and other.picture_sha256 == terms.picture_sha256
    ]
    return EditionAnswer(
        ledger=str(book.path),
        terms=terms,
        state=edition_state(terms, copies),
        copies=copies,
        findings=edition_findings(terms, others, fixed=bool(copies)),
    )


def _said(book: Ledger, name: str, words: str) -> EditionAnswer:
    """The edition after a line was written; what its terms are was told before."""
    return _shown(book, name).model_copy(update={"words": words, "findings": ()})
