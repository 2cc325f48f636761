"""Commands that show a print before it is made: proof, and the ladder to choose sharpening by.

No arithmetic here; each calls one job and shows its answer.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from firstsheet.cli.prints import ledger_option
from firstsheet.cli.tell import tell
from firstsheet.cli.wish import common_options, out_option, replace_option, wish_options

__all__ = ["ladder", "proof"]


@click.command()
@click.argument("source", type=click.Path(path_type=Path))
@wish_options
@click.option(
    "--seen",
    is_flag=True,
    help="Also show it as seen from the distance, and one detail close up with its ink spread.",
)
@out_option
@replace_option
@common_options
def proof(
    source: Path,
    out: Path | None,
    replace: bool,
    seen: bool,
    stocks_dir: str | None,
    as_json: bool,
    **wish: Any,
) -> None:
    """Show how SOURCE will look on the paper, what the paper takes away, what repairs give back."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show_plan import show_proof
    from firstsheet.jobs.proof import proof_print

    with working("Proofing", quiet=as_json) as work:
        answer = proof_print(
            source,
            wish,
            out=out,
            replace=replace,
            seen=seen,
            stocks_dir=stocks_dir,
            progress=work.progress,
            stop=work.stop,
        )
    tell(answer, as_json, show_proof)


@click.command()
@click.argument("source", type=click.Path(path_type=Path))
@wish_options
@click.option(
    "--on",
    default="A5",
    show_default=True,
    metavar="SHEET",
    help="Sheet the ladder is printed on; --sheet is that of the print.",
)
@click.option(
    "--at",
    metavar="LENGTH,LENGTH",
    help="Middle of the detail from the picture's left and top: 120mm,85mm. Default: where "
    "edges are.",
)
@out_option
@replace_option
@ledger_option
@common_options
def ladder(
    source: Path,
    on: str,
    at: str | None,
    out: Path | None,
    replace: bool,
    ledger: Path | None,
    stocks_dir: str | None,
    as_json: bool,
    **wish: Any,
) -> None:
    """Make a small sheet with one detail of SOURCE at five strengths of sharpening."""
    from firstsheet.cli.progress import working
    from firstsheet.cli.show_plan import show_ladder
    from firstsheet.jobs.ladder import make_ladder

    with working("Making the ladder", quiet=as_json) as work:
        answer = make_ladder(
            source,
            wish,
            out=out,
            on=on,
            at=at,
            replace=replace,
            stocks_dir=stocks_dir,
            progress=work.progress,
            stop=work.stop,
            ledger=ledger,
        )
    tell(answer, as_json, show_ladder)
