"""Commands that look after the ledger: check, export, import, backup.

No arithmetic here; each calls one job and shows its answer.
"""

from __future__ import annotations

from pathlib import Path

import click

from firstsheet.cli.prints import json_option, ledger_option
from firstsheet.cli.tell import tell
from firstsheet.cli.wish import replace_option

__all__ = ["ledger"]


@click.group()
def ledger() -> None:
    """The file that remembers every print: check, export, import, backup."""


@ledger.command("check")
@ledger_option
@json_option
@click.pass_context
def check(context: click.Context, /, ledger: Path | None, as_json: bool) -> None:
    """Check the whole ledger; where it is damaged, say what can be saved.

    Ends with exit code 7 where a problem was found.
    """
    from firstsheet.cli.show_ledger import show_check
    from firstsheet.jobs.ledger import keeping

    answer = keeping.check(ledger)
    tell(answer, as_json, show_check)
    if not answer.report.is_sound:
        context.exit(7)


@ledger.command("export")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--salvage", is_flag=True, help="Pass over what a damaged ledger no longer gives.")
@click.option(
    "--without-personal-data", "bare", is_flag=True, help="Leave out who holds which copy."
)
@replace_option
@ledger_option
@json_option
def export(
    folder: Path, salvage: bool, bare: bool, replace: bool, ledger: Path | None, as_json: bool
) -> None:
    """Write the ledger to FOLDER as plain CSV and JSON, with profiles, tickets and plans."""
    from firstsheet.cli.show_ledger import show_files
    from firstsheet.jobs.ledger import keeping

    answer = keeping.export(ledger, folder, replace=replace, personal=not bare, salvage=salvage)
    tell(answer, as_json, show_files)


@ledger.command("import")
@click.argument("folder", type=click.Path(path_type=Path))
@ledger_option
@json_option
def import_(folder: Path, ledger: Path | None, as_json: bool) -> None:
    """Make a ledger of an export; the ledger must be new or empty."""
    from firstsheet.cli.show_ledger import show_files
    from firstsheet.jobs.ledger import keeping

    tell(keeping.import_export(ledger, folder), as_json, show_files)


@ledger.command("backup")
@click.argument("file", type=click.Path(path_type=Path))
@ledger_option
@json_option
def backup(file: Path, ledger: Path | None, as_json: bool) -> None:
    """Copy the ledger to FILE, also while it is in use."""
    from firstsheet.cli.show_ledger import show_files
    from firstsheet.jobs.ledger import keeping

    tell(keeping.back_up(ledger, file), as_json, show_files)
