"""A sharpening ladder: one detail of the picture at five strengths side by side, to be printed.

Takes a wish; makes one folder, whole or not at all, with ladder.tif, in the print's own raster
and through the very colour chain of the print file, and ladder.txt, which says how to print it
and what to write into the ticket. The original is never touched.
Theory: docs/theory/acutance.md. Tests: tests/jobs/test_ladder.py.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records.plan import Plan, SharpenPlan
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sheets import parse_sheet
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.engine.units import MM_PER_INCH, distance_words, plain_number
from firstsheet.jobs.answers import LadderAnswer, LadderRung
from firstsheet.jobs.make import print_sink, still_the_same
from firstsheet.jobs.planning.begin import wish_on_table
from firstsheet.jobs.planning.render_job import bare_paper
from firstsheet.jobs.viewing import Box, box_with_edges, print_windows

if TYPE_CHECKING:
    from firstsheet.jobs.planning.open_picture import Prepared

__all__ = ["LADDER_FILE", "ladder_strengths", "make_ladder"]

LADDER_FILE, WORDS_FILE = "ladder.tif", "ladder.txt"
_SHARES = (0.0, 0.5, 1.0, 1.5, 2.0)  # of the plan's own strength
_HIGHEST = 3.0
_GAP_MM, _CAPTION_MM, _BESIDE_MM = 3.0, 14.0, 2.0
_LEAST_MM = 12.0  # a narrower rung shows nothing
_DOT_MM = 0.35
_INK: Mapping[int, tuple[float, ...]] = {1: (0.0,), 3: (0.0, 0.0, 0.0), 4: (0.0, 0.0, 0.0, 1.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """Where the rungs lie on the ladder's sheet, px."""

    width_px: int
    height_px: int
    lefts: tuple[int, ...]
    top: int
    rung_px: tuple[int, int]
    name: str


def ladder_strengths(plan: Plan) -> tuple[float, ...]:
    """Five strengths about the plan's own; about what fits, or normal, where it has none."""
    own = plan.sharpen.strength
    if own <= 0.0:
        fitted = plan.look.fitted if plan.look is not None else None
        own = fitted.strength if fitted is not None and fitted.strength > 0 else 1.0
    own = min(own, _HIGHEST / _SHARES[-1])
    return tuple(round(share * own, 3) for share in _SHARES)


def make_ladder(
    source: Path,
    options: Mapping[str, Any],
    *,
    out: Path | None,
    on: str,
    at: str | None,
    replace: bool,
    stocks_dir: str | Path | None,
    progress: Progress,
    stop: StopCheck,
    ledger: Path | None = None,
) -> LadderAnswer:
    """Plan, write the ladder, and keep it in the ledger as a test.

    Parameters
    ----------
    on
        Sheet it is printed on: a name or a size.
    at
        Middle of the detail, from the picture's left and top: `120mm,85mm`; None looks for edges.
    ledger
        The ledger's file; None takes the person's own.

    Raises
    ------
    TicketError
        If sheet or place cannot be read, or the sheet is too small.
    ChangedOriginalError, OutputError
        As `make_print`.
    """
    from firstsheet.files.writing.folder import whole_folder
    from firstsheet.jobs.ledger.remember import JustMade, keep_in_ledger

    begun_s = time.monotonic()
    with wish_on_table(source, options, stocks_dir=stocks_dir, progress=progress, stop=stop) as (
        wish,
        _,
        prepared,
    ):
        plan = prepared.plan
        layout = _layout(plan, on)
        mm = MM_PER_INCH / plan.size.ppi
        box = box_with_edges(
            prepared, layout.rung_px[0] * mm, layout.rung_px[1] * mm, _place(at, plan)
        )
        target = out or Path(wish.ticket.picture).parent / f"{wish.name}-ladder"
        channels = len(bare_paper(plan))
        needed = layout.width_px * layout.height_px * channels * plan.output.bits // 8
        with whole_folder(
            target,
            needed_bytes=needed + 1_000_000,
            replace=replace,
            original=Path(wish.ticket.picture),
        ) as staging:
            rungs = _write(staging / LADDER_FILE, prepared, layout, box, progress, stop)
            still_the_same(prepared)
            words = _words(plan, layout, rungs, box)
            (staging / WORDS_FILE).write_text("\n".join(words) + "\n", encoding="utf-8")
        files = (LADDER_FILE, WORDS_FILE)
        kept = keep_in_ledger(
            JustMade(
                folder=target,
                kind="test",
                plan=plan,
                profile=prepared.chain.paper.data,
                files=files,
                print_file=LADDER_FILE,
                seconds=round(time.monotonic() - begun_s, 2),
                sheet=(layout.name, layout.width_px * mm, layout.height_px * mm),
                picture_mm=(len(rungs) * box[2] * mm, box[3] * mm),
            ),
            ledger,
        )
    return LadderAnswer(
        folder=str(target),
        files=files,
        sheet=layout.name,
        rungs=rungs,
        left_mm=round(box[0] * mm, 1),
        top_mm=round(box[1] * mm, 1),
        width_mm=round(box[2] * mm, 1),
        height_mm=round(box[3] * mm, 1),
        words=words,
        ledger_number=kept.number,
        findings=kept.findings,
    )


