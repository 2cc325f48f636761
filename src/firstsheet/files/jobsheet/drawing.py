"""The sheet to scale, as on a framer's drawing.

Takes a plan, a box on the page and a small proof; draws sheet, picture, unprintable zone,
dimension lines in mm and inch, and the feed. Tests: tests/files/test_jobsheet.py.
"""

from __future__ import annotations

import io
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.records.plan import Plan
from firstsheet.files.jobsheet.typesetting import ACCENT, HAIR, INK, MM, QUIET, WASH, Pen
from firstsheet.files.jobsheet.words import feed_edge, is_order
from firstsheet.files.writing.ruler_key import border_marks

__all__ = ["Box", "draw_sheet", "drawing_scale", "small_jpeg"]

_SCALES = (1, 1.25, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 7, 8, 9, 10, 12, 15, 20, 25, 30, 40)
_ROOM_LEFT, _ROOM_RIGHT, _ROOM_TOP, _ROOM_BELOW = 9 * MM, 25 * MM, 9 * MM, 24 * MM
_CHAIN, _WHOLE_DOWN, _WHOLE_RIGHT = 4.5 * MM, 12.5 * MM, 20 * MM  # distance from the sheet
_PROOF_PX = 1000


class Box(NamedTuple):
    """A rectangle on the page, points from the page's lower left corner."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.left + self.width

    @property
    def top(self) -> float:
        return self.bottom + self.height


def drawing_scale(plan: Plan, box: Box) -> float:
    """The n of 1 : n, the largest drawing of a tidy scale that leaves room for its dimensions."""
    needed = max(
        plan.sheet.width_mm * MM / (box.width - _ROOM_LEFT - _ROOM_RIGHT),
        plan.sheet.height_mm * MM / (box.height - _ROOM_TOP - _ROOM_BELOW),
    )
    return next((scale for scale in _SCALES if scale >= needed), float(-(-needed // 10) * 10))


def draw_sheet(pen: Pen, box: Box, plan: Plan, proof_srgb: NDArray[np.uint8] | None) -> None:
    """Draw everything into the box."""
    sheet, picture = _place(plan, box)
    _draw_paper(pen, sheet, plan)
    _draw_picture(pen, picture, proof_srgb)
    _draw_marks(pen, sheet, plan)
    _draw_across(pen, sheet, picture, plan)
    _draw_down(pen, sheet, picture, plan)
    legend = f"Drawn 1 : {drawing_scale(plan, box):g}. "
    if not is_order(plan):
        _draw_feed(pen, sheet, plan)
        legend += "Hatched: the printer cannot reach it. "
    marks = [name for name in ("ruler", "key") if getattr(plan.output, name)]
    if marks:
        legend += f"Outlined in the border: {' and '.join(marks)}. "
    legend += "The small picture is no proof; judge colours on the proof itself."
    pen.text(
        box.left + box.width / 2,
        sheet.bottom - _ROOM_BELOW,
        legend,
        size=7,
        grey=QUIET,
        align="centre",
    )


def _place(plan: Plan, box: Box) -> tuple[Box, Box]:
    """Sheet and picture on the page."""
    per_mm = MM / drawing_scale(plan, box)
    width, height = plan.sheet.width_mm * per_mm, plan.sheet.height_mm * per_mm
    free = box.width - _ROOM_LEFT - _ROOM_RIGHT - width
    left = box.left + _ROOM_LEFT + free / 2
    spare = box.height - _ROOM_TOP - _ROOM_BELOW - height
    sheet = Box(left, box.bottom + _ROOM_BELOW + spare / 2, width, height)
    per_px = per_mm * 25.4 / plan.size.ppi
    picture_height = plan.size.height_px * per_px
    picture = Box(
        sheet.left + plan.sheet.picture_left_px * per_px,
        sheet.top - plan.sheet.picture_top_px * per_px - picture_height,
        plan.size.width_px * per_px,
        picture_height,
    )
    return sheet, picture


def _draw_paper(pen: Pen, sheet: Box, plan: Plan) -> None:
    """White paper with a quiet shadow and the unprintable zone hatched."""
    canvas = pen.canvas
    canvas.setFillGray(0.88)
    canvas.rect(sheet.left + 1.6, sheet.bottom - 1.6, sheet.width, sheet.height, stroke=0, fill=1)
    canvas.setFillGray(1)
    canvas.rect(*sheet, stroke=0, fill=1)
    if not is_order(plan):
        _hatch_margins(canvas, sheet, plan)
    canvas.setStrokeGray(INK)
    canvas.setLineWidth(0.6)
    canvas.rect(*sheet, stroke=1, fill=0)


def _hatch_margins(canvas: Any, sheet: Box, plan: Plan) -> None:
    """Slanted lines between the sheet's edge and what the printer reaches."""
    per_mm = sheet.width / plan.sheet.width_mm
    margins = plan.sheet.margins
    inner = Box(
        sheet.left + margins.left * per_mm,
        sheet.bottom + margins.bottom * per_mm,
        sheet.width - (margins.left + margins.right) * per_mm,
        sheet.height - (margins.top + margins.bottom) * per_mm,
    )
    canvas.saveState()
    zone = canvas.beginPath()
    zone.rect(*sheet)
    zone.rect(*inner)
    canvas.clipPath(zone, stroke=0, fill=0, fillMode=0)  # even-odd: only what lies between
    canvas.setStrokeGray(HAIR)
    canvas.setLineWidth(0.3)
    step, reach = 1.3 * MM, sheet.width + sheet.height
    for index in range(int(reach / step) + 1):
        x = sheet.left + index * step
        canvas.line(x, sheet.bottom, x - sheet.height, sheet.top)
    canvas.restoreState()


