"""Plans a print and writes the plan or the ticket where asked."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.answers import PlanAnswer
from firstsheet.jobs.planning.begin import wish_on_table

__all__ = ["plan_print"]


def plan_print(
    source: Path,
    options: Mapping[str, Any],
    *,
    stocks_dir: str | Path | None,
    out: Path | None,
    ticket_out: Path | None,
    progress: Progress,
    stop: StopCheck,
) -> PlanAnswer:
    """Decide everything; write the plan to `out` and the wish to `ticket_out` if given."""
    from firstsheet.files.writing.whole import write_whole
    from firstsheet.jobs.text import pretty_json
    from firstsheet.store.tickets import ticket_to_toml

    with wish_on_table(source, options, stocks_dir=stocks_dir, progress=progress, stop=stop) as (
        wish,
        _,
        prepared,
    ):
        original = Path(wish.ticket.picture)
        if out is not None:
            write_whole(out, pretty_json(prepared.plan).encode("utf-8"), original=original)
        if ticket_out is not None:
            absolute = wish.ticket.model_copy(update={"picture": str(original.resolve())})
            text = ticket_to_toml(absolute)
            write_whole(ticket_out, text.encode("utf-8"), original=original)
    return PlanAnswer(plan=prepared.plan, written=str(out) if out is not None else "")
