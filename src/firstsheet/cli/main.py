"""Command line: read words, call one job, print one answer. No arithmetic here.

Exit codes: 0 done; 1 something else went wrong; 2 a slip in ticket, stock or options;
3 the picture or a profile is refused, or a question needs an answer; 4 a finding of weight
stop; 5 the original changed; 6 an output could not be written;
7 the ledger; 130 stopped by you.
Heavy rooms are imported inside the commands, so that `--help` answers at once.
"""

from __future__ import annotations

import gc
import io
import os
import sys
from pathlib import Path
from typing import Any

import click

from firstsheet import __version__
from firstsheet.cli.again import again
from firstsheet.cli.edition import edition
from firstsheet.cli.ledger import ledger
from firstsheet.cli.looking import ladder, proof
from firstsheet.cli.prints import ledger_option, prints
from firstsheet.cli.tell import tell
from firstsheet.cli.wish import (
    answer_option,
    common_options,
    out_option,
    replace_option,
    wish_options,
)

__all__ = ["cli", "run"]

_JSON = click.option("--json", "as_json", is_flag=True, help="Answer for programs.")
_STOCKS = click.option(
    "--stocks",
    "stocks_dir",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder of stocks instead of your own.",
)


class _Group(click.Group):
    """Turns every error a photographer can meet into its three sentences and its exit code."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        kwargs["standalone_mode"] = False
        as_json = "--json" in sys.argv[1:]
        try:
            if code := super().main(*args, **kwargs):  # of `context.exit`, else None
                sys.exit(code)
        except click.ClickException as slip:
            slip.show()
            sys.exit(2)
        except (click.Abort, KeyboardInterrupt):
            click.echo("Stopped. Nothing half done is left.", err=True)
            sys.exit(130)
        except Exception as error:
            from firstsheet.cli.show import show_error
            from firstsheet.engine.errors import FirstsheetError

            if isinstance(error, OSError):
                error = _of_the_system(error)
            if not isinstance(error, FirstsheetError):
                raise
            show_error(error, as_json=as_json)
            sys.exit(error.exit_code)


def _of_the_system(error: OSError) -> Exception:
    """What the system refused, where nobody nearer said it better."""
    from firstsheet.engine.errors import OutputError

    name = str(error.filename or "standard output")
    return OutputError(
        f"{name if len(name) <= 120 else name[:117] + '…'}: {error.strerror or error}.",
        "The command was not finished; nothing half done is left.",
        "Choose another name or place.",
        "system",
    )


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="firstsheet")
def cli() -> None:
    """The print you meant, on the first sheet.

    Judge a picture, plan a print, see what the paper takes away, write the print-ready file.
    Lengths take mm, cm or in. SOURCE is a picture, a ticket (.toml) or an earlier plan.json.
    """


@cli.command()
@click.argument("picture", type=click.Path(path_type=Path))
@click.option("--page", type=click.IntRange(min=1), help="Page of a file with several.")
@click.option("--read-as", metavar="SPACE", help="Space of a file without a profile.")
@click.option(
    "--background",
    type=click.Choice(["paper", "black"]),
    help="What lies under partly clear pixels.",
)
@answer_option
@click.option("--film", metavar="FORMAT", help="Film the scan comes from: 35mm, 6x7, 56x70mm.")
@click.option(
    "--marks",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Also draw a small picture (PNG) on which what may be dust is marked.",
)
@click.option("--inspect", is_flag=True, help="Look at what is real of a damaged picture.")
@_JSON
def check(
    picture: Path,
    page: int | None,
    read_as: str | None,
    background: str | None,
    answers: dict[str, str] | None,
    inspect: bool,
    film: str | None,
    marks: Path | None,
    as_json: bool,
) -> None:
    """Say what PICTURE holds and what is wrong with it."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show import show_check
    from firstsheet.jobs.check import check_picture

    with working("Reading the picture", quiet=as_json) as work:
        answer = check_picture(
            picture,
            page=page,
            read_as=read_as,
            background=background,
            answers=answers,
            inspect=inspect,
            film=film,
            marks=marks,
            progress=work.progress,
            stop=work.stop,
        )
    tell(answer, as_json, show_check)


