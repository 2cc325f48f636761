"""Editions: terms fixed before the first number, each number once, every copy with its history.

Takes terms and what a person says of copies; gives them back. The rules stand twice: here with
words for people, and as triggers in the file itself.
Tests: tests/store/ledger/test_ledger_editions.py.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from firstsheet.engine.editions import copy_label, copy_state
from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.edition import (
    CopyKind,
    CopyLine,
    EditionCopy,
    EditionSize,
    EditionTerms,
    Series,
)
from firstsheet.store.ledger.connect import Ledger

__all__ = [
    "NewCopy",
    "add_copy",
    "add_copy_line",
    "edition_copies",
    "edition_names",
    "edition_terms",
    "new_edition",
    "terms_history",
]

_TERM_COLUMNS = (
    "title", "artist", "year", "size", "proofs", "technique", "paper", "inks", "note",
    "picture_sha256",
)  # fmt: skip
_TAKEN_BACK: tuple[CopyKind, ...] = ("given", "returned", "spoiled")


@dataclass(frozen=True, kw_only=True)
class NewCopy:
    """A copy to be numbered."""

    series: Series = "number"
    position: int | None = None  # None: the lowest free one
    entry: int | None = None  # the print it is a sheet of
    size: EditionSize | None = None
    replaces_spoiled: bool = False  # the explicit word: take a spoiled copy's number again
    words: str = ""


def edition_names(ledger: Ledger) -> tuple[str, ...]:
    """Names of all editions, oldest first."""
    with ledger.reading() as tables:
        return tuple(row[0] for row in tables.execute("SELECT name FROM edition ORDER BY number"))


def new_edition(ledger: Ledger, terms: EditionTerms, *, replace: bool = False) -> None:
    """Keep an edition's terms.

    Parameters
    ----------
    replace
        Whether earlier terms of that name may give way; never after the first number.

    Raises
    ------
    LedgerError
        If the name is taken, or numbers have been given.
    """
    with ledger.writing() as tables:
        row = tables.execute("SELECT number FROM edition WHERE name = ?", (terms.name,)).fetchone()
        if row is not None:
            _refuse_new_terms(tables, terms.name, row["number"], replace=replace)
            edition = row["number"]
        else:
            edition = tables.execute(
                "INSERT INTO edition (name, at) VALUES (?, ?)", (terms.name, ledger.at)
            ).lastrowid
        fields = terms.model_dump(mode="json")
        columns = ", ".join(_TERM_COLUMNS)
        tables.execute(
            f"INSERT INTO edition_terms (edition, at, sizes, {columns}) "
            f"VALUES (?, ?, ?, {', '.join('?' for _ in _TERM_COLUMNS)})",
            (
                edition,
                ledger.at,
                json.dumps(fields["sizes"]),
                *(fields[name] for name in _TERM_COLUMNS),
            ),
        )


def _refuse_new_terms(
    tables: sqlite3.Connection, name: str, edition: int, *, replace: bool
) -> None:
    numbered = tables.execute("SELECT count(*) FROM copy WHERE edition = ?", (edition,)).fetchone()[
        0
    ]
    if numbered:
        raise LedgerError(
            f"Of the edition {name} {numbered} copies are numbered already.",
            "Its size and terms were promised with the first one, so they stand.",
            "Another size, paper or crop is another edition: give it another name.",
            "edition-fixed",
        )
    if not replace:
        raise LedgerError(
            f"An edition called {name} is there already.",
            "Its terms were left as they are.",
            "Take another name; or, as nothing is numbered yet, change them with --replace.",
            "edition-exists",
        )


def edition_terms(ledger: Ledger, name: str) -> EditionTerms:
    """The terms that stand.

    Raises
    ------
    LedgerError
        If there is no such edition.
    """
    with ledger.reading() as tables:
        return _terms(tables, name)[1]


def terms_history(ledger: Ledger, name: str) -> tuple[tuple[str, EditionTerms], ...]:
    """All terms an edition has had, with their times, oldest first."""
    with ledger.reading() as tables:
        edition, _ = _terms(tables, name)
        rows = tables.execute(
            "SELECT * FROM edition_terms WHERE edition = ? ORDER BY number", (edition,)
        ).fetchall()
    return tuple((row["at"], _terms_of(row, name)) for row in rows)


def _terms(tables: sqlite3.Connection, name: str) -> tuple[int, EditionTerms]:
    row = tables.execute(
        "SELECT edition_terms.* FROM edition JOIN edition_terms "
        "ON edition_terms.edition = edition.number WHERE edition.name = ? "
        "ORDER BY edition_terms.number DESC LIMIT 1",
        (name,),
    ).fetchone()
    if row is None:
        known = [one[0] for one in tables.execute("SELECT name FROM edition ORDER BY name")]
        raise LedgerError(
            f"No edition is called “{name}”.",
            "Nothing was done.",
            f"There are: {', '.join(known)}." if known else "Begin one: firstsheet edition new.",
            "unknown-edition",
        )
    return row["edition"], _terms_of(row, name)


def _terms_of(row: sqlite3.Row, name: str) -> EditionTerms:
    fields = {column: row[column] for column in _TERM_COLUMNS}
    return EditionTerms.model_validate({"name": name, "sizes": json.loads(row["sizes"]), **fields})


def edition_copies(ledger: Ledger, name: str) -> tuple[EditionCopy, ...]:
    """Every copy ever numbered, by series and number; replaced ones before their successors."""
    with ledger.reading() as tables:
        edition, terms = _terms(tables, name)
        return _copies(tables, edition, terms)


def _copies(
    tables: sqlite3.Connection, edition: int, terms: EditionTerms
) -> tuple[EditionCopy, ...]:
    rows = tables.execute(
        "SELECT * FROM copy WHERE edition = ? ORDER BY series, position, number", (edition,)
    ).fetchall()
    replaced = {row["replaces"] for row in rows}
    lines: dict[int, list[CopyLine]] = {row["number"]: [] for row in rows}
    for line in tables.execute(
        "SELECT line.*, EXISTS (SELECT 1 FROM copy_history AS later "
        "WHERE later.withdraws = line.number) AS taken_back FROM copy_history AS line "
        "JOIN copy ON copy.number = line.copy WHERE copy.edition = ? ORDER BY line.number",
        (edition,),
    ).fetchall():
        lines[line["copy"]].append(
            CopyLine(
                number=line["number"],
                copy_number=line["copy"],
                at=line["at"],
                kind=line["kind"],
                words=line["words"],
                holder=line["holder"],
                withdraws=line["withdraws"],
                is_withdrawn=bool(line["taken_back"]),
            )
        )
    return tuple(
        _copy_of(row, terms, lines[row["number"]], is_replaced=row["number"] in replaced)
        for row in rows
    )


def _copy_of(
    row: sqlite3.Row, terms: EditionTerms, lines: Sequence[CopyLine], *, is_replaced: bool
) -> EditionCopy:
    state, holder = copy_state(lines, is_replaced=is_replaced)
    size = None
    if row["width_mm"] is not None:
        size = EditionSize(width_mm=row["width_mm"], height_mm=row["height_mm"])
    return EditionCopy(
        number=row["number"],
        series=row["series"],
        position=row["position"],
        label=copy_label(row["series"], row["position"], terms),
        print_number=row["entry"],
        size=size,
        at=row["at"],
        replaces=row["replaces"],
        words=row["words"],
        state=state,
        holder=holder,
        history=tuple(lines),
    )


def add_copy(ledger: Ledger, name: str, new: NewCopy) -> EditionCopy:
    """Give a number to a sheet.

    Raises
    ------
    LedgerError
        If the number is given already, lies beyond the edition, or none is left.
    """
    with ledger.writing() as tables:
        edition, terms = _terms(tables, name)
        copies = [one for one in _copies(tables, edition, terms) if one.series == new.series]
        position = _free_position(terms, copies, new)
        before = _refuse_taken(terms, copies, new, position)
        number = tables.execute(
            "INSERT INTO copy (edition, series, position, entry, width_mm, height_mm, at, "
            "replaces, words) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                edition,
                new.series,
                position,
                new.entry,
                new.size.width_mm if new.size else None,
                new.size.height_mm if new.size else None,
                ledger.at,
                before.number if before else None,
                new.words,
            ),
        ).lastrowid
        return next(one for one in _copies(tables, edition, terms) if one.number == number)


def _free_position(terms: EditionTerms, copies: Sequence[EditionCopy], new: NewCopy) -> int:
    most = terms.size if new.series == "number" else terms.proofs
    what = "numbers" if new.series == "number" else "artist's proofs"
    taken = {one.position for one in copies}
    if new.position is None:
        free = next((one for one in range(1, most + 1) if one not in taken), None)
        if free is None:
            raise LedgerError(
                f"All {most} {what} of {terms.name} are given.",
                "An edition never grows, so no sheet was numbered.",
                "A spoiled copy's number can be given again: name it, with --replace-spoiled.",
                "edition-complete",
            )
        return free
    if not 1 <= new.position <= most:
        raise LedgerError(
            f"{terms.name} has {most} {what}; there is no {new.position}.",
            "The size was fixed before the first number, so no sheet was numbered.",
            f"Give a number from 1 to {most}." if most else "It has none of that kind.",
            "beyond-edition",
        )
    return new.position


def _refuse_taken(
    terms: EditionTerms, copies: Sequence[EditionCopy], new: NewCopy, position: int
) -> EditionCopy | None:
    """The spoiled copy that gives its number up; None where the number is free."""
    holding = [one for one in copies if one.position == position and one.state != "replaced"]
    label = copy_label(new.series, position, terms)
    if not holding:
        if new.replaces_spoiled:
            raise LedgerError(
                f"{label} of {terms.name} was never given, so nothing is to be replaced.",
                "No sheet was numbered.",
                "Leave --replace-spoiled out.",
                "nothing-to-replace",
            )
        return None
    (copy,) = holding
    if copy.state == "spoiled" and new.replaces_spoiled:
        return copy
    spoiled = copy.state == "spoiled"
    raise LedgerError(
        f"{label} of {terms.name} is given already ({copy.at[:10]}"
        f"{', and spoiled' if spoiled else ''}).",
        "One number is never given twice.",
        "To give a spoiled copy's number to another sheet, say so: --replace-spoiled."
        if spoiled
        else "Take the next free one by leaving the number out. If that sheet is lost, say first: "
        f"firstsheet edition spoil {terms.name} {position}.",
        "number-taken",
    )


def add_copy_line(
    ledger: Ledger,
    name: str,
    series: Series,
    position: int,
    kind: CopyKind,
    *,
    words: str,
    holder: int | None = None,
    withdraws: int | None = None,
) -> EditionCopy:
    """Say what happened to the sheet that has a number now.

    Raises
    ------
    LedgerError
        If no sheet has it, or that cannot have happened to it.
    """
    with ledger.writing() as tables:
        edition, terms = _terms(tables, name)
        copy = _numbered(_copies(tables, edition, terms), terms, series, position)
        _refuse_impossible(terms, copy, kind, withdraws)
        tables.execute(
            "INSERT INTO copy_history (copy, at, kind, words, holder, withdraws) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            (copy.number, ledger.at, kind, words, holder, withdraws),
        )
        return next(one for one in _copies(tables, edition, terms) if one.number == copy.number)


def _numbered(
    copies: Sequence[EditionCopy], terms: EditionTerms, series: Series, position: int
) -> EditionCopy:
    for copy in copies:
        if (copy.series, copy.position) == (series, position) and copy.state != "replaced":
            return copy
    label = copy_label(series, position, terms) if position >= 1 else str(position)
    raise LedgerError(
        f"No sheet of {terms.name} is numbered {label}.",
        "Nothing was written.",
        f"`firstsheet edition list {terms.name}` shows those that are.",
        "unnumbered",
    )


def _refuse_impossible(
    terms: EditionTerms, copy: EditionCopy, kind: CopyKind, withdraws: int | None
) -> None:
    if kind == "withdrawn":
        standing = [
            one.number for one in copy.history if not one.is_withdrawn and one.kind in _TAKEN_BACK
        ]
        if withdraws not in standing:
            raise LedgerError(
                f"{copy.label} of {terms.name} has no standing line {withdraws}.",
                "Nothing was written.",
                f"Its lines that stand: {', '.join(map(str, standing)) or 'none'}.",
                "unknown-line",
            )
        return
    wrong = {
        "spoiled": (copy.state == "spoiled", "is spoiled already"),
        "given": (copy.state != "held", f"is {copy.state}, so it cannot be given"),
        "returned": (copy.state != "given", "was not given away, so it cannot come back"),
    }[kind]
    if wrong[0]:
        raise LedgerError(
            f"{copy.label} of {terms.name} {wrong[1]}.",
            "Nothing was written.",
            f"`firstsheet edition list {terms.name}` shows what happened to it.",
            "impossible-for-copy",
        )
