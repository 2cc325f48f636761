"""Ticket, facts, stock and colour become a plan: every decision, in numbers.

`size_and_sheet` is the part the jobs need before any colour is computed; `make_plan` joins
everything. Pure: the same input gives the same plan and the same bytes.
Theory: docs/theory/sizing.md, docs/theory/layout.md. Tests: tests/engine/test_plan.py.
"""

from __future__ import annotations

import hashlib
import json

from firstsheet.engine.detail.dust.places import dust_findings
from firstsheet.engine.detail.findings import detail_findings, true_ppi
from firstsheet.engine.errors import TicketError
from firstsheet.engine.findings import in_order, said, seen_once
from firstsheet.engine.layout.findings import sheet_plan_findings
from firstsheet.engine.layout.sheet import (
    as_it_faces,
    picture_width_mm,
    place_picture,
    room_for_picture,
    turned_margins,
)
from firstsheet.engine.light.findings import place_findings
from firstsheet.engine.loss.findings import colour_findings
from firstsheet.engine.records import BorderWish, Finding, PictureFacts, Stock, Ticket
from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.records.losses import PictureLosses
from firstsheet.engine.records.plan import (
    ColourPlan,
    LossFacts,
    OutputPlan,
    Plan,
    RescanAnswer,
    SharpenPlan,
    SheetPlan,
    SizePlan,
)
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.sharpness.findings import look_findings
from firstsheet.engine.sharpness.predict import plan_sharpening
from firstsheet.engine.sheets import parse_sheet, sheet_findings
from firstsheet.engine.sizing.findings import rescan_findings, size_findings
from firstsheet.engine.sizing.rescan import rescan
from firstsheet.engine.sizing.size import (
    NOTHING_GAINED_PPI,
    Raster,
    choose_raster,
    distance_verdicts,
    effective_ppi,
    parse_shape,
)
from firstsheet.engine.units import px_to_mm
from firstsheet.engine.verdict import earlier_word_findings, output_findings, verdict

__all__ = ["SHEET_SHAPE", "decisions", "make_plan", "plan_digest", "size_and_sheet"]

SHEET_SHAPE = "sheet"  # crop to whatever shape the border leaves
_TIFF_LIMIT_BYTES = 2**32  # 32-bit offsets of TIFF 6.0
_TIFF_RESERVE_BYTES = 32 * 2**20  # tags, strip tables, profile and metadata
_ALIKE = 5e-4


def size_and_sheet(
    ticket: Ticket, facts: PictureFacts, stock: Stock
) -> tuple[SizePlan, SheetPlan, tuple[Finding, ...]]:
    """Decide crop, size, raster and place on the sheet.

    Raises
    ------
    TicketError
        If sheet or shape cannot be read, or more than one size is wished for.
    """
    _one_size_only(ticket)
    sheet = parse_sheet(ticket.print.sheet)
    file_aspect = facts.width_px / facts.height_px
    aspect = _wished_aspect(ticket.crop.shape, file_aspect)
    width_mm, height_mm = as_it_faces(sheet, aspect or file_aspect, ticket.print.turn)
    margins = turned_margins(stock.margins, width_mm, height_mm)
    room = room_for_picture(width_mm, height_mm, margins, _border_from_size(ticket, width_mm))
    aspect = aspect or room.width_mm / room.height_mm
    raster = choose_raster(
        width_px=facts.width_px,
        height_px=facts.height_px,
        aspect=aspect,
        width_mm=picture_width_mm(ticket.print, aspect, room),
        wish=ticket.detail.ppi,
        native_ppi=stock.native_ppi,
        allow_enlarge=ticket.detail.allow_enlarge,
        offset_x=ticket.crop.offset_x,
        offset_y=ticket.crop.offset_y,
    )
    size = _size_plan(raster, facts, ticket)
    placed = place_picture(
        sheet=sheet,
        width_mm=width_mm,
        height_mm=height_mm,
        margins=margins,
        border=ticket.border,
        picture_px=(size.width_px, size.height_px),
        ppi=size.ppi,
    )
    found = (
        *size_findings(ticket, stock, size, raster.wanted_ppi, raster.held_back),
        *sheet_findings(sheet),
        *sheet_plan_findings(
            placed,
            border=ticket.border,
            picture_mm=(size.width_mm, size.height_mm),
            ruler=ticket.output.ruler,
            key=ticket.output.key,
        ),
    )
    return size, placed, found


