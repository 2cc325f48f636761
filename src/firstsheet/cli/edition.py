"""Commands for editions: new, number, spoil, give, list, certificate, and who holds copies.

No arithmetic here; each calls one job and shows its answer.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from firstsheet.cli.prints import json_option, ledger_option
from firstsheet.cli.tell import tell

__all__ = ["edition"]

_SIZE = "Size of the picture on paper: 400x267mm."
_because = click.option("--because", "words", metavar="WORDS", default="", help="Why.")


@click.group()
def edition() -> None:
    """Numbered prints: fix an edition, number its sheets, know where each one is."""


@edition.command("new")
@click.argument("name")
@click.option("--title", required=True, help="Title of the picture.")
@click.option("--artist", required=True, help="Name of the artist.")
@click.option("--year", required=True, help="Year of the picture.")
@click.option("--size", type=int, required=True, help="How many numbers in all, over every size.")
@click.option("--proofs", type=int, default=0, show_default=True, help="Artist's proofs besides.")
@click.option("--size-of-picture", "sizes", multiple=True, metavar="SIZE", help=_SIZE)
@click.option("--technique", default="", help="Such as pigment print.")
@click.option("--paper", default="", help="Paper, as a buyer reads it. Default: the print's stock.")
@click.option("--inks", default="", help="Inks, as a buyer reads it.")
@click.option("--note", default="", help="What else belongs on the certificate.")
@click.option("--print", "print_", metavar="PRINT", default="", help="A print of it in the ledger.")
@click.option("--replace", is_flag=True, help="Change terms while nothing is numbered yet.")
@ledger_option
@json_option
def new(name: str, ledger: Path | None, as_json: bool, **wish: Any) -> None:
    """Fix the size and terms of edition NAME; they stand from the first number on."""
    from firstsheet.cli.show_edition import show_edition
    from firstsheet.jobs.ledger.editions import EditionWish, begin_edition

    tell(begin_edition(ledger, EditionWish(name=name, **wish)), as_json, show_edition)


@edition.command("number")
@click.argument("name")
@click.argument("copy", required=False, default="")
@click.option("--proof", is_flag=True, help="An artist's proof, counted apart in Roman letters.")
@click.option("--print", "print_", metavar="PRINT", default="", help="The print it is a sheet of.")
@click.option("--size-of-picture", "size", metavar="SIZE", default="", help=_SIZE)
@click.option("--replace-spoiled", is_flag=True, help="Give a spoiled copy's number to this sheet.")
@_because
@ledger_option
@json_option
def number(name: str, copy: str, ledger: Path | None, as_json: bool, **wish: Any) -> None:
    """Give a sheet of edition NAME its number: COPY, or the lowest free one.

    COPY is 7 or 7/30, or for an artist's proof II. A number is given once and cannot be taken back.
    """
    from firstsheet.cli.show_edition import show_said
    from firstsheet.jobs.ledger.editions import NumberWish, number_copy

    tell(number_copy(ledger, NumberWish(name=name, copy=copy, **wish)), as_json, show_said)


@edition.command("spoil")
@click.argument("name")
@click.argument("copy")
@click.option("--because", "words", required=True, metavar="WORDS", help="What happened to it.")
@ledger_option
@json_option
def spoil(name: str, copy: str, words: str, ledger: Path | None, as_json: bool) -> None:
    """Say that COPY of edition NAME is spoiled or lost; its number stays taken."""
    from firstsheet.cli.show_edition import show_said
    from firstsheet.jobs.ledger.editions import copy_happened

    tell(copy_happened(ledger, name, copy, "spoiled", words=words), as_json, show_said)


@edition.command("give")
@click.argument("name")
@click.argument("copy")
@click.option("--to", metavar="PERSON", default="", help="Who got it: personal data, kept apart.")
@click.option("--contact", default="", help="How to reach them.")
@click.option("--place", default="", help="Where it hangs.")
@click.option("--back", is_flag=True, help="It came back to the artist.")
@_because
@ledger_option
@json_option
def give(
    name: str,
    copy: str,
    to: str,
    contact: str,
    place: str,
    back: bool,
    words: str,
    ledger: Path | None,
    as_json: bool,
) -> None:
    """Say that COPY of edition NAME was sold, lent or given, or that it came back."""
    from firstsheet.cli.show_edition import show_said
    from firstsheet.jobs.ledger import editions

    if back:
        answer = editions.copy_happened(ledger, name, copy, "returned", words=words)
    else:
        answer = editions.give_copy(ledger, name, copy, to=(to, contact, place), words=words)
    tell(answer, as_json, show_said)


@edition.command("withdraw")
@click.argument("name")
@click.argument("copy")
@click.argument("line", type=int)
@click.option("--because", "words", required=True, metavar="WORDS", help="Why it was wrong.")
@ledger_option
@json_option
def withdraw(
    name: str, copy: str, line: int, words: str, ledger: Path | None, as_json: bool
) -> None:
    """Take back a wrong line about COPY; it stays readable."""
    from firstsheet.cli.show_edition import show_said
    from firstsheet.jobs.ledger.editions import copy_happened

    answer = copy_happened(ledger, name, copy, "withdrawn", words=words, line=line)
    tell(answer, as_json, show_said)


@edition.command("list")
@click.argument("name", required=False)
@click.option("--holders", is_flag=True, help="Also who has which copy: personal data.")
@ledger_option
@json_option
def list_(name: str | None, holders: bool, ledger: Path | None, as_json: bool) -> None:
    """List all editions, or every copy of NAME: the state of an edition, as a gallery asks."""
    from firstsheet.cli import show_edition as show
    from firstsheet.jobs.ledger import editions

    if name is None:
        tell(editions.editions_known(ledger), as_json, show.show_editions)
    else:
        answer = editions.show_edition(ledger, name, holders=holders)
        tell(answer, as_json, show.show_edition)


@edition.command("certificate")
@click.argument("name")
@click.argument("copy")
@click.option(
    "--out", type=click.Path(dir_okay=False, path_type=Path), required=True, help="PDF to write."
)
@click.option(
    "--label", type=click.Path(dir_okay=False, path_type=Path), help="Also a label for the back."
)
@ledger_option
@json_option
def certificate(
    name: str, copy: str, out: Path, label: Path | None, ledger: Path | None, as_json: bool
) -> None:
    """Write the certificate of COPY of edition NAME, with room for a signature."""
    from firstsheet.cli.show_edition import show_certificate
    from firstsheet.jobs.ledger.certificates import write_certificate

    tell(write_certificate(ledger, name, copy, out=out, label=label), as_json, show_certificate)


@edition.command("holders")
@click.argument("person", required=False, default="")
@ledger_option
@json_option
def holders(person: str, ledger: Path | None, as_json: bool) -> None:
    """Give everything kept of those who hold copies, or of PERSON (name or number)."""
    from firstsheet.cli.show_edition import show_holders
    from firstsheet.jobs.ledger.certificates import holders_known

    tell(holders_known(ledger, name=person), as_json, show_holders)


@edition.command("erase")
@click.argument("person")
@ledger_option
@json_option
def erase(person: str, ledger: Path | None, as_json: bool) -> None:
    """Erase for good what is kept of PERSON (name or number); the copies' history stays."""
    from firstsheet.cli.show_edition import show_holders
    from firstsheet.jobs.ledger import certificates

    tell(certificates.erase(ledger, person), as_json, show_holders)