def _layout(plan: Plan, on: str) -> _Layout:
    sheet = parse_sheet(on)
    width_mm = max(sheet.width_mm, sheet.height_mm)
    height_mm = min(sheet.width_mm, sheet.height_mm)
    margins = plan.stock.margins
    clear_mm = max(margins.top, margins.right, margins.bottom, margins.left) + _BESIDE_MM
    count = len(_SHARES)
    wide_mm = (width_mm - 2 * clear_mm - (count - 1) * _GAP_MM) / count
    tall_mm = min(height_mm - 2 * clear_mm - _CAPTION_MM, 1.5 * wide_mm)
    if min(wide_mm, tall_mm) < _LEAST_MM:
        raise TicketError(
            f"On {sheet.name} each of the five pictures would be {wide_mm:.0f} mm wide and "
            f"{tall_mm:.0f} mm tall.",
            "That is too little to judge sharpness by.",
            "Use a larger sheet for the ladder, such as A5 or A4.",
            "ladder-sheet-too-small",
            "--on A4",
        )
    per_mm = plan.size.ppi / MM_PER_INCH
    rung = (
        min(int(wide_mm * per_mm), plan.size.width_px),
        min(int(tall_mm * per_mm), plan.size.height_px),
    )
    step = int((wide_mm + _GAP_MM) * per_mm)
    return _Layout(
        width_px=round(width_mm * per_mm),
        height_px=round(height_mm * per_mm),
        lefts=tuple(math.ceil(clear_mm * per_mm) + index * step for index in range(count)),
        top=math.ceil(clear_mm * per_mm),
        rung_px=rung,
        name=sheet.name,
    )


def _place(at: str | None, plan: Plan) -> tuple[float, float] | None:
    """A place on the picture, mm from its left and top."""
    if at is None:
        return None
    from firstsheet.store.values import BadValue, length_value

    read = length_value(zero=True)
    parts = at.replace("×", ",").split(",")
    try:
        x_mm, y_mm = (float(read(part.strip())) for part in parts)
    except (BadValue, ValueError) as error:
        raise TicketError(
            f"“{at}” is not a place on the picture.",
            "The detail for the ladder cannot be found.",
            "Write two lengths, from the picture's left and top.",
            "ladder-place",
            "--at 120mm,85mm",
        ) from error
    if x_mm > plan.size.width_mm or y_mm > plan.size.height_mm:
        raise TicketError(
            f"The place {at} lies outside the picture of "
            f"{plan.size.width_mm:.0f} × {plan.size.height_mm:.0f} mm.",
            "There is nothing to print there.",
            "Name a place inside it.",
            "ladder-place",
        )
    return x_mm, y_mm


def _sharpening(plan: Plan, strength: float) -> SharpenPlan:
    return sharpen_plan(
        wish=strength,
        radius_mm=plan.sharpen.radius_mm,
        surface=plan.stock.surface,
        distance_mm=plan.place.distance_mm,
        ppi=plan.size.ppi,
    )


