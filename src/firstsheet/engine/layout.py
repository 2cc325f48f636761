"""Where the picture lies on the sheet.

Takes sheet, margins, border wish and picture size; gives the room for the picture in mm and its
place in whole pixels. The sheet is always meant as it faces the viewer.
Theory: docs/theory/layout.md. Tests: tests/engine/test_layout.py.
"""

from __future__ import annotations

import math
from typing import Literal

from firstsheet.engine.findings import PRACTICE, finding, joined
from firstsheet.engine.planrecord import SheetPlan
from firstsheet.engine.records import BorderWish, Finding, MarginsMm, PrintWish, Record
from firstsheet.engine.sheets import Sheet
from firstsheet.engine.units import both_units, mm_to_px, plain_number, px_to_mm, size_words

__all__ = [
    "SIDES",
    "THIN_BORDER_MM",
    "Room",
    "as_it_faces",
    "picture_width_mm",
    "place_picture",
    "room_for_picture",
    "sensible_border_mm",
    "sheet_plan_findings",
    "turned_margins",
]

SIDES = ("top", "right", "bottom", "left")
THIN_BORDER_MM = 6.0  # thinner borders look uneven after trimming; common practice, no source
WEIGHTED_SHARE = 0.2  # a weighted foot is wider by a fifth; common practice, no source
WEIGHTED_MOST_MM = 12.0  # and never by more than about half an inch; common practice, no source
# Clear edge by the sheet's long side, as labs advise it; common practice, no source.
_CLEAR_EDGE_MM = ((254.0, 6.0), (508.0, 13.0), (762.0, 19.0), (math.inf, 25.0))
_SLACK_MM = 0.1  # rounding to pixels is no conflict
_OFF_CENTRE_MM = 0.5
_UNEQUAL_MM = 0.5
_RULER_MM, _RULER_ROOM_MM, _KEY_ROOM_MM = 100.0, 8.0, 8.0


