"""Prints of the ledger in words. Shows figures that jobs computed; computes none."""

from __future__ import annotations

import click

from firstsheet.cli.words import findings, row, say, table
from firstsheet.engine.records.ledger import HistoryLine
from firstsheet.engine.units import bytes_words, distance_words, size_words
from firstsheet.jobs.answers import AgainAnswer
from firstsheet.jobs.clock import local_time
from firstsheet.jobs.ledger.answers import CostsAnswer, PrintLine, PrintsAnswer, PrintShowAnswer

__all__ = ["show_again", "show_costs", "show_print", "show_prints", "show_said"]


def _sheets(line: PrintLine) -> str:
    if not line.used:
        return "not printed yet"
    counts = (
        (line.good, "good"),
        (line.spoiled, "spoiled"),
        (line.used - line.good - line.spoiled, "to judge"),
    )
    return ", ".join(f"{count} {words}" for count, words in counts if count)


def show_prints(answer: PrintsAnswer) -> None:
    """List prints."""
    if not answer.prints:
        say("No print in the ledger fits.")
        click.echo(f"\nThe ledger: {answer.ledger}")
        return
    rows = [["print", "made", "picture", "size mm", "stock", "sheet", "sheets"]]
    rows += [
        [
            str(line.number),
            line.made_local,
            line.picture + (" (test)" if line.kind == "test" else ""),
            f"{line.width_mm:.0f} × {line.height_mm:.0f}",
            line.stock_title,
            line.sheet,
            _sheets(line),
        ]
        for line in answer.prints
    ]
    table(rows, frozenset({0, 3}))
    more = answer.count - len(answer.prints)
    if more > 0:
        click.echo(f"\n{more} more; --limit {answer.count} shows all.")
    click.echo(f"\nThe ledger: {answer.ledger}")


def show_print(answer: PrintShowAnswer) -> None:
    """Show one print."""
    entry, line = answer.entry, answer.line
    if answer.words:
        say(answer.words)
        click.echo()
    say(
        f"Print {entry.number}: {line.picture}, {size_words(entry.width_mm, entry.height_mm)} on "
        f"{entry.stock_title}, {entry.sheet}. {_sheets(line).capitalize()}."
    )
    say(entry.verdict)
    click.echo()
    row("Made", f"{line.made_local}, in {entry.seconds:.1f} s, by {entry.program}")
    row("Plan", f"{entry.plan_digest[:12]} (as in the border and on the job sheet)")
    row(
        "Picture",
        f"{entry.picture_path}{'' if answer.picture_is_there else ' (no longer there)'}, "
        f"SHA-256 {entry.picture_sha256[:12]}…",
    )
    row(
        "Paper",
        f"{entry.stock_title} ({entry.stock}), media setting "
        f"“{entry.media_setting or 'none noted'}”, profile {entry.profile_sha256[:12]}… is kept",
    )
    row("Colour", f"{entry.intent}, {entry.ppi:g} ppi")
    row(
        "Seen from",
        f"{distance_words(entry.distance_mm)}, {entry.illuminance_lux:g} lux, lamp {entry.lamp}",
    )
    row("Folder", entry.folder + ("" if answer.folder_is_there else " (no longer there)"))
    row("Files", ", ".join(f"{one.name} {bytes_words(one.size_bytes)}" for one in answer.files))
    row("Made with", ", ".join(f"{name} {number}" for name, number in answer.versions.items()))
    if answer.history:
        click.echo()
    for one in answer.history:
        row(f"Line {one.number}", _line_words(one))
    if entry.kind == "print":
        click.echo(f"\nMake it again: firstsheet again {entry.number}")


def show_said(answer: PrintShowAnswer) -> None:
    """Show what was just written about a print, and where it stands now."""
    say(answer.words)
    sheets = answer.state.used
    say(
        f"{answer.line.picture} on {answer.line.stock_title}: "
        f"{'1 sheet' if sheets == 1 else f'{sheets} sheets'} in all: {_sheets(answer.line)}."
        if sheets
        else f"{answer.line.picture} on {answer.line.stock_title}: not printed yet."
    )
    row(f"Line {answer.history[-1].number}", _line_words(answer.history[-1]))


def _line_words(line: HistoryLine) -> str:
    sheets = "1 sheet" if line.copies == 1 else f"{line.copies} sheets"
    if line.kind == "withdrawn":
        words = f"line {line.withdraws} withdrawn"
    elif line.kind == "printed":
        words = f"{sheets} printed" + (f", {line.verdict}" if line.verdict else "")
    else:
        words = f"{sheets} judged {line.verdict}"
    told = f"{local_time(line.at)}: {words}" + (f": {line.words}" if line.words else "")
    return f"{told} [withdrawn]" if line.is_withdrawn else told


def show_costs(answer: CostsAnswer) -> None:
    """Show sheets and money by stock."""
    if answer.words:
        say(answer.words)
        click.echo()
    if not answer.stocks:
        say("No print of that stock is in the ledger.")
        return
    paid = f"paper {answer.currency}".strip()
    ink = f"ink {answer.currency}".strip()
    rows = [["stock", "sheets", "good", "spoiled", "share", "for a good one", paid, ink]]
    rows += [
        [
            one.title,
            str(one.used),
            str(one.good),
            str(one.spoiled),
            "–" if one.spoiled_percent is None else f"{one.spoiled_percent:.0f} %",
            "–" if one.sheets_per_good is None else f"{one.sheets_per_good:.2f}",
            "–" if one.paper_cost is None else f"{one.paper_cost:.2f}",
            "–" if one.ink_cost is None else f"{one.ink_cost:.2f}",
        ]
        for one in answer.stocks
    ]
    table(rows, frozenset(range(1, 8)))
    for one in answer.stocks:
        click.echo()
        for number, sentence in enumerate(one.sentences):
            row(one.title if number == 0 else "", sentence)


def show_again(answer: AgainAnswer) -> None:
    """Show what has changed since a print was made, and what was made of it."""
    say(answer.words)
    if answer.findings:
        click.echo()
        findings(answer.findings)
    if answer.made is not None:
        click.echo(f"\nMade in {answer.made.seconds:.1f} s: {answer.made.folder}")
        if answer.made.ledger_number is not None:
            click.echo(f"Kept in the ledger as print {answer.made.ledger_number}.")
    elif answer.picture.status == "gone":
        click.echo("\nNothing was made.")
    else:
        click.echo("\nNothing was made. --nearest makes it all the same.")
