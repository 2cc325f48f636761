"""Soft proof and loss map of one print, through the very chain of the print file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import PlanStopError
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.engine.units import size_words
from firstsheet.jobs.answers import ProofAnswer
from firstsheet.jobs.planning.begin import wish_on_table
from firstsheet.jobs.planning.open_picture import Prepared
from firstsheet.jobs.planning.threads import in_bands
from firstsheet.jobs.repair_views import repair_swatches, write_repairs_file

if TYPE_CHECKING:
    from firstsheet.files.jobsheet.repairs import Swatches

__all__ = ["ProofFiles", "proof_print", "write_proof_files"]

_NEEDED_BYTES = 40_000_000
_THUMBNAIL_PX = 750


@dataclass(frozen=True, eq=False)
class ProofFiles:
    """What was written, and the small picture the job sheet shows."""

    names: tuple[str, ...]
    caption: str
    out_of_screen_percent: float
    job_sheet_srgb: NDArray[np.uint8]
    swatches: tuple[Swatches, ...]  # of the repairs, for the job sheet


def proof_print(
    source: Path,
    options: Mapping[str, Any],
    *,
    out: Path | None,
    replace: bool,
    stocks_dir: str | Path | None,
    progress: Progress,
    stop: StopCheck,
    seen: bool = False,
) -> ProofAnswer:
    """Plan, and write proof and loss map without the print file; `seen` adds its look."""
    from firstsheet.files.writing.folder import whole_folder

    with wish_on_table(source, options, stocks_dir=stocks_dir, progress=progress, stop=stop) as (
        wish,
        _,
        prepared,
    ):
        target = out or Path(wish.ticket.picture).parent / f"{wish.name}-proof"
        with whole_folder(
            target,
            needed_bytes=_NEEDED_BYTES,
            replace=replace,
            original=Path(wish.ticket.picture),
        ) as staging:
            progress("Proof and loss map", 0.9)
            made = write_proof_files(staging, prepared, stop)
            more: tuple[str, ...] = ()
            if seen:
                _refuse_off_sheet(prepared)
                from firstsheet.jobs.viewing import write_seen_files

                more = write_seen_files(staging, prepared, progress, stop)
    return ProofAnswer(
        folder=str(target),
        files=tuple(sorted((*made.names, *more))),
        caption=made.caption,
        loss=prepared.plan.loss,
        out_of_screen_percent=made.out_of_screen_percent,
        repairs=prepared.plan.repairs,
    )


def _refuse_off_sheet(prepared: Prepared) -> None:
    """The predicted look is made of the sheet's own pixels: the picture must lie on it."""
    off = [one for one in prepared.plan.findings if one.code == "picture-off-sheet"]
    if off:
        ways = " Or: ".join(one.text for one in off[0].choices)
        raise PlanStopError(off[0].found, "Its look cannot be predicted.", ways, off[0].code)


def write_proof_files(folder: Path, prepared: Prepared, stop: StopCheck) -> ProofFiles:
    """Write proof.png into a folder, and what belongs to it.

    That is loss-map.png where a paper takes something, and repairs.png where there are repairs.
    The proof shows the small picture after the very chain of the print file; its white is the
    paper's or the screen's, as the ticket says.
    """
    from firstsheet.cms.build import space_profile
    from firstsheet.files.writing.png import write_png8, write_png16
    from firstsheet.pixels.lossmap import loss_picture
    from firstsheet.pixels.proof import proof_caption, proof_on_sheet, show_printed

    plan, chain = prepared.plan, prepared.chain
    wish = plan.ticket.output
    printed = _printed(prepared, stop)
    proof = show_printed(printed, chain, space=wish.proof_space, white=wish.proof_white, stop=stop)
    caption = proof_caption(chain, white=wish.proof_white)
    title = _title(plan)
    sheet = proof_on_sheet(proof, sheet=plan.sheet, size=plan.size, caption=(title, caption))
    text = {
        "Title": title,
        "Description": caption,
        "Software": plan.made_by,
        "Source": f"SHA-256 {plan.picture.sha256}, plan {plan.digest}",
    }
    write_png16(folder / plan.output.proof_file, sheet, space_profile(wish.proof_space), text=text)
    names = [plan.output.proof_file]
    stop()
    if prepared.losses is not None:
        facts = prepared.losses.facts
        floor = facts.floor_de00
        shown = loss_picture(
            np.where(prepared.losses.de00 < floor, 0.0, prepared.losses.de00),
            floor_de00=floor,
            bands_percent=facts.bands_percent,
            title=title,
            outlines=prepared.regions.map.outlines_of_lost() if prepared.regions else (),
        )
        write_png8(
            folder / plan.output.loss_file,
            shown,
            space_profile("srgb"),
            text={**text, "Description": "CIEDE2000 between wanted and printed colour"},
        )
        names.append(plan.output.loss_file)
        stop()
        names += write_repairs_file(folder, prepared, stop)
    return ProofFiles(
        names=tuple(sorted(names)),
        caption=caption,
        out_of_screen_percent=round(proof.out_of_screen_percent, 3),
        job_sheet_srgb=_thumbnail(printed, prepared),
        swatches=repair_swatches(prepared),
    )


def _printed(prepared: Prepared, stop: StopCheck) -> NDArray[Any]:
    """What the paper shows, relative to its white. A file already in paper colour is shown so."""
    if prepared.losses is not None:
        return prepared.losses.printed_relative_lab
    return in_bands(prepared.chain.wanted_lab, prepared.small, stop)


def _thumbnail(printed: NDArray[Any], prepared: Prepared) -> NDArray[np.uint8]:
    """A small proof for the job sheet: block means, 8-bit sRGB, paper white as white."""
    from firstsheet.pixels.proof import show_printed

    step = max(1, max(printed.shape[:2]) // _THUMBNAIL_PX)
    height, width = (side // step * step for side in printed.shape[:2])
    blocks = printed[:height, :width].reshape(height // step, step, width // step, step, 3)
    small = show_printed(blocks.mean(axis=(1, 3)), prepared.chain, space="srgb", white="screen").rgb
    codes: NDArray[np.uint8] = (small // 257).astype(np.uint8)
    return codes


def _title(plan: Plan) -> str:
    size = size_words(plan.size.width_mm, plan.size.height_mm)
    return f"{Path(plan.picture.path).stem} on {plan.stock.title}, {size}"
