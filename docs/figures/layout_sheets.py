"""Two sheets with their pictures, drawn to scale with every border written beside."""

from __future__ import annotations

from drawing import ACCENT, GREY, INK, Drawing, Look

from firstsheet.engine.layout.sheet import (
    as_it_faces,
    picture_width_mm,
    place_picture,
    room_for_picture,
    turned_margins,
)
from firstsheet.engine.records import BorderWish, MarginsMm, PrintWish
from firstsheet.engine.records.plan import SheetPlan
from firstsheet.engine.sheets import parse_sheet
from firstsheet.engine.units import mm_to_px

__all__ = ["draw"]

PPI = 360.0
MARGINS = MarginsMm(top=3.0, right=3.0, bottom=20.0, left=3.0)
NONE = MarginsMm(top=0.0, right=0.0, bottom=0.0, left=0.0)


def laid(
    sheet_name: str, border: BorderWish, aspect: float, width_mm: float | None = None
) -> SheetPlan:
    """A picture on a sheet, of a width or as large as the border allows."""
    sheet = parse_sheet(sheet_name)
    across, down = as_it_faces(sheet, aspect, "auto")
    margins = turned_margins(MARGINS if width_mm is None else NONE, across, down)
    room = room_for_picture(across, down, margins, border)
    across_mm = picture_width_mm(PrintWish(width_mm=width_mm), aspect, room)
    picture_px = mm_to_px(across_mm, PPI), mm_to_px(across_mm / aspect, PPI)
    return place_picture(
        sheet=sheet, width_mm=across, height_mm=down, margins=margins, border=border,
        picture_px=picture_px, ppi=PPI,
    )  # fmt: skip


def drawn_sheet(drawing: Drawing, plan: SheetPlan, left: float, top: float, scale: float) -> None:
    """One sheet, its unprintable margins, its picture and the four borders."""
    wide, high = plan.width_mm * scale, plan.height_mm * scale
    drawing.box(left, top, wide, high, "#fff", GREY)
    inside = plan.margins
    drawing.line(
        [left + inside.left * scale, left + wide - inside.right * scale,
         left + wide - inside.right * scale, left + inside.left * scale,
         left + inside.left * scale],
        [top + inside.top * scale, top + inside.top * scale,
         top + high - inside.bottom * scale, top + high - inside.bottom * scale,
         top + inside.top * scale],
        Look(GREY, 1.0, "2 3"),
    )  # fmt: skip
    above, right, below, beside = plan.border_mm
    x, y = left + beside * scale, top + above * scale
    picture_wide = wide - (beside + right) * scale
    picture_high = high - (above + below) * scale
    drawing.box(x, y, picture_wide, picture_high, "#e7efee", ACCENT)
    middle_x, middle_y = x + picture_wide / 2, y + picture_high / 2
    width_mm = plan.width_mm - beside - right
    height_mm = plan.height_mm - above - below
    drawing.text(middle_x, middle_y - 14, f"{width_mm:.1f} × {height_mm:.1f}", anchor="middle")
    thin = Look(ACCENT, 1.0)
    drawing.line((middle_x, middle_x), (top, y), thin)
    drawing.text(middle_x, y + 14, f"{above:.1f}", anchor="middle")
    drawing.line((middle_x, middle_x), (y + picture_high, top + high), thin)
    drawing.text(middle_x, y + picture_high - 6, f"{below:.1f}", anchor="middle")
    drawing.line((left, x), (middle_y, middle_y), thin)
    drawing.text(x + 5, middle_y + 4, f"{beside:.1f}")
    drawing.line((x + picture_wide, left + wide), (middle_y, middle_y), thin)
    drawing.text(x + picture_wide - 5, middle_y + 4, f"{right:.1f}", anchor="end")
    drawing.line((left, left + wide), (top + high + 14, top + high + 14), Look(INK, 1.0))
    for end in (left, left + wide):
        drawing.line((end, end), (top + high + 9, top + high + 19), Look(INK, 1.0))
    sums = f"{beside:.2f} + {width_mm:.2f} + {right:.2f} = {plan.width_mm:.2f}"
    drawing.text(left + wide / 2, top + high + 33, sums, anchor="middle")


def draw() -> str:
    """Three sheets."""
    drawing = Drawing(high_px=276)
    scale = 0.53
    centred = BorderWish(kind="centred", left_mm=20.0, right_mm=20.0)
    weighted = BorderWish(kind="weighted", left_mm=30.0, right_mm=30.0)
    plans = (
        ("A3+, centred", laid("A3+", centred, 1.5)),
        ("A4, weighted", laid("A4", weighted, 0.8)),
        ("Glass 14 × 11 in, mat", laid("14x11in", BorderWish(), 9.75 / 7.75, 9.75 * 25.4)),
    )
    left = 2.0
    for words, plan in plans:
        drawing.text(left, 16, words, bold=True)
        drawn_sheet(drawing, plan, left, 28, scale)
        left += plan.width_mm * scale + 66
    drawing.text(2, 268, "All numbers in mm; dotted: what the printer cannot reach.", colour=GREY)
    return drawing.svg()
