"""A wish on the table: opened, planned, and held to what was agreed on before.

The one beginning that `plan`, `proof`, `make` and `losses` share.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from pathlib import Path
from typing import Any

from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.planning.colour import colour_mode
from firstsheet.jobs.planning.open_picture import OpenPicture, Prepared
from firstsheet.jobs.planning.ticket_source import Stamp, Wish, check_agreed, wish_from
from firstsheet.pixels.native import prepare_print

__all__ = ["wish_on_table"]


@contextmanager
def wish_on_table(
    source: Path,
    options: Mapping[str, Any],
    *,
    stocks_dir: str | Path | None,
    progress: Progress,
    stop: StopCheck,
    reuse: OpenPicture | None = None,
) -> Iterator[tuple[Wish, OpenPicture, Prepared]]:
    """Open and plan a wish; the picture is let go at the end.

    Parameters
    ----------
    reuse
        A table on which the wish's picture lies already, opened as the wish says. It is used,
        and not let go, where the file is still the one that was opened.

    Raises
    ------
    FirstsheetError
        As `wish_from`, `OpenPicture.open`, `OpenPicture.prepare` and `check_agreed`.
    """
    wish, chosen = _wish_and_repairs(source, options)
    folder = Path(stocks_dir) if stocks_dir else None
    same = reuse is not None and None is not reuse.stamp == Stamp.of(wish.ticket.picture)
    opening = (
        nullcontext(reuse)
        if same and reuse is not None
        else OpenPicture.open(wish.ticket, progress=progress, stop=stop)
    )
    with opening as table:
        prepare_print(
            table.opened.source.dtype,
            bits=wish.ticket.output.bits,
            converted=colour_mode(wish.ticket, table.opened.facts) == "paper",
            progress=progress,
        )
        if chosen is not None:
            wish = _with_repairs(wish, chosen, table, folder, progress, stop)
        prepared = table.prepare(wish.ticket, stocks_dir=folder, progress=progress, stop=stop)
        check_agreed(wish.agreed, prepared.plan)
        yield wish, table, prepared


def _wish_and_repairs(source: Path, options: Mapping[str, Any]) -> tuple[Wish, str | None]:
    """The wish, and what `--repair` says; a plan takes no options, this one neither."""
    chosen = options.get("repair")
    if source.suffix.lower() == ".json":
        return wish_from(source, options), chosen
    rest = {key: value for key, value in options.items() if key != "repair"}
    return wish_from(source, rest), chosen


def _with_repairs(
    wish: Wish,
    chosen: str,
    table: OpenPicture,
    folder: Path | None,
    progress: Progress,
    stop: StopCheck,
) -> Wish:
    """The wish with the repairs of these numbers, out of its own analysis."""
    from firstsheet.jobs.planning.repairs import chosen_repairs

    proposals: tuple[RepairFacts, ...] = ()
    if chosen.strip() != "none":
        proposals = table.proposals(wish.ticket, stocks_dir=folder, progress=progress, stop=stop)
    repairs = chosen_repairs(chosen, proposals)
    return replace(wish, ticket=wish.ticket.model_copy(update={"repairs": repairs}))
