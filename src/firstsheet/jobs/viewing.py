"""The predicted look: the print's own sharpened pixels with ink spread, and through the eye.

Takes a prepared plan; writes seen.png (the whole print from its stated distance) and
close-up.png (one detail at the print's own raster, without and with sharpening, ink spread
only). Theory: docs/theory/acutance.md. Tests: tests/jobs/test_ladder.py,
tests/web/test_bench_seen.py.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM
from firstsheet.engine.sharpness.viewing_filter import detail_place, seen_light
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.engine.units import MM_PER_INCH, distance_words
from firstsheet.jobs.planning.colour_path import ColourPath
from firstsheet.jobs.viewing_light import RowsInMemory, ink_words, light_of_codes, print_light
from firstsheet.pixels.team import worker_count

if TYPE_CHECKING:
    from firstsheet.jobs.planning.open_picture import Prepared
    from firstsheet.pixels.window import Windows

__all__ = [
    "Box",
    "box_with_edges",
    "close_up",
    "print_windows",
    "seen_picture",
    "write_seen_files",
]

Floats = NDArray[np.float64]
Box = tuple[int, int, int, int]  # left, top, width, height, print pixels

SEEN_FILE, CLOSE_UP_FILE = "seen.png", "close-up.png"
_CLOSE_UP_MM = 45.0
_GAP_PX = 24


def print_windows(prepared: Prepared, sharpen: Any) -> Windows:
    """Rectangles of the print's own pixels, with a sharpening of choice (None: without)."""
    from firstsheet.jobs.planning.render_job import render_job
    from firstsheet.pixels.window import Windows

    job = replace(render_job(prepared), sharpen=sharpen)
    return Windows(prepared.opened.source, job, prepared.source_colour, prepared.link)


def box_with_edges(
    prepared: Prepared, width_mm: float, height_mm: float, at_mm: tuple[float, float] | None = None
) -> Box:
    """A box of the print of a size on paper: about a place, or where edges are."""
    plan = prepared.plan
    size = plan.size
    width = min(size.width_px, round(width_mm / MM_PER_INCH * size.ppi))
    height = min(size.height_px, round(height_mm / MM_PER_INCH * size.ppi))
    if at_mm is None:
        small = prepared.small
        scale = size.width_px / small.shape[1]
        lab = prepared.chain.wanted_lab(small)
        left, top = detail_place(
            np.asarray(lab)[..., 0],
            width_px=max(4, round(width / scale)),
            height_px=max(4, round(height / scale)),
        )
        x, y = round(left * scale), round(top * scale)
    else:
        x = round(at_mm[0] / MM_PER_INCH * size.ppi - width / 2)
        y = round(at_mm[1] / MM_PER_INCH * size.ppi - height / 2)
    x = min(max(0, x), size.width_px - width)
    y = min(max(0, y), size.height_px - height)
    return x, y, width, height


def seen_picture(prepared: Prepared, progress: Progress, stop: StopCheck) -> Floats:
    """Lab of the whole print as seen from its stated distance, at a raster that suffices."""
    light = print_light(
        prepared,
        ColourPath(prepared.chain),
        RowsInMemory,
        progress=progress,
        stop=stop,
        threads=worker_count(),
    )
    progress("Looking from where you stand", 0.97)
    lab = np.empty((light.height_px, light.width_px, 3))
    for top, bottom in light.bands():
        stop()
        lab[top:bottom] = xyz_to_lab(np.maximum(light.band(top, bottom, eye=True), 0.0))
    return lab


def close_up(prepared: Prepared) -> Floats:
    """Lab of one detail with ink spread: not sharpened at the left, as planned at the right."""
    plan = prepared.plan
    box = box_with_edges(prepared, _CLOSE_UP_MM, _CLOSE_UP_MM)
    way = ColourPath(prepared.chain)
    halves = []
    for sharpen in (None, plan.sharpen):
        codes = print_windows(prepared, sharpen).make(*box)
        light = seen_light(
            light_of_codes(way, plan.colour.mode, codes),
            pitch_mm=MM_PER_INCH / plan.size.ppi,
            spread_mm=INK_SPREAD_MM[plan.stock.surface],
        )
        halves.append(np.asarray(xyz_to_lab(np.maximum(light, 0.0))))
    gap = np.zeros((box[3], _GAP_PX, 3))
    gap[..., 0] = 100.0
    return np.concatenate([halves[0], gap, halves[1]], axis=1)


def write_seen_files(
    folder: Path, prepared: Prepared, progress: Progress, stop: StopCheck
) -> tuple[str, ...]:
    """Write seen.png and close-up.png into a folder; their names come back."""
    from firstsheet.cms.build import space_profile
    from firstsheet.files.writing.png import write_png16
    from firstsheet.pixels.proof import proof_on_sheet, show_printed

    plan = prepared.plan
    wish = plan.ticket.output
    look = plan.look
    away = distance_words(plan.place.distance_mm)
    assumed = ink_words(plan)
    proof = show_printed(
        seen_picture(prepared, progress, stop),
        prepared.chain,
        space=wish.proof_space,
        white=wish.proof_white,
        stop=stop,
    )
    said = f" {look.sentence}" if look is not None else ""
    captions = (
        f"{Path(plan.picture.path).stem} on {plan.stock.title}, what the eye takes in from {away}.",
        f"Look at it where its details can be told apart; {assumed}.{said}",
    )
    sheet = proof_on_sheet(proof, sheet=plan.sheet, size=plan.size, caption=captions)
    text = {"Software": plan.made_by, "Source": f"plan {plan.digest}"}
    profile = space_profile(wish.proof_space)
    write_png16(
        folder / SEEN_FILE, sheet, profile, text={**text, "Description": " ".join(captions)}
    )
    stop()
    near = show_printed(
        close_up(prepared), prepared.chain, space=wish.proof_space, white=wish.proof_white
    )
    write_png16(
        folder / CLOSE_UP_FILE,
        near.rgb,
        profile,
        text={
            **text,
            "Description": f"One print pixel for one of this picture's, {assumed}; left without "
            "output sharpening, right as planned",
        },
    )
    return (CLOSE_UP_FILE, SEEN_FILE)
