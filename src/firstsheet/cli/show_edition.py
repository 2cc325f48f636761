"""Editions, copies and holders in words. Shows figures that jobs computed; computes none."""

from __future__ import annotations

import click

from firstsheet.cli.words import findings, row, say, table
from firstsheet.engine.records.edition import CopyLine, EditionCopy, Holder
from firstsheet.engine.units import size_words
from firstsheet.jobs.clock import local_time
from firstsheet.jobs.ledger.answers import (
    CertificateAnswer,
    EditionAnswer,
    EditionsAnswer,
    HoldersAnswer,
)

__all__ = ["show_certificate", "show_edition", "show_editions", "show_holders", "show_said"]

_STATES = {
    "held": "with the artist",
    "given": "given",
    "spoiled": "spoiled",
    "replaced": "spoiled, replaced",
}


def show_editions(answer: EditionsAnswer) -> None:
    """List all editions."""
    if not answer.editions:
        say("No edition is begun.")
    else:
        rows = [["edition", "title", "size", "numbered", "free", "proofs", "given", "spoiled"]]
        rows += [
            [
                one.terms.name,
                one.terms.title,
                str(one.terms.size),
                str(one.state.numbered),
                str(one.state.free),
                f"{one.state.proofs_numbered} of {one.terms.proofs}",
                str(one.state.given),
                str(one.state.spoiled),
            ]
            for one in answer.editions
        ]
        table(rows, frozenset(range(2, 8)))
    click.echo(f"\nThe ledger: {answer.ledger}")


def show_edition(answer: EditionAnswer) -> None:
    """Show one edition with every copy."""
    terms, state = answer.terms, answer.state
    if answer.words:
        say(answer.words)
        click.echo()
    say(
        f"{terms.title}, {terms.artist}, {terms.year}. Edition of {terms.size} with {terms.proofs} "
        f"artist's proofs: {state.numbered} numbered, {state.free} free; {state.held} with the "
        f"artist, {state.given} given, {state.spoiled} spoiled."
    )
    click.echo()
    sizes = "; ".join(size_words(one.width_mm, one.height_mm) for one in terms.sizes)
    for label, text in (
        ("Sizes", sizes),
        ("Technique", terms.technique),
        ("Paper", terms.paper),
        ("Inks", terms.inks),
        ("Note", terms.note),
    ):
        if text:
            row(label, text)
    if answer.copies:
        click.echo()
        _copies(answer)
    click.echo()
    findings(answer.findings)


def _copies(answer: EditionAnswer) -> None:
    people = {one.number: one for one in answer.holders}
    rows = [["copy", "picture", "print", "numbered", "state"]]
    rows += [
        [
            copy.label,
            _size(copy),
            "–" if copy.print_number is None else str(copy.print_number),
            copy.at[:10],
            _STATES[copy.state] + _who(copy.holder, people),
        ]
        for copy in answer.copies
    ]
    table(rows, frozenset({2}))
    told = [(copy, line) for copy in answer.copies for line in copy.history]
    if told:
        click.echo()
    for copy, line in told:
        row(copy.label, _line(line, people))


def _size(copy: EditionCopy) -> str:
    return "–" if copy.size is None else f"{copy.size.width_mm:g} × {copy.size.height_mm:g} mm"


def _who(holder: int | None, people: dict[int, Holder]) -> str:
    if holder is None:
        return ""
    known = people.get(holder)
    name = known.name if known is not None and known.name else f"holder {holder}"
    return f" to {name}"


def _line(line: CopyLine, people: dict[int, Holder]) -> str:
    words = f"line {line.withdraws} withdrawn" if line.kind == "withdrawn" else line.kind
    told = f"line {line.number}, {local_time(line.at)}: {words}{_who(line.holder, people)}"
    told += f": {line.words}" if line.words else ""
    return f"{told} [withdrawn]" if line.is_withdrawn else told


def show_said(answer: EditionAnswer) -> None:
    """Show what was just written, and what is left."""
    state = answer.state
    say(answer.words)
    say(
        f"{answer.terms.title}: {state.numbered} of {answer.terms.size} numbered, {state.free} "
        f"free; {state.proofs_numbered} of {answer.terms.proofs} artist's proofs."
    )
    findings(one for one in answer.findings if one.weight != "fine")


def show_certificate(answer: CertificateAnswer) -> None:
    """Show what was written."""
    say(f"Certificate of {answer.facts.label}, {answer.facts.title}.")
    for file in answer.files:
        click.echo(f"  {file}")


def show_holders(answer: HoldersAnswer) -> None:
    """Show what is kept of holders."""
    if answer.words:
        say(answer.words)
        click.echo()
    if not answer.holders:
        say("Nobody's data is kept.")
    for holder in answer.holders:
        name = "erased" if holder.is_erased else holder.name or "not named"
        row(f"Holder {holder.number}", name)
        for text in (holder.contact, holder.place):
            if text:
                row("", text)
        for line in answer.lines.get(holder.number, ()):
            words = f": {line.words}" if line.words else ""
            row("", f"{line.label} of {line.edition}, {local_time(line.at)}{words}")