@cli.command()
@click.argument("source", type=click.Path(path_type=Path))
@wish_options
@click.option("--out", type=click.Path(path_type=Path), help="Also write the plan to this file.")
@click.option(
    "--ticket-out", type=click.Path(path_type=Path), help="Also write the wish as a ticket."
)
@common_options
def plan(
    source: Path,
    out: Path | None,
    ticket_out: Path | None,
    stocks_dir: str | None,
    as_json: bool,
    **wish: Any,
) -> None:
    """Decide everything for a print of SOURCE and show the figures."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show_plan import show_plan
    from firstsheet.jobs.plan import plan_print

    with working("Planning", quiet=as_json) as work:
        answer = plan_print(
            source,
            wish,
            stocks_dir=stocks_dir,
            out=out,
            ticket_out=ticket_out,
            progress=work.progress,
            stop=work.stop,
        )
    tell(answer, as_json, show_plan)


@cli.command()
@click.argument("source", type=click.Path(path_type=Path))
@wish_options
@out_option
@replace_option
@ledger_option
@common_options
def make(
    source: Path,
    out: Path | None,
    replace: bool,
    ledger: Path | None,
    stocks_dir: str | None,
    as_json: bool,
    **wish: Any,
) -> None:
    """Make the print file, proof, loss map, repairs before and after, and job sheet of SOURCE."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show import show_made
    from firstsheet.jobs.make import make_print

    with working("Making the print file", quiet=as_json) as work:
        answer = make_print(
            source,
            wish,
            out=out,
            replace=replace,
            stocks_dir=stocks_dir,
            progress=work.progress,
            stop=work.stop,
            ledger=ledger,
        )
    tell(answer, as_json, show_made)


@cli.command()
@click.argument("source", type=click.Path(path_type=Path))
@wish_options
@common_options
def losses(source: Path, stocks_dir: str | None, as_json: bool, **wish: Any) -> None:
    """Say in words, place by place, what the paper truly takes of SOURCE."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show_losses import show_losses
    from firstsheet.jobs.losses import losses_by_region

    with working("Looking at the losses", quiet=as_json) as work:
        answer = losses_by_region(
            source, wish, stocks_dir=stocks_dir, progress=work.progress, stop=work.stop
        )
    tell(answer, as_json, show_losses)


@cli.command()
@click.argument("source", type=click.Path(path_type=Path))
@wish_options
@common_options
def compare(source: Path, stocks_dir: str | None, as_json: bool, **wish: Any) -> None:
    """Rank every stock and intent by what SOURCE loses; a stock need not be named."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show_losses import show_compare
    from firstsheet.jobs.losses import compare_papers

    if wish.pop("repair", None) is not None:
        raise click.UsageError("Repairs belong to one paper: leave --repair out of compare.")
    with working("Comparing papers", quiet=as_json) as work:
        answer = compare_papers(
            source, wish, stocks_dir=stocks_dir, progress=work.progress, stop=work.stop
        )
    tell(answer, as_json, show_compare)


@cli.command()
@click.argument("picture", type=click.Path(path_type=Path))
@click.option("--page", type=click.IntRange(min=1), help="Page of a file with several.")
@click.option("--distance", metavar="LENGTH", help="Viewing distance. Default 50cm.")
@_JSON
def sizes(picture: Path, page: int | None, distance: str | None, as_json: bool) -> None:
    """Say what PICTURE is worth at each standard size."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show import show_sizes
    from firstsheet.jobs.sizes import size_answer

    with working("Reading the picture", quiet=as_json) as work:
        answer = size_answer(
            picture, page=page, distance=distance, progress=work.progress, stop=work.stop
        )
    tell(answer, as_json, show_sizes)


@cli.command()
@click.argument("picture", type=click.Path(path_type=Path), required=False)
@click.option("--film", required=True, metavar="FORMAT", help="35mm, 6x7, 4x5in or 56x70mm.")
@click.option("--width", metavar="LENGTH", help="Wished width on paper.")
@click.option("--height", metavar="LENGTH", help="Wished height on paper.")
@click.option("--long-side", metavar="LENGTH", help="Wished longer side on paper.")
@click.option("--ppi", metavar="N", default="300", show_default=True, help="Wished print ppi.")
@click.option("--page", type=click.IntRange(min=1), help="Page of a file with several.")
@_JSON
def rescan(
    picture: Path | None,
    film: str,
    width: str | None,
    height: str | None,
    long_side: str | None,
    ppi: str,
    page: int | None,
    as_json: bool,
) -> None:
    """Say how finely a film must be scanned for a print, and whether PICTURE is enough."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show import show_rescan
    from firstsheet.jobs.sizes import rescan_answer

    with working("Reading the picture", quiet=as_json) as work:
        answer = rescan_answer(
            picture,
            film=film,
            width=width,
            height=height,
            long_side=long_side,
            ppi=ppi,
            page=page,
            progress=work.progress,
            stop=work.stop,
        )
    tell(answer, as_json, show_rescan)


