"""How answers are set on a terminal: sentences, labelled rows, tables, findings.

Takes text; prints it, wrapped to the terminal.
"""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Sequence

import click

from firstsheet.engine.records import Finding

__all__ = ["findings", "line_width", "row", "say", "table"]

_MARKS = {"stop": "■ stop", "caution": "◆ caution", "fine": "○ fine"}
_LABEL = 15


def line_width() -> int:
    """Columns to set text in: the terminal, held between 60 and 110."""
    return max(60, min(shutil.get_terminal_size((96, 24)).columns, 110))


def say(text: str, indent: str = "", hanging: str | None = None) -> None:
    """Print a sentence, wrapped."""
    after = indent if hanging is None else hanging
    click.echo(
        textwrap.fill(text, line_width(), initial_indent=indent, subsequent_indent=after)
        if text
        else ""
    )


def row(label: str, text: str) -> None:
    """Print a figure behind its label."""
    say(text, f"  {label:<{_LABEL - 2}}  ", " " * (_LABEL + 2))


def findings(findings: Iterable[Finding]) -> None:
    """Print findings: weight in word and shape, then each choice."""
    for finding in findings:
        mark = _MARKS[finding.weight]
        say(f"{mark}  {finding.found} {finding.consequence}".strip(), "", " " * 8)
        for choice in finding.choices:
            say(f"→ {choice}", " " * 8, " " * 10)


def table(rows: Sequence[Sequence[str]], right: frozenset[int] = frozenset()) -> None:
    """Print rows in columns; `right` names the columns set flush right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        cells = [
            cell.rjust(width) if i in right else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        click.echo("  " + "   ".join(cells).rstrip())
