"""A plan as the bench shows it: the sheet to scale, findings with their buttons, figures.

Takes a draft's plan; gives the parts of a View. Nothing is measured here.
Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.bench.answers import Box, ChoiceView, FindingView, SheetView, Sides
from firstsheet.bench.worked import own_figures, parts_of, worked_of
from firstsheet.engine.records import Finding, PictureFacts, Stock, Ticket
from firstsheet.engine.records.figure import Figure
from firstsheet.engine.records.finding import GoesTo
from firstsheet.engine.records.plan import Plan, SheetPlan, SizePlan
from firstsheet.engine.units import both_units, plain_number, size_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from firstsheet.cms.chain import Chain
    from firstsheet.files.reading.glance import Glance

__all__ = [
    "blocks",
    "caption",
    "dust_seen",
    "early_sheet",
    "findings_shown",
    "glance_bytes",
    "sheet_shown",
]


def sheet_shown(
    ticket: Ticket, size: SizePlan, sheet: SheetPlan, picture_px: tuple[int, int]
) -> SheetView:
    """The sheet, the picture on it, its crop and its borders."""
    mm = 25.4 / size.ppi
    crop = Box(
        left=size.crop_left_px / picture_px[0],
        top=size.crop_top_px / picture_px[1],
        width=size.crop_width_px / picture_px[0],
        height=size.crop_height_px / picture_px[1],
    )
    margins = sheet.margins
    top, right, bottom, left = sheet.border_mm
    border, distance_mm = ticket.border, ticket.place.distance_mm
    return SheetView(
        name=sheet.name,
        width_mm=sheet.width_mm,
        height_mm=sheet.height_mm,
        picture=Box(
            left=sheet.picture_left_px * mm,
            top=sheet.picture_top_px * mm,
            width=size.width_mm,
            height=size.height_mm,
        ),
        unprintable=Sides(
            top=margins.top, right=margins.right, bottom=margins.bottom, left=margins.left
        ),
        border_mm=Sides(top=top, right=right, bottom=bottom, left=left),
        crop=crop,
        sheet_texts=(both_units(sheet.asked_width_mm), both_units(sheet.asked_height_mm)),
        picture_words=size_words(size.width_mm, size.height_mm),
        width_words=both_units(size.width_mm),
        height_words=both_units(size.height_mm),
        border_texts=(_mm(top), _mm(right), _mm(bottom), _mm(left)),
        distance_mm=distance_mm,
        angle_degrees=(
            _angle(sheet.width_mm, distance_mm),
            _angle(sheet.height_mm, distance_mm),
        ),
        shift_mm=(border.shift_x_mm, border.shift_y_mm),
        offset=(ticket.crop.offset_x, ticket.crop.offset_y),
        can_crop=(crop.width < 0.9995, crop.height < 0.9995),
    )


def _mm(length_mm: float) -> str:
    return f"{plain_number(length_mm)} mm"


def _angle(length_mm: float, distance_mm: float) -> float:
    """Angle at the eye of something seen square on, degrees."""
    return math.degrees(2.0 * math.atan(length_mm / (2.0 * distance_mm)))


_PAGE_PARTS: Mapping[GoesTo, Literal["", "loss", "compare", "cut", "places"]] = {
    "": "",
    "losses": "loss",
    "compare": "compare",
    "crop": "cut",
    "dust": "places",
    "test-strips": "",
}


def findings_shown(
    findings: Sequence[Finding],
    known: Sequence[Figure] = (),
    places: Mapping[str, tuple[tuple[float, float], ...]] = MappingProxyType({}),
) -> tuple[FindingView, ...]:
    """Findings with their choices, buttons where they change the ticket or lead somewhere.

    Parameters
    ----------
    known
        Figures of the plan, so that numbers in the sentences can show how they are worked out.
    places
        Where on the picture a finding speaks of, by its code: mm from the upper left corner.
    """
    shown = []
    for one in findings:
        choices = tuple(
            ChoiceView(
                text=choice.text,
                applies=bool(choice.change),
                changes=choice.change,
                goes="" if choice.change else _PAGE_PARTS[choice.goes_to],
            )
            for choice in one.choices
        )
        figures = (*known, *own_figures(one))
        found = parts_of(one.found, [span for span in one.spans if span.part == "found"], figures)
        then = parts_of(
            one.consequence, [span for span in one.spans if span.part == "consequence"], figures
        )
        shown.append(
            FindingView(
                code=one.code,
                weight=one.weight,
                found=one.found,
                consequence=one.consequence,
                choices=choices,
                figures=one.figures,
                source=one.source,
                found_parts=found,
                consequence_parts=then,
                worked=worked_of((*found, *then), figures),
                places=places.get(one.code, ()),
            )
        )
    return tuple(shown)


def dust_seen(plan: Plan) -> tuple[tuple[float, float], ...]:
    """Where on the print may be dust, as the finding tells it; mm from the picture's corner."""
    from firstsheet.engine.detail.dust.places import told_places

    dust = plan.detail.dust if plan.detail is not None else None
    places = told_places(dust, plan.picture, plan.size)
    return tuple((one.x_mm or 0.0, one.y_mm or 0.0) for one in places)


def early_sheet(ticket: Ticket, glance: Glance, stocks: Mapping[str, Stock]) -> SheetView:
    """The sheet while the picture is still being opened, from its size alone.

    Raises
    ------
    FirstsheetError
        A slip, or no such stock.
    """
    from firstsheet.engine.planning import size_and_sheet

    stock = stocks.get(ticket.stock) or next(iter(stocks.values()))
    facts = PictureFacts(
        path=ticket.picture,
        sha256="",
        size_bytes=0,
        format="",
        compression="",
        page=1,
        pages=1,
        stored_width_px=glance.width_px,
        stored_height_px=glance.height_px,
        orientation=1,
        width_px=glance.width_px,
        height_px=glance.height_px,
        colour_model=glance.colour_model,
        bits=16,
        sample_format="uint",
        true_bits=16,
    )
    size, sheet, _ = size_and_sheet(ticket, facts, stock)
    return sheet_shown(ticket, size, sheet, (glance.width_px, glance.height_px))


def glance_bytes(glance: Glance) -> bytes:
    """A glance as a tagged JPEG."""
    from firstsheet.bench.tiles import encoded_picture
    from firstsheet.cms.chain import build_chain
    from firstsheet.jobs.planning.colour_path import ColourPath
    from firstsheet.pixels.tilecolours import screen_bytes
    from firstsheet.store.stocks import builtin_names, get_stock, stock_profile_bytes

    chain = build_chain(
        source_profile=glance.profile_bytes,
        colour_model=glance.colour_model,
        paper_profile=stock_profile_bytes(get_stock(builtin_names()[0])),
        intent="relative",
        black_point=False,
    )
    lab = ColourPath(chain).wanted_lab(glance.codes, lambda: None)
    return encoded_picture(screen_bytes(lab), "display-p3", "jpg")


def blocks(codes: NDArray[Any], step: int) -> NDArray[Any]:
    """A picture made smaller by whole steps, means of codes; for a look only."""
    height, width = (max(1, side // step) for side in codes.shape[:2])
    if step == 1:
        return codes
    part = codes[: height * step, : width * step]
    return np.asarray(part.reshape(height, step, width, step, -1).mean(axis=(1, 3)))


def caption(chain: Chain, plan: Plan) -> str:
    """What stands below a proof."""
    from firstsheet.pixels.proof import proof_caption

    return proof_caption(chain, white=plan.ticket.output.proof_white)