@cli.group()
def stock() -> None:
    """Papers on printers: add, list, show, remove."""


@stock.command("add")
@click.argument("profile", type=click.Path(path_type=Path))
@click.option("--name", required=True, help="Short name for tickets, such as chalk-matte.")
@click.option("--title", help="Name as people say it.")
@click.option(
    "--surface",
    required=True,
    type=click.Choice(["gloss", "baryta", "satin", "matte", "canvas", "newsprint", "other"]),
    help="What the paper's surface is; it decides the sharpening.",
)
@click.option(
    "--native-ppi",
    type=click.Choice(["300", "360", "600", "720"]),
    default="360",
    help="Raster the printer works in. Default 360.",
)
@click.option(
    "--margins", metavar="LENGTHS", help="Unprintable: one length, or top right bottom left."
)
@click.option("--media-setting", default="", help="What to choose in the print dialog.")
@click.option("--notes", default="", help="What to remember about this paper.")
@replace_option
@_STOCKS
@_JSON
def stock_add(profile: Path, as_json: bool, **words: Any) -> None:
    """Inspect PROFILE and keep it as a stock."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show import show_stock
    from firstsheet.jobs.stocks import add

    with working("Measuring the profile", quiet=as_json):
        answer = add(profile, **words)
    tell(answer, as_json, show_stock)


@stock.command("list")
@_STOCKS
@_JSON
def stock_list(stocks_dir: Path | None, as_json: bool) -> None:
    """List the stocks known here."""
    from firstsheet.cli.show import show_stocks
    from firstsheet.jobs.stocks import list_all

    tell(list_all(stocks_dir), as_json, show_stocks)


@stock.command("show")
@click.argument("name")
@_STOCKS
@_JSON
def stock_show(name: str, stocks_dir: Path | None, as_json: bool) -> None:
    """Show one stock and what was measured of its profile."""
    from firstsheet.cli.show import show_stock
    from firstsheet.jobs.stocks import show

    tell(show(name, stocks_dir), as_json, show_stock)


@stock.command("remove")
@click.argument("name")
@_STOCKS
@_JSON
def stock_remove(name: str, stocks_dir: Path | None, as_json: bool) -> None:
    """Forget one of your own stocks; the profile you added it from is not touched."""
    from firstsheet.cli.show import show_stocks
    from firstsheet.jobs.stocks import remove

    tell(remove(name, stocks_dir), as_json, show_stocks)


@cli.command()
@click.argument("places", nargs=-1, type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port. Default a free one.")
@click.option("--no-browser", is_flag=True, help="Only print the address.")
@_STOCKS
def bench(places: tuple[Path, ...], port: int, no_browser: bool, stocks_dir: Path | None) -> None:
    """Open the bench in the browser; it may open pictures and tickets in PLACES.

    PLACES are folders, pictures or tickets; without any, the current folder.
    """
    from firstsheet.web.serve import serve

    serve(
        places or (Path.cwd(),),
        port=port,
        browser=not no_browser,
        stocks_dir=stocks_dir,
        tell=lambda address: click.echo(f"The bench is at {address}\nStop it with Ctrl-C."),
    )
    click.echo("The bench is put away; every ticket is kept.")
    sys.stdout.flush()
    os._exit(0)  # threads that still measure hold nothing that must be ended


cli.add_command(proof)
cli.add_command(ladder)
cli.add_command(prints)
cli.add_command(ledger)
cli.add_command(edition)
cli.add_command(again)


def run() -> None:
    """Entry point of the `firstsheet` command."""
    # one run makes many objects and drops few: collecting rarely saves a tenth of its time
    gc.set_threshold(100_000, 50, 100)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # names that are no text are shown escaped
            stream.reconfigure(errors="backslashreplace")
    cli()