def _write(
    path: Path, prepared: Prepared, layout: _Layout, box: Box, progress: Progress, stop: StopCheck
) -> tuple[LadderRung, ...]:
    """Draw the five rungs with their captions and write the sheet."""
    plan = prepared.plan
    white = bare_paper(plan)
    kind = np.uint8 if plan.output.bits == 8 else np.uint16
    full = float(np.iinfo(kind).max)
    bare = np.rint(np.array(white) * full).astype(kind)
    sheet: NDArray[Any] = np.empty((layout.height_px, layout.width_px, len(white)), kind)
    sheet[:] = bare
    rungs = []
    for index, strength in enumerate(ladder_strengths(plan)):
        progress(f"Rung {index + 1} of {len(_SHARES)}", index / len(_SHARES))
        stop()
        taken = math.isclose(strength, plan.sharpen.strength, abs_tol=5e-4)
        sharp = plan.sharpen if taken else _sharpening(plan, strength)
        codes = print_windows(prepared, sharp if strength else None).make(*box)
        left = layout.lefts[index]
        sheet[layout.top : layout.top + box[3], left : left + box[2]] = codes
        rungs.append(LadderRung(
            strength=strength, radius_mm=sharp.radius_mm if strength else 0.0, taken=taken
        ))  # fmt: skip
    _captions(sheet, plan, layout, box, rungs, full)
    with print_sink(
        path, prepared, width_px=layout.width_px, height_px=layout.height_px, big=False
    ) as sink:
        sink.write(0, sheet)
    return tuple(rungs)


def _captions(
    sheet: NDArray[Any],
    plan: Plan,
    layout: _Layout,
    box: Box,
    rungs: list[LadderRung],
    full: float,
) -> None:
    from firstsheet.files.writing.glyphs import draw_text, text_width_px

    per_mm = plan.size.ppi / MM_PER_INCH
    lab = plan.colour.mode != "paper" and plan.picture.colour_model == "lab"
    device = (0.0, 128 / 255, 128 / 255) if lab else _INK[sheet.shape[2]]
    ink = np.rint(np.array(device) * full).astype(sheet.dtype)
    below = layout.top + box[3] + round(2 * per_mm)
    line = round(9 * _DOT_MM * per_mm)

    def put(text: str, left: int, top: int, room: int) -> None:
        scale = max(1, round(_DOT_MM * per_mm))
        while scale > 1 and text_width_px(text, scale) > room:
            scale -= 1
        draw_text(sheet, text, left_px=left, top_px=top, scale=scale, ink=ink)

    for left, rung in zip(layout.lefts, rungs, strict=True):
        star = " - PLAN" if rung.taken else ""
        put(f"{rung.strength:.2f}{star}", left, below, box[2])
        radius = f"RADIUS {rung.radius_mm:.2f} MM" if rung.strength else "NOT SHARPENED"
        put(radius, left, below + line, box[2])
    foot = (
        f"SHARPENING LADDER - {plan.stock.title} - {plan.size.ppi:g} PPI - 100 PER CENT - "
        f"COLOUR OFF - JUDGE FROM {plan.place.distance_mm / 10:.0f} CM - PLAN {plan.digest[:12]}"
    )
    put(foot, layout.lefts[0], below + 2 * line, layout.lefts[-1] + box[2] - layout.lefts[0])


def _words(plan: Plan, layout: _Layout, rungs: tuple[LadderRung, ...], box: Box) -> tuple[str, ...]:
    """What to do with the ladder, line by line."""
    mm = MM_PER_INCH / plan.size.ppi
    strengths = ", ".join(plain_number(rung.strength, 2) for rung in rungs)
    colour = (
        "colour management off everywhere"
        if plan.colour.mode == "paper"
        else "as the print itself will be printed"
    )
    return (
        f"Sharpening ladder of {Path(plan.picture.path).name} for {plan.stock.title}.",
        f"Print {LADDER_FILE} on {layout.name}, landscape, at 100 %, {colour}, media setting "
        f"“{plan.stock.media_setting or 'the one of the profile'}”.",
        f"Each rung shows {box[2] * mm:.0f} × {box[3] * mm:.0f} mm of the print, "
        f"{box[0] * mm:.0f} mm from its left and {box[1] * mm:.0f} mm from its top.",
        f"Strengths from the left: {strengths}; radius {plan.sharpen.radius_mm:.2f} mm.",
        f"Let it dry, and look from {distance_words(plan.place.distance_mm)} in the light it will "
        "hang in. Take the strongest rung without visible rims.",
        "Write its number into the ticket: sharpen = 1 in [detail], or --sharpen 1.",
        f"Plan {plan.digest[:16]}, made by {plan.made_by}.",
    )
