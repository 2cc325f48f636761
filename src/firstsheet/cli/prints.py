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


@prints.command("keep")
@click.argument("folder", type=click.Path(exists=True, file_okay=False, path_type=Path))
@ledger_option
@json_option
def keep(folder: Path, ledger: Path | None, as_json: bool) -> None:
    """Keep a print's FOLDER that the ledger does not know yet."""
    from firstsheet.cli.show_prints import show_print
    from firstsheet.jobs.ledger.keep_folder import keep_folder

    tell(keep_folder(folder, ledger), as_json, show_print)


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
    from firstsheet.cli.show_prints import show_said
    from firstsheet.jobs.ledger.prints import say_printed

    verdict, words = _verdict(good, spoiled)
    answer = say_printed(print_, ledger, copies=copies, verdict=verdict, words=words)  # type: ignore[arg-type]  # one of three words
    tell(answer, as_json, show_said)


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
    from firstsheet.cli.show_prints import show_said
    from firstsheet.jobs.ledger.prints import judge_print

    verdict, words = _verdict(good, spoiled)
    if not verdict:
        raise click.UsageError("Give --good or --spoiled.")
    answer = judge_print(print_, ledger, copies=copies, verdict=verdict, words=words)  # type: ignore[arg-type]  # one of two words
    tell(answer, as_json, show_said)


@prints.command("withdraw")
@click.argument("print_", metavar="PRINT")
@click.argument("line", type=int)
@click.option("--because", "words", required=True, metavar="WORDS", help="Why it was wrong.")
@ledger_option
@json_option
def withdraw(print_: str, line: int, words: str, ledger: Path | None, as_json: bool) -> None:
    """Take back a wrong line of a print's history; it stays readable."""
    from firstsheet.cli.show_prints import show_said
    from firstsheet.jobs.ledger.prints import withdraw_line

    tell(withdraw_line(print_, line, ledger, words=words), as_json, show_said)


@prints.command("costs")
@click.option("--stock", metavar="NAME", default="", help="Only this stock.")
@ledger_option
@json_option
def costs(stock: str, ledger: Path | None, as_json: bool) -> None:
    """Say what sheets have cost, stock by stock, and what the next one will."""
    from firstsheet.cli.show_prints import show_costs
    from firstsheet.jobs.ledger.costs import costs_by_stock

    tell(costs_by_stock(ledger, stock=stock), as_json, show_costs)


@prints.command("price")
@click.option("--stock", metavar="NAME", default="", help="Stock; ink may do without one.")
@click.option("--sheet", metavar="SHEET", help="Sheet the price is for: A3+, 17x22in.")
@click.option("--costs", "price_", metavar="AMOUNT", help="What that sheet costs: `4.20 EUR`.")
@click.option("--ink-ml", "per_ml", metavar="AMOUNT", help="What a ml of ink costs.")
@click.option(
    "--ink-per-m2",
    "ml_per_m2",
    type=float,
    metavar="ML",
    help="Your prints' own use of ink, ml/m².",
)
@ledger_option
@json_option
def price(
    stock: str,
    sheet: str | None,
    price_: str | None,
    per_ml: str | None,
    ml_per_m2: float | None,
    ledger: Path | None,
    as_json: bool,
) -> None:
    """Enter what a sheet or ink costs from now on; earlier sheets keep their price."""
    from firstsheet.cli.show_prints import show_costs
    from firstsheet.jobs.ledger import costs as job

    if (sheet is None) != (price_ is None) or (sheet is not None and not stock):
        raise click.UsageError("A sheet's price takes --stock, --sheet and --costs.")
    if sheet is None and per_ml is None and ml_per_m2 is None:
        raise click.UsageError("Give --sheet with --costs, --ink-ml or --ink-per-m2.")
    answer = None
    if sheet is not None and price_ is not None:
        answer = job.set_sheet_price(ledger, stock=stock, sheet=sheet, price=price_)
    if per_ml is not None or ml_per_m2 is not None:
        answer = job.set_ink(ledger, stock=stock, per_ml=per_ml, ml_per_m2=ml_per_m2)
    assert answer is not None
    tell(answer, as_json, show_costs)
