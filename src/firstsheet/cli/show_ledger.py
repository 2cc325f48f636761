"""The ledger's state, copies and exports in words. Shows figures that jobs computed."""

from __future__ import annotations

import click

from firstsheet.cli.words import row, say, table
from firstsheet.engine.units import bytes_words
from firstsheet.jobs.ledger.answers import LedgerCheckAnswer, LedgerFilesAnswer

__all__ = ["show_check", "show_files"]


def show_check(answer: LedgerCheckAnswer) -> None:
    """Show whether the ledger is sound, and what can be saved."""
    report = answer.report
    for sentence in answer.sentences:
        say(sentence)
    click.echo()
    row("Ledger", f"{report.path}, {bytes_words(report.size_bytes)}")
    for problem in report.problems:
        row("Problem", problem)
    if report.tables:
        click.echo()
        rows = [["table", "rows", "readable"]]
        rows += [
            [one.name, "?" if one.rows is None else str(one.rows), str(one.readable)]
            for one in report.tables
        ]
        table(rows, frozenset({1, 2}))


def show_files(answer: LedgerFilesAnswer) -> None:
    """Show what was copied, written out or read."""
    say(answer.words)
    if answer.rows:
        click.echo()
        table(
            [["table", "rows"], *([name, str(count)] for name, count in answer.rows.items())],
            frozenset({1}),
        )
