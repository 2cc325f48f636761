"""The command that makes a print once more. No arithmetic here."""

from __future__ import annotations

from pathlib import Path

import click

from firstsheet.cli.prints import json_option, ledger_option
from firstsheet.cli.tell import tell
from firstsheet.cli.wish import replace_option

__all__ = ["again"]


@click.command()
@click.argument("print_", metavar="PRINT")
@click.option(
    "--look-in",
    multiple=True,
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="Folder to look for the picture in, by its content; may be given again.",
)
@click.option(
    "--picture",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Where the picture is now; with --nearest also another one.",
)
@click.option("--nearest", is_flag=True, help="Make it although it will be another print.")
@click.option(
    "--from-export",
    "export",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="Take the print from an export of the ledger.",
)
@click.option("--out", type=click.Path(path_type=Path), help="Folder to make.")
@replace_option
@click.option(
    "--stocks",
    "stocks_dir",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder of stocks instead of your own.",
)
@ledger_option
@json_option
def again(
    print_: str,
    look_in: tuple[Path, ...],
    picture: Path | None,
    nearest: bool,
    export: Path | None,
    out: Path | None,
    replace: bool,
    stocks_dir: Path | None,
    ledger: Path | None,
    as_json: bool,
) -> None:
    """Make PRINT once more: the same bytes, or a list of what has changed, and you decide.

    PRINT is its number, `latest`, the first digits of its plan, or its folder. Ends with exit code
    5 where something changed and nothing was made.
    """
    from firstsheet.cli.progress import working
    from firstsheet.cli.show_prints import show_again
    from firstsheet.jobs.ledger.again import AgainWish, make_again

    wish = AgainWish(
        print_=print_,
        picture=picture,
        look_in=look_in,
        nearest=nearest,
        export=export,
        out=out,
        replace=replace,
        stocks_dir=stocks_dir,
        ledger=ledger,
    )
    with working("Making it again", quiet=as_json) as work:
        answer = make_again(wish, progress=work.progress, stop=work.stop)
    tell(answer, as_json, show_again)
    if answer.made is None:
        click.get_current_context().exit(5)