def _one_size_only(ticket: Ticket) -> None:
    wish = ticket.print
    given = [
        name
        for name, value in (
            ("width", wish.width_mm),
            ("height", wish.height_mm),
            ("long-side", wish.long_side_mm),
        )
        if value is not None
    ]
    if len(given) > 1:
        raise TicketError(
            f"Both {given[0]} and {given[1]} are given.",
            "One of them already decides the other, unless the picture is to be cut.",
            "Keep one; to cut the picture to a shape, write it as crop shape, such as 3:2.",
            "two-sizes",
        )


def _wished_aspect(shape: str | None, file_aspect: float) -> float | None:
    """Width over height of the printed part; None where the room on the sheet decides."""
    if shape is None:
        return file_aspect
    if shape.strip().lower() == SHEET_SHAPE:
        return None
    ratio = parse_shape(shape)
    return ratio if file_aspect >= 1 else 1 / ratio


def _border_from_size(ticket: Ticket, sheet_width_mm: float) -> BorderWish:
    """With an even border, a wished width and a cut to the sheet, the width gives the border."""
    wish, border = ticket.print, ticket.border
    even_by_width = border.kind == "even" and border.even_mm is None and wish.width_mm is not None
    if not even_by_width or wish.width_mm is None or wish.width_mm >= sheet_width_mm:
        return border
    return border.model_copy(update={"even_mm": (sheet_width_mm - wish.width_mm) / 2})


def _size_plan(raster: Raster, facts: PictureFacts, ticket: Ticket) -> SizePlan:
    crop = raster.crop
    width_mm = px_to_mm(raster.width_px, raster.ppi)
    own_ppi = effective_ppi(crop.width_px, width_mm)
    per_px = width_mm / crop.width_px
    right = facts.width_px - crop.left_px - crop.width_px
    bottom = facts.height_px - crop.top_px - crop.height_px
    top_mm, right_mm, bottom_mm, left_mm = (
        round(max(0.0, side) * per_px, 4) for side in (crop.top_px, right, bottom, crop.left_px)
    )
    untouched = (crop.width_px, crop.height_px) == (raster.width_px, raster.height_px)
    enlarged = not untouched and raster.scale > 1 + _ALIKE
    return SizePlan(
        crop_left_px=crop.left_px,
        crop_top_px=crop.top_px,
        crop_width_px=crop.width_px,
        crop_height_px=crop.height_px,
        crop_loss_percent=round(crop.loss_percent, 4),
        crop_loss_mm=(top_mm, right_mm, bottom_mm, left_mm),
        width_px=raster.width_px,
        height_px=raster.height_px,
        ppi=raster.ppi,
        width_mm=width_mm,
        height_mm=px_to_mm(raster.height_px, raster.ppi),
        effective_ppi=round(own_ppi, 4),
        scale=raster.scale,
        enlarged=enlarged,
        resample="none" if untouched else ("enlarge" if enlarged else "reduce"),
        verdicts=distance_verdicts(own_ppi, ticket.place.distance_mm),
    )


def make_plan(
    *,
    ticket: Ticket,
    facts: PictureFacts,
    stock: Stock,
    colour: ColourPlan,
    loss: LossFacts | None,
    version: str,
    sharpen: SharpenPlan | None = None,
    extra_findings: tuple[Finding, ...] = (),
    detail: DetailFacts | None = None,
    regions: PictureLosses | None = None,
    repairs: tuple[RepairFacts, ...] = (),
) -> Plan:
    """Decide everything.

    Parameters
    ----------
    ticket, facts, stock
        What is wanted, of what, on what.
    colour, loss
        What `cms` and the loss measurement found for this picture on this paper.
    version
        The program's version; it stands in the plan.
    sharpen
        A ready sharpening; left out, it is decided from ticket, surface and distance.
    extra_findings
        What other rooms want said in this plan.
    detail
        What the pixels truly hold; where that is surely less, it takes their place.
    regions
        What the paper truly takes, place by place.
    repairs
        What the ticket's repairs do, measured.

    Raises
    ------
    TicketError
        As `size_and_sheet`.
    """
    size, sheet, found = size_and_sheet(ticket, facts, stock)
    size = _judged_by_detail(size, detail, ticket)
    output = _output_plan(ticket, facts, colour, sheet)
    sharp, look = plan_sharpening(ticket, stock, size, detail)
    answer = _rescan_answer(ticket, facts, stock, size)
    findings = in_order(
        seen_once(
            (
                *_of_the_picture(facts, colour),
                *found,
                *detail_findings(detail, size),
                *look_findings(ticket, sharp, look, detail),
                *rescan_findings(answer),
                *colour_findings(ticket, facts, stock, colour, loss, regions),
                *place_findings(ticket.place, stock),
                *output_findings(output, sheet),
                *earlier_word_findings(ticket),
                *extra_findings,
                # what may be comes after what is
                *dust_findings(detail.dust if detail else None, facts, size),
            )
        )
    )
    words = said(verdict(size, findings), "found")
    plan = Plan(
        made_by=f"firstsheet {version}",
        ticket=ticket,
        picture=facts,
        stock=stock,
        place=ticket.place,
        size=size,
        sheet=sheet,
        sharpen=sharpen or sharp,
        colour=colour,
        loss=loss,
        regions=regions,
        rescan=answer,
        detail=detail,
        look=look,
        repairs=repairs,
        output=output,
        findings=findings,
        verdict=words.text,
        verdict_spans=words.spans,
    )
    return plan.model_copy(update={"digest": plan_digest(plan)})