class Room(Record):
    """The rectangle of the sheet that the border leaves for the picture."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float


def as_it_faces(
    sheet: Sheet, aspect: float, turn: Literal["auto", "as-given"]
) -> tuple[float, float]:
    """Width and height of the sheet as it faces the viewer.

    With `auto` the sheet follows the picture: wide for a wide picture, upright for a tall one,
    as given for a square one.

    >>> as_it_faces(Sheet(name="A4", width_mm=210, height_mm=297), 1.5, "auto")
    (297.0, 210.0)
    """
    long, short = max(sheet.width_mm, sheet.height_mm), min(sheet.width_mm, sheet.height_mm)
    if turn == "as-given" or abs(aspect - 1) < 1e-6:
        return sheet.width_mm, sheet.height_mm
    return (long, short) if aspect > 1 else (short, long)


def turned_margins(margins: MarginsMm, width_mm: float, height_mm: float) -> MarginsMm:
    """Margins as they face the viewer.

    A sheet is fed short edge first: the fed top is a short edge. An upright sheet keeps its
    margins. A wide one was turned a quarter anticlockwise: the edge that entered first is its
    left edge, so left = fed top, top = fed right, right = fed bottom, bottom = fed left.
    """
    if width_mm <= height_mm:
        return margins
    return MarginsMm(top=margins.right, right=margins.bottom, bottom=margins.left, left=margins.top)


def sensible_border_mm(width_mm: float, height_mm: float) -> float:
    """Clear edge to leave where the ticket names none, by the sheet's long side.

    >>> sensible_border_mm(210, 297), sensible_border_mm(841, 1189)
    (13.0, 25.0)
    """
    long = max(width_mm, height_mm)
    return next(edge for limit, edge in _CLEAR_EDGE_MM if long <= limit)


def room_for_picture(
    width_mm: float, height_mm: float, margins: MarginsMm, border: BorderWish
) -> Room:
    """The rectangle that the border leaves, on a sheet as it faces the viewer.

    Sides that the ticket leaves open get the sensible border, or the unprintable margin where
    that is wider, alike on opposite sides so that a centred picture stays printable. The room
    is never smaller than a millimetre; a border that eats the sheet shows as a conflict.
    """
    top, right, bottom, left = _borders(width_mm, height_mm, margins, border)
    return Room(
        left_mm=left,
        top_mm=top,
        width_mm=max(1.0, width_mm - left - right),
        height_mm=max(1.0, height_mm - top - bottom),
    )


def _borders(
    width_mm: float, height_mm: float, margins: MarginsMm, border: BorderWish
) -> tuple[float, float, float, float]:
    clear = sensible_border_mm(width_mm, height_mm)
    across = max(clear, margins.left, margins.right)
    down = max(clear, margins.top, margins.bottom)
    if border.kind == "even":
        even = border.even_mm if border.even_mm is not None else max(across, down)
        return even, even, even, even
    if border.kind == "weighted":
        top = max(across, margins.top)
        return top, across, max(top + _weighted_more(top), margins.bottom), across
    if border.kind == "sides":
        given = (border.top_mm, border.right_mm, border.bottom_mm, border.left_mm)
        usual = (down, across, down, across)
        top, right, bottom, left = (
            mine if mine is not None else other for mine, other in zip(given, usual, strict=True)
        )
        return top, right, bottom, left
    return down, across, down, across


def _weighted_more(top_mm: float) -> float:
    """How much wider the foot is than the head."""
    return min(WEIGHTED_MOST_MM, WEIGHTED_SHARE * top_mm)


def picture_width_mm(wish: PrintWish, aspect: float, room: Room) -> float:
    """Width of the picture: the wished one, or as large as the room allows.

    >>> picture_width_mm(PrintWish(long_side_mm=300), 0.75, Room(left_mm=0, top_mm=0,
    ...     width_mm=100, height_mm=100))
    225.0
    """
    if wish.width_mm is not None:
        return wish.width_mm
    if wish.height_mm is not None:
        return wish.height_mm * aspect
    if wish.long_side_mm is not None:
        return wish.long_side_mm * min(1.0, aspect)
    return min(room.width_mm, room.height_mm * aspect)


def place_picture(
    *,
    sheet: Sheet,
    width_mm: float,
    height_mm: float,
    margins: MarginsMm,
    border: BorderWish,
    picture_px: tuple[int, int],
    ppi: float,
) -> SheetPlan:
    """Lay the picture on the sheet, in whole pixels.

    Parameters
    ----------
    sheet
        What was asked for (for its name).
    width_mm, height_mm, margins
        The sheet as it faces the viewer, and its unprintable margins as turned.
    picture_px, ppi
        The picture on paper.

    Notes
    -----
    Borders and picture add up to the sheet exactly in pixels, in both directions. Where the
    spare pixels are odd, the odd one goes right and below.
    """
    sheet_px = mm_to_px(width_mm, ppi), mm_to_px(height_mm, ppi)
    spare_x, spare_y = sheet_px[0] - picture_px[0], sheet_px[1] - picture_px[1]
    left = _start_px(spare_x, border, border.left_mm, border.right_mm, ppi)
    if border.kind == "weighted":
        spare_mm = px_to_mm(spare_y, ppi)
        top_mm = max(spare_mm / (2 + WEIGHTED_SHARE), (spare_mm - WEIGHTED_MOST_MM) / 2)
        top = mm_to_px(top_mm, ppi)
    else:
        top = _start_px(spare_y, border, border.top_mm, border.bottom_mm, ppi)
    left += mm_to_px(border.shift_x_mm, ppi)
    top += mm_to_px(border.shift_y_mm, ppi)
    borders = tuple(px_to_mm(side, ppi) for side in (top, spare_x - left, spare_y - top, left))
    unprintable = (margins.top, margins.right, margins.bottom, margins.left)
    return SheetPlan(
        name=sheet.name,
        width_px=sheet_px[0],
        height_px=sheet_px[1],
        width_mm=px_to_mm(sheet_px[0], ppi),
        height_mm=px_to_mm(sheet_px[1], ppi),
        asked_width_mm=width_mm,
        asked_height_mm=height_mm,
        picture_left_px=left,
        picture_top_px=top,
        border_mm=(borders[0], borders[1], borders[2], borders[3]),
        margins=margins,
        fits_printable=all(
            side >= least - _SLACK_MM for side, least in zip(borders, unprintable, strict=True)
        ),
    )


def _start_px(
    spare_px: int, border: BorderWish, first_mm: float | None, second_mm: float | None, ppi: float
) -> int:
    """Where the picture begins along one direction, from the spare pixels."""
    if border.kind != "sides" or (first_mm is None and second_mm is None):
        return spare_px // 2
    if second_mm is None:
        return mm_to_px(first_mm or 0.0, ppi)
    if first_mm is None:
        return spare_px - mm_to_px(second_mm, ppi)
    first_px, second_px = mm_to_px(first_mm, ppi), mm_to_px(second_mm, ppi)
    return first_px + (spare_px - first_px - second_px) // 2


def sheet_plan_findings(
    plan: SheetPlan,
    *,
    border: BorderWish,
    picture_mm: tuple[float, float],
    ruler: bool = False,
    key: bool = False,
) -> tuple[Finding, ...]:
    """Say every conflict between picture, border, sheet and printer."""
    conflict = _conflict(plan, picture_mm)
    found = [conflict] if conflict else _thin(plan)
    found += _unequal(plan, border, picture_mm)
    found += _centre(plan, border)
    if (ruler or key) and not conflict:
        found += _no_room(plan, ruler=ruler, key=key)
    return tuple(found)


def _conflict(plan: SheetPlan, picture_mm: tuple[float, float]) -> Finding | None:
    """The picture off the sheet, or where the printer cannot reach: nothing can be printed."""
    margins = plan.margins
    least = (margins.top, margins.right, margins.bottom, margins.left)
    off = [
        (name, -side) for name, side in zip(SIDES, plan.border_mm, strict=True) if side < -_SLACK_MM
    ]
    shy = [
        (name, least[i] - plan.border_mm[i])
        for i, name in enumerate(SIDES)
        if plan.border_mm[i] < least[i] - _SLACK_MM
    ]
    if not shy and not off:
        return None
    fits = _largest_centred(plan, picture_mm)
    choices = [
        f"Print it no larger than {size_words(*fits)} on this sheet, centred."
        if fits[0] < picture_mm[0] - _SLACK_MM
        else "Centre the picture on the sheet: there it fits.",
        "Take a larger sheet.",
    ]
    figures: dict[str, float | int | str | bool] = {
        "largest_width_mm": fits[0],
        "largest_height_mm": fits[1],
    }
    if off:
        sides = joined(f"{plain_number(much)} mm at the {name}" for name, much in off)
        return finding(
            "picture-off-sheet",
            "stop",
            f"The picture, {size_words(*picture_mm)}, reaches over the sheet of "
            f"{size_words(plan.width_mm, plan.height_mm)}: {sides}.",
            "What lies off the sheet is not printed.",
            *choices,
            figures=figures | {f"over_{name}_mm": much for name, much in off},
        )
    sides = joined(f"{plain_number(much)} mm at the {name}" for name, much in shy)
    return finding(
        "picture-in-margin",
        "stop",
        f"The picture lies where the printer cannot reach: {sides}.",
        "The printer would cut it there, or the print dialogue would shrink it to fit.",
        *choices,
        figures=figures | {f"short_{name}_mm": much for name, much in shy},
    )


def _largest_centred(plan: SheetPlan, picture_mm: tuple[float, float]) -> tuple[float, float]:
    """The largest picture of the same shape that fits centred, whole tenths of a mm."""
    margins = plan.margins
    across = plan.width_mm - 2 * max(margins.left, margins.right)
    down = plan.height_mm - 2 * max(margins.top, margins.bottom)
    factor = max(0.0, min(across / picture_mm[0], down / picture_mm[1]))
    width, height = (math.floor(side * factor * 10) / 10 for side in picture_mm)
    return width, height


def _thin(plan: SheetPlan) -> list[Finding]:
    narrow = min(plan.border_mm)
    if narrow >= THIN_BORDER_MM - _SLACK_MM:
        return []
    return [
        finding(
            "thin-border",
            "mind",
            f"The narrowest border is {both_units(narrow)}.",
            f"Below {both_units(THIN_BORDER_MM)} a border looks uneven as soon as the sheet is "
            "trimmed or fed a little askew.",
            "Print a little smaller, or take a larger sheet.",
            source=PRACTICE,
            figures={"border_mm": narrow},
        )
    ]


def _unequal(plan: SheetPlan, border: BorderWish, picture_mm: tuple[float, float]) -> list[Finding]:
    """An even border that the shapes do not allow; sides that do not add up."""
    top, right, bottom, left = plan.border_mm
    least = min(plan.border_mm)
    if border.kind == "even" and max(plan.border_mm) - least > _UNEQUAL_MM and least >= 0:
        trimmed = picture_mm[0] + 2 * least, picture_mm[1] + 2 * least
        return [
            finding(
                "border-not-even",
                "mind",
                f"Picture and sheet differ in shape: the borders are {plain_number(left)} mm left "
                f"and right, {plain_number(top)} mm above and below.",
                "The whole picture is kept, so the border cannot be the same all round.",
                f"Trim the sheet to {size_words(*trimmed)} after printing: then it is even.",
                "Or let the picture be cut to fit: crop shape “sheet”.",
                figures={"side_mm": left, "above_mm": top},
            )
        ]
    wished = (border.top_mm, border.right_mm, border.bottom_mm, border.left_mm)
    missed = [
        f"{name} {plain_number(have)} instead of {plain_number(want)} mm"
        for name, have, want in zip(SIDES, (top, right, bottom, left), wished, strict=True)
        if want is not None and abs(have - want) > _UNEQUAL_MM
    ]
    shifted = border.shift_x_mm != 0 or border.shift_y_mm != 0
    if border.kind != "sides" or not missed or shifted:
        return []
    return [
        finding(
            "sides-do-not-add-up",
            "mind",
            f"Borders and picture do not add up to the sheet: {joined(missed)}.",
            "The whole picture is kept at its size and lies midway between the wished borders.",
            "Leave one border of each pair open, or leave the size open.",
            "Or let the picture be cut to fit: crop shape “sheet”.",
        )
    ]


def _centre(plan: SheetPlan, border: BorderWish) -> list[Finding]:
    """The printable area's centre is not the sheet's: a print dialogue may centre on it."""
    margins = plan.margins
    right_mm = (margins.left - margins.right) / 2
    down_mm = (margins.top - margins.bottom) / 2
    if max(abs(right_mm), abs(down_mm)) < _OFF_CENTRE_MM or border.kind == "sides":
        return []
    where = [
        f"{plain_number(abs(much))} mm {after if much > 0 else before}"
        for much, before, after in ((right_mm, "left", "right"), (down_mm, "above", "below"))
        if abs(much) >= _OFF_CENTRE_MM
    ]
    turned = (
        " The edge that enters the printer first is taken to be the left one."
        if plan.width_px > plan.height_px
        else ""
    )
    return [
        finding(
            "area-off-centre",
            "fine",
            f"The printable area's centre lies {joined(where)} of the sheet's true centre, because "
            f"this paper's margins differ.{turned}",
            "The picture is placed from the sheet's true centre. A print dialogue that centres on "
            "the printable area would move it.",
            "Print the file at 100 % on a sheet of exactly this size, with the dialogue's own "
            "centring off.",
            figures={"right_mm": right_mm, "down_mm": down_mm},
        )
    ]


def _no_room(plan: SheetPlan, *, ruler: bool, key: bool) -> list[Finding]:
    """Ruler and key want a strip of bare, printable paper."""
    margins = plan.margins
    free = (
        plan.border_mm[0] - margins.top,
        plan.border_mm[2] - margins.bottom,
    )
    sideways = (plan.border_mm[1] - margins.right, plan.border_mm[3] - margins.left)
    long_enough = [max(free)] if plan.width_mm - margins.left - margins.right > _RULER_MM else []
    if plan.height_mm - margins.top - margins.bottom > _RULER_MM:
        long_enough.append(max(sideways))
    short = []
    if ruler and max(long_enough, default=0.0) < _RULER_ROOM_MM:
        short.append("ruler")
    if key and max(*free, *sideways) < _KEY_ROOM_MM:
        short.append("key")
    if not short:
        return []
    return [
        finding(
            "no-room-in-border",
            "mind",
            f"The widest printable border is {plain_number(max(*free, *sideways, 0.0))} mm; "
            f"the {joined(short)} want {plain_number(_RULER_ROOM_MM)} mm.",
            f"The {joined(short)} may be left out or lie close to the picture.",
            "Print a little smaller, or do without.",
            figures={"widest_mm": max(*free, *sideways, 0.0)},
        )
    ]
