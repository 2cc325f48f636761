"""Where the picture lies on the sheet.

Takes sheet, margins, border wish and picture size; gives the room for the picture in mm and its
place in whole pixels. The sheet is always meant as it faces the viewer. Conflicts are told in
`layout_findings`.
Theory: docs/theory/layout.md. Tests: tests/engine/test_layout.py.
"""

from __future__ import annotations

import math
from typing import Literal

from firstsheet.engine.records import BorderWish, MarginsMm, PrintWish, Record
from firstsheet.engine.records.plan import SheetPlan
from firstsheet.engine.sheets import Sheet
from firstsheet.engine.units import mm_to_px, px_to_mm

__all__ = [
    "SLACK_MM",
    "Room",
    "as_it_faces",
    "picture_width_mm",
    "place_picture",
    "room_for_picture",
    "sensible_border_mm",
    "turned_margins",
]

WEIGHTED_SHARE = 0.2  # a weighted foot is wider by a fifth; common practice, no source
WEIGHTED_MOST_MM = 12.0  # and never by more than about half an inch; common practice, no source
# Clear edge by the sheet's long side, as labs advise it; common practice, no source.
_CLEAR_EDGE_MM = ((254.0, 6.0), (508.0, 13.0), (762.0, 19.0), (math.inf, 25.0))
SLACK_MM = 0.1  # rounding to pixels is no conflict


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
        top = mm_to_px(min(top_mm, max(0.0, spare_mm - margins.bottom)), ppi)
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
            side >= least - SLACK_MM for side, least in zip(borders, unprintable, strict=True)
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