def _of_the_picture(facts: PictureFacts, colour: ColourPlan) -> tuple[Finding, ...]:
    """The picture's own findings, without those that the colour plan says better."""
    said_again = () if colour.mode == "keep" else ("output-profile",)
    return tuple(one for one in facts.findings if one.code not in said_again)


def _judged_by_detail(size: SizePlan, detail: DetailFacts | None, ticket: Ticket) -> SizePlan:
    """The size with its verdicts by true detail, where the pixels promise more than they hold."""
    less = true_ppi(detail, size.effective_ppi)
    if less is None:
        return size
    verdicts = distance_verdicts(less, ticket.place.distance_mm)
    return size.model_copy(update={"true_ppi": round(less, 4), "verdicts": verdicts})


def _output_plan(
    ticket: Ticket, facts: PictureFacts, colour: ColourPlan, sheet: SheetPlan
) -> OutputPlan:
    wish = ticket.output
    kept = {"grey": 1, "rgb": 3, "lab": 3, "cmyk": 4}[facts.colour_model]
    channels = len(colour.paper_white_device) if colour.mode == "paper" else kept
    print_bytes = sheet.width_px * sheet.height_px * channels * wish.bits // 8
    return OutputPlan(
        bits=wish.bits,
        compression=wish.compression,
        big_tiff=print_bytes > _TIFF_LIMIT_BYTES - _TIFF_RESERVE_BYTES,
        print_file_bytes=print_bytes,
        ruler=wish.ruler,
        key=wish.key,
    )


def _rescan_answer(
    ticket: Ticket, facts: PictureFacts, stock: Stock, size: SizePlan
) -> RescanAnswer | None:
    if ticket.film is None:
        return None
    wish = ticket.detail.ppi
    ppi = float(wish) if not isinstance(wish, str) else float(stock.native_ppi)
    return rescan(
        ticket.film,
        width_mm=size.width_mm,
        height_mm=size.height_mm,
        ppi=min(ppi, float(NOTHING_GAINED_PPI)),
        file_px=(facts.width_px, facts.height_px),
        used_share=(
            size.crop_width_px / facts.width_px,
            size.crop_height_px / facts.height_px,
        ),
        channels=1 if facts.colour_model == "grey" else 3,
    )


def decisions(plan: Plan) -> dict[str, object]:
    """What decides the bytes of the print file, and nothing else, as JSON values by name.

    Findings, verdicts, measured losses and every sentence are left out, and so is where the
    picture lies: another wording, or a moved file, makes no other print.
    """
    size = plan.size.model_dump(mode="json", exclude={"verdicts"})
    ticket = plan.ticket.model_dump(mode="json", exclude={"picture", "repairs"})
    return {
        "made_by": plan.made_by,
        "ticket": ticket,
        "picture": plan.picture.sha256,
        "stock": {
            "name": plan.stock.name,
            "profile": plan.stock.facts.profile.sha256 if plan.stock.facts else "",
        },
        "size": size,
        "sheet": plan.sheet.model_dump(mode="json"),
        "sharpen": plan.sharpen.model_dump(mode="json", exclude={"reason"}),
        "colour": plan.colour.model_dump(
            mode="json", exclude={"link", "link_mean_de00", "link_p99_de00", "link_max_de00"}
        ),
        "repairs": [
            one.model_dump(mode="json", exclude={"words", "sentence"}) for one in plan.repairs
        ],
        "output": plan.output.model_dump(mode="json"),
    }


def plan_digest(plan: Plan) -> str:
    """SHA-256 of what the plan decides, as JSON with sorted keys and no idle spaces."""
    text = json.dumps(
        decisions(plan), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
