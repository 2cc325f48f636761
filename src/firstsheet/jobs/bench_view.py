"""A plan as the bench shows it: the sheet to scale, findings with their buttons, figures.

Takes a draft's plan; gives the parts of a View. Nothing is measured here.
Tests: tests/jobs/test_bench_view.py.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from firstsheet.engine.planrecord import Plan
from firstsheet.engine.records import Finding
from firstsheet.engine.units import both_units, plain_number, size_words
from firstsheet.jobs.bench_answers import Box, ChoiceView, FindingView, SheetView, Sides

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["findings_shown", "sheet_shown"]


def sheet_shown(plan: Plan) -> SheetView:
    """The sheet, the picture on it, its crop and its borders."""
    size, sheet, picture = plan.size, plan.sheet, plan.picture
    mm = 25.4 / size.ppi
    crop = Box(
        left=size.crop_left_px / picture.width_px,
        top=size.crop_top_px / picture.height_px,
        width=size.crop_width_px / picture.width_px,
        height=size.crop_height_px / picture.height_px,
    )
    margins = sheet.margins
    top, right, bottom, left = sheet.border_mm
    border, distance_mm = plan.ticket.border, plan.place.distance_mm
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
        sheet_words=f"{sheet.name}, {size_words(sheet.width_mm, sheet.height_mm)}",
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
        offset=(plan.ticket.crop.offset_x, plan.ticket.crop.offset_y),
        can_crop=(crop.width < 0.9995, crop.height < 0.9995),
    )


def _mm(length_mm: float) -> str:
    return f"{plain_number(length_mm)} mm"


def _angle(length_mm: float, distance_mm: float) -> float:
    """Angle at the eye of something seen square on, degrees."""
    return math.degrees(2.0 * math.atan(length_mm / (2.0 * distance_mm)))


def findings_shown(findings: Sequence[Finding]) -> tuple[FindingView, ...]:
    """Findings with their choices, buttons where they change the ticket."""
    shown = []
    for one in findings:
        changes = (*getattr(one, "changes", ()), *({} for _ in one.choices))
        choices = tuple(
            ChoiceView(text=text, applies=bool(change), changes=change)
            for text, change in zip(one.choices, changes, strict=False)
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
            )
        )
    return tuple(shown)
