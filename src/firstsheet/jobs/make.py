"""Makes the folder of one print: print file, proof, loss map, job sheet, plan.

Everything appears whole under its final name, or nothing does. The original is read, never
written; if it changes on the way, the job stops.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import ChangedOriginalError, PlanStopError, StoppedError
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.streams import Progress, RowSink, StopCheck
from firstsheet.jobs.answers import MadeAnswer
from firstsheet.jobs.planning.begin import wish_on_table
from firstsheet.jobs.planning.open_picture import OpenPicture, Prepared
from firstsheet.jobs.planning.render_job import bare_paper, render_job
from firstsheet.jobs.planning.ticket_source import Stamp
from firstsheet.pixels.team import worker_count

if TYPE_CHECKING:
    from firstsheet.files.writing.tiff import Photometric, TiffSink
    from firstsheet.jobs.proof import ProofFiles

__all__ = [
    "make_print",
    "print_sink",
    "render_sheet",
    "still_the_same",
    "stop_if_planned",
    "write_print_file",
]

_BY_CHANNELS: Mapping[int, Photometric] = {1: "minisblack", 3: "rgb", 4: "separated"}
_KEPT: Mapping[str, Photometric] = {
    "grey": "minisblack",
    "rgb": "rgb",
    "cmyk": "separated",
    "lab": "cielab",
}
_SMALL_FILES_BYTES = 40_000_000  # proof, loss map, job sheet and plan together, generously


def make_print(
    source: Path,
    options: Mapping[str, Any],
    *,
    out: Path | None,
    replace: bool,
    stocks_dir: str | Path | None,
    progress: Progress,
    stop: StopCheck,
    reuse: OpenPicture | None = None,
    ledger: Path | None = None,
) -> MadeAnswer:
    """Plan, make, and keep an entry in the ledger.

    Parameters
    ----------
    ledger
        The ledger's file; None takes the person's own.
    reuse
        As `jobs.planning.begin.wish_on_table`.

    Raises
    ------
    PlanStopError
        If the plan holds a finding of weight stop.
    ChangedOriginalError
        If the picture changed between plan and output.
    OutputError
        If the folder could not be written whole.
    """
    from firstsheet.files.writing.folder import whole_folder
    from firstsheet.jobs.ledger.remember import JustMade, keep_in_ledger

    begun_s = time.monotonic()
    with wish_on_table(
        source, options, stocks_dir=stocks_dir, progress=progress, stop=stop, reuse=reuse
    ) as (wish, _, prepared):
        plan = prepared.plan
        stop_if_planned(plan)
        target = out or Path(wish.ticket.picture).parent / wish.name
        needed = plan.output.print_file_bytes + _SMALL_FILES_BYTES
        with whole_folder(
            target,
            needed_bytes=needed,
            replace=replace,
            original=Path(wish.ticket.picture),
        ) as staging:
            written = _write_all(staging, prepared, progress, stop)
            still_the_same(prepared)
            names = tuple(sorted(p.name for p in staging.iterdir() if not p.name.startswith(".")))
            size = (staging / plan.output.print_file).stat().st_size
        seconds = round(time.monotonic() - begun_s, 2)
        kept = keep_in_ledger(
            JustMade(
                folder=target,
                kind="print",
                plan=plan,
                profile=prepared.chain.paper.data,
                files=names,
                print_file=plan.output.print_file,
                seconds=seconds,
                picture_srgb=written.proofed.job_sheet_srgb,
                sample=written.sample,
                known_sha256={plan.output.print_file: written.print_sha256},
            ),
            ledger,
        )
    return MadeAnswer(
        folder=str(target),
        files=names,
        verdict=plan.verdict,
        findings=(*plan.findings, *kept.findings),
        plan_digest=plan.digest,
        print_file_bytes=size,
        seconds=seconds,
        ledger_number=kept.number,
    )


def stop_if_planned(plan: Plan) -> None:
    """Refuse to make what the plan says must not be made."""
    stops = [finding for finding in plan.findings if finding.weight == "stop"]
    if stops:
        first = stops[0]
        others = f" ({len(stops) - 1} more)" if len(stops) > 1 else ""
        ways = " Or: ".join(one.text for one in first.choices)
        raise PlanStopError(first.found + others, first.consequence, ways, first.code)


def still_the_same(prepared: Prepared) -> None:
    """Stop where the original changed while it was read."""
    from firstsheet.files.hashing import unchanged

    picture = prepared.plan.picture
    if Stamp.of(picture.path) != prepared.stamp and not unchanged(picture.path, picture.sha256):
        raise ChangedOriginalError(
            f"{prepared.plan.picture.path} changed while it was being printed to the file.",
            "Nothing was written under the final name, for the halves would not match.",
            "Run it again when the picture is at rest.",
            "changed-original",
        )


@dataclass(frozen=True, eq=False)
class _Written:
    """What the ledger keeps of the files in a folder."""

    proofed: ProofFiles
    sample: NDArray[np.uint16]  # codes of the print on a grid
    print_sha256: str


def _write_all(folder: Path, prepared: Prepared, progress: Progress, stop: StopCheck) -> _Written:
    """The print file, and beside it everything that is small; where one fails, both stop."""
    from firstsheet.files.hashing import sha256_of

    failed = threading.Event()

    def stop_both() -> None:
        stop()
        if failed.is_set():
            raise StoppedError(
                "The other files of the folder could not be written.", "Nothing was kept.", ""
            )

    with ThreadPoolExecutor(1, thread_name_prefix="proofs") as beside:
        small = beside.submit(_write_small_files, folder, prepared, stop_both)
        small.add_done_callback(lambda done: failed.set() if done.exception() else None)
        try:
            path = folder / prepared.plan.output.print_file
            sample = write_print_file(path, prepared, progress, stop_both)
            print_sha256 = sha256_of(path, stop=stop_both)
        except BaseException:
            failed.set()
            if small.done() and small.exception() is not None:
                small.result()  # it failed first, and says why
            raise
        progress("Proof, loss map and job sheet", 0.95)
        return _Written(small.result(), sample, print_sha256)


def _write_small_files(folder: Path, prepared: Prepared, stop: StopCheck) -> ProofFiles:
    from firstsheet.files.jobsheet.pages import write_job_sheet
    from firstsheet.jobs.proof import write_proof_files
    from firstsheet.jobs.text import pretty_json

    plan = prepared.plan
    proofed = write_proof_files(folder, prepared, stop)
    write_job_sheet(
        folder / plan.output.job_sheet_file,
        plan=plan,
        proof_srgb=proofed.job_sheet_srgb,
        outlines=prepared.regions.map.outlines() if prepared.regions else (),
        swatches=proofed.swatches,
    )
    (folder / plan.output.plan_file).write_text(pretty_json(plan), encoding="utf-8")
    return proofed


def print_sink(
    path: Path, prepared: Prepared, *, width_px: int, height_px: int, big: bool
) -> TiffSink:
    """A TIFF for rows of a prepared print: its bits, profile, resolution and metadata."""
    from firstsheet.files.writing.metadata import Carried
    from firstsheet.files.writing.tiff import open_tiff_sink

    plan = prepared.plan
    channels = len(bare_paper(plan))
    paper = plan.colour.mode == "paper"
    metadata = prepared.opened.metadata
    return open_tiff_sink(
        path,
        width_px=width_px,
        height_px=height_px,
        channels=channels,
        bits=plan.output.bits,
        ppi=plan.size.ppi,
        profile=prepared.chain.paper.data if paper else prepared.opened.profile_bytes,
        compression=plan.output.compression,
        big=big,
        photometric=_BY_CHANNELS[channels] if paper else _KEPT[plan.picture.colour_model],
        description=f"plan {plan.digest} of {plan.picture.sha256}",
        metadata=Carried(
            exif=metadata.exif or b"", xmp=metadata.xmp or b"", iptc=metadata.iptc or b""
        ),
    )


def write_print_file(
    path: Path, prepared: Prepared, progress: Progress, stop: StopCheck
) -> NDArray[np.uint16]:
    """Render the sheet into a TIFF; gives its codes on the ledger's grid."""
    job = render_job(prepared)
    with print_sink(
        path,
        prepared,
        width_px=job.sheet_width_px,
        height_px=job.sheet_height_px,
        big=prepared.plan.output.big_tiff,
    ) as sink:
        return render_sheet(prepared, sink, progress, stop)


def render_sheet(
    prepared: Prepared, sink: RowSink | None, progress: Progress, stop: StopCheck
) -> NDArray[np.uint16]:
    """Render the sheet into a sink, or only for its codes on the ledger's grid."""
    from firstsheet.pixels.render import render
    from firstsheet.pixels.sample import SamplingSink

    job = render_job(prepared)
    sampling = SamplingSink(
        sink, job.picture_left_px, job.picture_top_px, job.width_px, job.height_px
    )
    render(
        prepared.opened.source,
        job,
        prepared.source_colour,
        prepared.link,
        sampling,
        progress=progress,
        stop=stop,
        threads=worker_count(),
    )
    return sampling.codes()
