"""Soft proof and loss map of one print, through the very chain of the print file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.bands import Progress, StopCheck
from firstsheet.jobs.answers import ProofAnswer
from firstsheet.jobs.source import check_agreed, wish_from
from firstsheet.jobs.table import Prepared, Table

__all__ = ["ProofFiles", "proof_print", "write_proof_files"]

_NEEDED_BYTES = 40_000_000


@dataclass(frozen=True, eq=False)
class ProofFiles:
    """What was written, and the small picture the job sheet shows."""

    names: tuple[str, ...]
    caption: str
    out_of_screen_percent: float
    job_sheet_srgb: NDArray[np.uint8]


def proof_print(
    source: Path,
    options: Mapping[str, Any],
    *,
    out: Path | None,
    replace: bool,
    stocks_dir: str | Path | None,
    progress: Progress,
    stop: StopCheck,
) -> ProofAnswer:
    """Plan, and write proof and loss map without the print file."""
    from firstsheet.files.folder import whole_folder

    wish = wish_from(source, options)
    with Table.open(wish.ticket, progress=progress, stop=stop) as table:
        prepared = table.prepare(
            wish.ticket,
            stocks_dir=Path(stocks_dir) if stocks_dir else None,
            progress=progress,
            stop=stop,
        )
        check_agreed(wish.agreed, prepared.plan)
        target = out or Path(wish.ticket.picture).parent / f"{wish.name}-proof"
        with whole_folder(
            target,
            needed_bytes=_NEEDED_BYTES,
            replace=replace,
            original=Path(wish.ticket.picture),
        ) as staging:
            progress("Proof and loss map", 0.9)
            made = write_proof_files(staging, prepared, stop)
    return ProofAnswer(
        folder=str(target),
        files=made.names,
        caption=made.caption,
        loss=prepared.plan.loss,
        out_of_screen_percent=made.out_of_screen_percent,
    )


def write_proof_files(folder: Path, prepared: Prepared, stop: StopCheck) -> ProofFiles:
    """Write proof.png and loss-map.png into a folder."""
    raise NotImplementedError