def _draw_picture(pen: Pen, picture: Box, proof_srgb: NDArray[np.uint8] | None) -> None:
    canvas = pen.canvas
    if proof_srgb is None:
        canvas.setFillGray(WASH)
        canvas.rect(*picture, stroke=0, fill=1)
        canvas.setStrokeGray(HAIR)
        canvas.setLineWidth(0.3)
        canvas.line(picture.left, picture.bottom, picture.right, picture.top)
        canvas.line(picture.left, picture.top, picture.right, picture.bottom)
    else:
        canvas.drawImage(small_jpeg(proof_srgb), *picture)
    canvas.setStrokeGray(INK)
    canvas.setLineWidth(0.3)
    canvas.rect(*picture, stroke=1, fill=0)


def small_jpeg(proof_srgb: NDArray[np.uint8]) -> Any:
    """The proof, reduced and packed, as reportlab takes it."""
    from PIL import Image
    from reportlab.lib.utils import ImageReader

    image = Image.fromarray(np.ascontiguousarray(proof_srgb))
    image.thumbnail((_PROOF_PX, _PROOF_PX), Image.Resampling.LANCZOS)
    packed = io.BytesIO()
    image.save(packed, "JPEG", quality=92, subsampling=0)
    packed.seek(0)
    return ImageReader(packed)


def _draw_marks(pen: Pen, sheet: Box, plan: Plan) -> None:
    """Ruler and key as outlines where they will be printed."""
    if not (plan.output.ruler or plan.output.key):
        return
    marks = border_marks(
        plan.sheet,
        picture_width_px=plan.size.width_px,
        picture_height_px=plan.size.height_px,
        ppi=plan.size.ppi,
        channels=3,
        ruler=plan.output.ruler,
        key=plan.output.key,
    )
    per_px = sheet.width / plan.sheet.width_px
    pen.canvas.setStrokeColorRGB(*ACCENT)
    pen.canvas.setLineWidth(0.4)
    for mark in marks.overlays:
        height, width = (side * per_px for side in mark.codes.shape[:2])
        left = sheet.left + mark.left_px * per_px
        bottom = sheet.top - mark.top_px * per_px - height
        pen.canvas.rect(left, bottom, width, height, stroke=1, fill=0)


def _dimension_line(pen: Pen, x0: float, y0: float, x1: float, y1: float) -> None:
    """A thin line with a slanted stroke at both ends."""
    canvas = pen.canvas
    canvas.setStrokeColorRGB(*ACCENT)
    canvas.setLineWidth(0.5)
    canvas.line(x0, y0, x1, y1)
    canvas.setLineWidth(0.9)
    for x, y in ((x0, y0), (x1, y1)):
        canvas.line(x - 1.7, y - 1.7, x + 1.7, y + 1.7)


def _helper_line(pen: Pen, x0: float, y0: float, x1: float, y1: float) -> None:
    pen.canvas.setStrokeGray(HAIR)
    pen.canvas.setLineWidth(0.3)
    pen.canvas.line(x0, y0, x1, y1)


