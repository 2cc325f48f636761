"""Commands about prints that were made: list and find them, show one, say how its sheets came out.

No arithmetic here; each calls one job and shows its answer.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from firstsheet.cli.tell import tell

__all__ = ["json_option", "ledger_option", "prints"]

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

ledger_option: Decorator = click.option(
    "--ledger",
    type=click.Path(dir_okay=False, path_type=Path),
    help="The ledger's file instead of your own.",
)
json_option: Decorator = click.option(
    "--json", "as_json", is_flag=True, help="Answer for programs."
)


@click.group(invoke_without_command=True)
@click.option("--find", "words", metavar="WORDS", default="", help="Words of picture or history.")
@click.option("--stock", metavar="NAME", default="", help="Only prints on this stock.")
@click.option("--month", metavar="YYYY-MM", default="", help="Only prints made in this month.")
@click.option(
    "--verdict",
    type=click.Choice(["good", "spoiled", "unjudged"]),
    help="Only prints whose latest verdict is this.",
)
@click.option(
    "--limit",
    type=click.IntRange(1, 100_000),
    default=50,
    show_default=True,
    help="At most so many.",
)
@ledger_option
@json_option
@click.pass_context
def prints(context: click.Context, /, ledger: Path | None, as_json: bool, **words: Any) -> None:
    """List the prints made here, newest first."""
    if context.invoked_subcommand is not None:
        return
    from firstsheet.cli.show_prints import show_prints
    from firstsheet.jobs.ledger.prints import prints_known

    tell(prints_known(ledger, **words), as_json, show_prints)


@prints.command("show")
@click.argument("print_", metavar="PRINT")
@ledger_option
@json_option
def show(print_: str, ledger: Path | None, as_json: bool) -> None:
    """Show one print: what it was made of and with, and what became of it.

    PRINT is its number, `latest`, the first digits of its plan as printed in the border, or its
    folder.
    """
    from firstsheet.cli.show_prints import show_print
    from firstsheet.jobs.ledger import prints as job

    tell(job.show_print(print_, ledger), as_json, show_print)


def _verdict(good: str | None, spoiled: str | None) -> tuple[str, str]:
    if good is not None and spoiled is not None:
        raise click.UsageError("Give --good or --spoiled, not both.")
    if good is not None:
        return "good", good
    return ("spoiled", spoiled) if spoiled is not None else ("", "")


_GOOD = click.option("--good", metavar="WORDS", help="The sheets are good, and why.")
_SPOILED = click.option("--spoiled", metavar="WORDS", help="The sheets are spoiled, and why.")


@prints.command("printed")
@click.argument("print_", metavar="PRINT")
@click.option("--copies", type=int, default=1, show_default=True, help="Sheets that were printed.")
@_GOOD
@_SPOILED
@ledger_option
@json_option
def printed(
    print_: str,
    copies: int,
    good: str | None,
    spoiled: str | None,
    ledger: Path | None,
    as_json: bool,
) -> None:
    """Say that sheets of PRINT went through the printer, and how they came out."""
    from firstsheet.cli.show_prints import show_print
    from firstsheet.jobs.ledger.prints import say_printed

    verdict, words = _verdict(good, spoiled)
    answer = say_printed(print_, ledger, copies=copies, verdict=verdict, words=words)  # type: ignore[arg-type]  # one of three words
    tell(answer, as_json, show_print)


@prints.command("judged")
@click.argument("print_", metavar="PRINT")
@click.option("--copies", type=click.IntRange(min=1), help="Sheets judged. Default: all waiting.")
@_GOOD
@_SPOILED
@ledger_option
@json_option
def judged(
    print_: str,
    copies: int | None,
    good: str | None,
    spoiled: str | None,
    ledger: Path | None,
    as_json: bool,
) -> None:
    """Judge sheets of PRINT that were printed before, when they are dry."""
    from firstsheet.cli.show_prints import show_print
    from firstsheet.jobs.ledger.prints import judge_print

    verdict, words = _verdict(good, spoiled)
    if not verdict:
        raise click.UsageError("Give --good or --spoiled.")
    answer = judge_print(print_, ledger, copies=copies, verdict=verdict, words=words)  # type: ignore[arg-type]  # one of two words
    tell(answer, as_json, show_print)


@prints.command("withdraw")
@click.argument("print_", metavar="PRINT")
@click.argument("line", type=int)
@click.option("--because", "words", required=True, metavar="WORDS", help="Why it was wrong.")
@ledger_option
@json_option
def withdraw(print_: str, line: int, words: str, ledger: Path | None, as_json: bool) -> None:
    """Take back a wrong line of a print's history; it stays readable."""
    from firstsheet.cli.show_prints import show_print
    from firstsheet.jobs.ledger.prints import withdraw_line

    tell(withdraw_line(print_, line, ledger, words=words), as_json, show_print)
