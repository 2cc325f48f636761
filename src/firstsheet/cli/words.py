"""How answers are set on a terminal: sentences, labelled rows, tables, findings.

Takes text; prints it, wrapped to the terminal.
"""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Mapping, Sequence

import click

from firstsheet.engine.records.finding import Choice, Finding, GoesTo

__all__ = ["findings", "line_width", "option_words", "row", "say", "table", "with_option"]

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
            say(f"→ {with_option(choice)}", " " * 8, " " * 10)


def with_option(choice: Choice) -> str:
    """A choice, with the command line's way to do it behind it.

    >>> with_option(Choice(text="Use perceptual.", change={"colour.intent": "perceptual"}))
    'Use perceptual: --intent perceptual.'
    """
    way = choice.option or _COMMANDS.get(choice.goes_to, "") or option_words(choice.change)
    return f"{choice.text.removesuffix('.')}: {way}." if way else choice.text


_COMMANDS: dict[GoesTo, str] = {
    "losses": "firstsheet losses",
    "compare": "firstsheet compare",
    "dust": "firstsheet check --marks",
    "test-strips": "firstsheet ladder",
}


def option_words(change: Mapping[str, str]) -> str:
    """The options that set the same lines of a ticket; lines without one are named as lines.

    >>> option_words({"print.width": "381 mm", "output.key": ""})
    '--width 381mm (and leave out --key)'
    >>> option_words({"answers.orientation": "ignore"})
    '--answer orientation=ignore'
    """
    given: list[str] = []
    left_out: list[str] = []
    for line, value in change.items():
        section, _, key = line.rpartition(".")
        if section == "answers":
            given.append(f"--answer {key}={value}")
            continue
        option = f"--{_OPTIONS.get(line, key)}"
        if line == "repair":
            given.append("--repair none" if not value else "")
        elif value in ("", "true"):
            (given if value else left_out).append(option)
        else:
            plain = value.replace(" ", "")
            given.append(f"{option} {plain}")
    words = " ".join(one for one in given if one)
    if not left_out:
        return words
    without = f"leave out {' '.join(left_out)}"
    return f"{words} (and {without})" if words else without


_OPTIONS = {"colour.keep": "keep-colour", "crop.shape": "shape"}  # others are called as the line


def table(rows: Sequence[Sequence[str]], right: frozenset[int] = frozenset()) -> None:
    """Print rows in columns; `right` names the columns set flush right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        cells = [
            cell.rjust(width) if i in right else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        click.echo("  " + "   ".join(cells).rstrip())
