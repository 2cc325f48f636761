"""Writes docs/commands.md from the command line itself, so that the two cannot differ.

Run: python tools/write_commands.py
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from firstsheet.cli.main import cli

TARGET = Path(__file__).parents[1] / "docs/commands.md"

HEAD = """# Commands

This page is written by `tools/write_commands.py` from the command line itself.

SOURCE is a picture, a ticket (`.toml`, see [ticket.md](ticket.md)) or an earlier `plan.json`.
Options go on top of a ticket; a plan takes none, for it is what was agreed on. Lengths take mm,
cm, m or in. Sheets take a name (`A3+`, `17x22in`) or a size (`483x330mm`).

`--json` prints the answer as one JSON object; schemas lie in [schema/](schema/). An error is
`{"error": {"code", "found", "consequence", "choice", "exit_code"}}`.

| exit code | meaning |
| --- | --- |
| 0 | done |
| 1 | something else went wrong |
| 2 | a slip in the ticket, the stock or the options |
| 3 | the picture or a profile is refused, or a question needs an answer |
| 4 | the plan holds a finding of weight stop |
| 5 | the original, or what the plan rests on, changed |
| 6 | an output could not be written; nothing is left under its final name |
| 7 | the ledger is damaged or in use, knows no such print, or must not do what is asked |
| 130 | stopped by you; nothing half done is left |
"""


def _rows(command: click.Command) -> list[str]:
    rows = []
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            names = ", ".join([*parameter.opts, *parameter.secondary_opts])
            value = parameter.metavar or (
                "|".join(map(str, parameter.type.choices))
                if isinstance(parameter.type, click.Choice)
                else ""
            )
            shown = f"`{names}{' ' + value if value and not parameter.is_flag else ''}`"
            rows.append(f"| {shown.replace('|', chr(92) + '|')} | {parameter.help or ''} |")
    return rows


def _section(name: str, command: click.Command) -> str:
    context = click.Context(command, info_name=f"firstsheet {name}")
    usage = command.get_usage(context).removeprefix("Usage: ")
    usage = " ".join(usage.split())
    words = " ".join((command.help or "").split())
    rows = _rows(command)
    table = "\n".join(["| option | meaning |", "| --- | --- |", *rows]) if rows else ""
    return f"## {name}\n\n{words}\n\n```\n{usage}\n```\n\n{table}\n"


def commands_page() -> str:
    """Give the whole page."""
    parts = [HEAD]
    for name, command in sorted(cli.commands.items()):
        if isinstance(command, click.Group):
            if command.invoke_without_command:
                parts.append(_section(name, command))
            for inner, sub in sorted(command.commands.items()):
                parts.append(_section(f"{name} {inner}", sub))
        else:
            parts.append(_section(name, command))
    return "\n".join(parts)


if __name__ == "__main__":
    TARGET.write_text(commands_page(), encoding="utf-8")
    sys.stdout.write(f"{TARGET.name} written\n")