def _label(pen: Pen, x: float, y: float, length_mm: float, align: str) -> None:
    """Millimetres above inches, on a ground of paper so that lines do not cross them."""
    words = f"{length_mm:.1f} mm"
    width = pen.width(words, size=7.5) + 2
    left = x - (1 if align == "left" else width / 2)
    pen.canvas.setFillGray(1)
    pen.canvas.rect(left, y - 9, width, 15.4, stroke=0, fill=1)
    pen.text(x, y, words, size=7.5, align=align)
    pen.text(x, y - 7.4, f"{length_mm / 25.4:.2f} in", size=6.3, grey=QUIET, align=align)


def _draw_across(pen: Pen, sheet: Box, picture: Box, plan: Plan) -> None:
    """Border, picture, border in one line below the sheet; the whole sheet in a second."""
    chain, whole = sheet.bottom - _CHAIN, sheet.bottom - _WHOLE_DOWN
    stops = (sheet.left, picture.left, picture.right, sheet.right)
    for x, start in zip(
        stops, (sheet.bottom, picture.bottom, picture.bottom, sheet.bottom), strict=True
    ):
        _helper_line(pen, x, start, x, chain - 2)
    for x in (sheet.left, sheet.right):
        _helper_line(pen, x, chain, x, whole - 2)
    lengths = (plan.sheet.border_mm[3], plan.size.width_mm, plan.sheet.border_mm[1])
    for index, length in enumerate(lengths):
        x0, x1 = stops[index], stops[index + 1]
        if x1 - x0 < 0.5:
            continue
        _dimension_line(pen, x0, chain, x1, chain)
        half = max((x1 - x0) / 2, pen.width(f"{length:.1f} mm", size=7.5) / 2 + 1)
        centre = {0: x1 - half, 1: (x0 + x1) / 2, 2: x0 + half}[index]
        _label(pen, centre, chain - 8.5, length, "centre")
    _dimension_line(pen, sheet.left, whole, sheet.right, whole)
    _label(pen, (sheet.left + sheet.right) / 2, whole - 8.5, plan.sheet.asked_width_mm, "centre")


def _draw_down(pen: Pen, sheet: Box, picture: Box, plan: Plan) -> None:
    """Border, picture, border in one line right of the sheet; the whole sheet in a second."""
    chain, whole = sheet.right + _CHAIN, sheet.right + _WHOLE_RIGHT
    stops = (sheet.top, picture.top, picture.bottom, sheet.bottom)
    for y, start in zip(
        stops, (sheet.right, picture.right, picture.right, sheet.right), strict=True
    ):
        _helper_line(pen, start, y, chain + 2, y)
    for y in (sheet.top, sheet.bottom):
        _helper_line(pen, chain, y, whole + 2, y)
    lengths = (plan.sheet.border_mm[0], plan.size.height_mm, plan.sheet.border_mm[2])
    for index, length in enumerate(lengths):
        y0, y1 = stops[index], stops[index + 1]
        if y0 - y1 < 0.5:
            continue
        _dimension_line(pen, chain, y0, chain, y1)
        half = max((y0 - y1) / 2, 8.5)  # a narrow border's figures stand outside it
        centre = {0: y1 + half, 1: (y0 + y1) / 2, 2: y0 - half}[index]
        _label(pen, chain + 4, centre + 0.6, length, "left")
    _dimension_line(pen, whole, sheet.top, whole, sheet.bottom)
    pen.canvas.saveState()
    pen.canvas.translate(whole, (sheet.top + sheet.bottom) / 2)
    pen.canvas.rotate(-90)
    _label(pen, 0, 10.4, plan.sheet.asked_height_mm, "centre")
    pen.canvas.restoreState()


def _draw_feed(pen: Pen, sheet: Box, plan: Plan) -> None:
    """An arrow out of the edge that enters the printer first."""
    canvas = pen.canvas
    canvas.saveState()
    if feed_edge(plan) == "left":
        canvas.translate(sheet.left, (sheet.top + sheet.bottom) / 2)
        canvas.rotate(90)
    else:
        canvas.translate((sheet.left + sheet.right) / 2, sheet.top)
    canvas.setFillColorRGB(*ACCENT)
    arrow = canvas.beginPath()
    arrow.moveTo(0, 11)
    arrow.lineTo(-4, 4)
    arrow.lineTo(4, 4)
    arrow.close()
    canvas.drawPath(arrow, stroke=0, fill=1)
    pen.text(0, 14, "enters the printer first", size=6.5, grey=QUIET, align="centre")
    canvas.restoreState()
