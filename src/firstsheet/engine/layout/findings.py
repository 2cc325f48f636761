"""Conflicts and remarks about a picture on its sheet.

Takes a SheetPlan and the border wish; gives findings. Theory: docs/theory/layout.md.
Tests: tests/engine/test_layout.py.
"""

from __future__ import annotations

import math

from firstsheet.engine.findings import PRACTICE, choice, finding, joined
from firstsheet.engine.layout.sheet import SLACK_MM
from firstsheet.engine.records import BorderWish, Choice, Finding
from firstsheet.engine.records.plan import SheetPlan
from firstsheet.engine.sheets import SHEETS
from firstsheet.engine.units import both_units, plain_number, size_words

__all__ = ["SIDES", "THIN_BORDER_MM", "sheet_plan_findings"]

SIDES = ("top", "right", "bottom", "left")
THIN_BORDER_MM = 6.0  # thinner borders look uneven after trimming; common practice, no source
_OFF_CENTRE_MM = 0.5
_UNEQUAL_MM = 0.5
_RULER_MM, _RULER_ROOM_MM, _KEY_ROOM_MM = 100.0, 8.0, 8.0


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
        (name, -side) for name, side in zip(SIDES, plan.border_mm, strict=True) if side < -SLACK_MM
    ]
    shy = [
        (name, least[i] - plan.border_mm[i])
        for i, name in enumerate(SIDES)
        if plan.border_mm[i] < least[i] - SLACK_MM
    ]
    if not shy and not off:
        return None
    fits = _largest_centred(plan, picture_mm)
    smaller = fits[0] < picture_mm[0] - SLACK_MM
    centred = {"border": "centred", "border.shift-x": "", "border.shift-y": ""}
    choices = [
        choice(
            f"Print it {size_words(*fits)}, centred: the largest on this sheet."
            if smaller
            else "Centre the picture on the sheet: there it fits.",
            centred | ({"print.width": f"{fits[0]:.1f} mm"} if smaller else {}),
        ),
        *_larger_sheet(plan, picture_mm),
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
            f"{size_words(plan.asked_width_mm, plan.asked_height_mm)}: {sides}.",
            "What lies off the sheet is not printed.",
            *choices,
            figures=figures | {f"over_{name}_mm": much for name, much in off},
        )
    sides = joined(f"{plain_number(much)} mm at the {name}" for name, much in shy)
    return finding(
        "picture-in-margin",
        "stop",
        f"The picture lies where the printer cannot reach: {sides}.",
        "The printer would cut it there, or the print dialog would shrink it to fit.",
        *choices,
        figures=figures | {f"short_{name}_mm": much for name, much in shy},
    )


_UNITS = {"in", "cm"}  # at the end of a name; the A series has none


def _larger_sheet(plan: SheetPlan, picture_mm: tuple[float, float] | None) -> tuple[Choice, ...]:
    """The smallest sheet that holds the picture and a border; of the same family, if any does."""
    across, down = picture_mm or (
        plan.width_mm - plan.border_mm[1] - plan.border_mm[3],
        plan.height_mm - plan.border_mm[0] - plan.border_mm[2],
    )
    margins = plan.margins
    rim_mm = max(THIN_BORDER_MM, margins.top, margins.right, margins.bottom, margins.left)
    needed = sorted((across + 2 * rim_mm, down + 2 * rim_mm))
    fits = [
        one
        for one in SHEETS.values()
        if min(one.width_mm, one.height_mm) >= needed[0]
        and max(one.width_mm, one.height_mm) >= needed[1]
    ]
    if not fits:
        return (choice("Use a larger sheet: none of the named ones holds it."),)
    alike = [one for one in fits if one.name[-2:] in _UNITS & {plan.name[-2:]}] or [
        one for one in fits if not {one.name[-2:], plan.name[-2:]} & _UNITS
    ]
    smallest = min(alike or fits, key=lambda one: one.width_mm * one.height_mm)
    size = size_words(smallest.width_mm, smallest.height_mm)
    words = f"Use a larger sheet: {smallest.name}, {size}."
    return (choice(words, {"print.sheet": smallest.name}),)


def _largest_centred(plan: SheetPlan, picture_mm: tuple[float, float]) -> tuple[float, float]:
    """The largest picture of the same shape that fits centred, whole tenths of a mm."""
    margins = plan.margins
    across = plan.asked_width_mm - 2 * max(margins.left, margins.right)
    down = plan.asked_height_mm - 2 * max(margins.top, margins.bottom)
    factor = max(0.0, min(across / picture_mm[0], down / picture_mm[1]))
    width, height = (math.floor(side * factor * 10 + 1e-6) / 10 for side in picture_mm)
    return width, height


def _thin(plan: SheetPlan) -> list[Finding]:
    narrow = min(plan.border_mm)
    if narrow >= THIN_BORDER_MM - SLACK_MM:
        return []
    return [
        finding(
            "thin-border",
            "caution",
            f"The narrowest border is {both_units(narrow)}.",
            f"Below {both_units(THIN_BORDER_MM)} a border looks uneven as soon as the sheet is "
            "trimmed or fed a little askew.",
            *_larger_sheet(plan, None),
            "Print a little smaller.",
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
        wish_mm = border.even_mm
        other = wish_mm is not None and abs(wish_mm - least) > _UNEQUAL_MM
        instead = f", not {plain_number(wish_mm)} mm" if other and wish_mm is not None else ""
        return [
            finding(
                "border-not-even",
                "caution",
                f"Picture and sheet differ in shape: the borders are {plain_number(left)} mm left "
                f"and right, {plain_number(top)} mm above and below{instead}.",
                "The whole picture is kept, so the border cannot be the same all round.",
                f"Trim the sheet to {size_words(*trimmed)} after printing: then it is even.",
                choice("Crop the picture to the sheet's shape.", {"crop.shape": "sheet"}),
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
            "caution",
            f"Borders and picture do not add up to the sheet: {joined(missed)}.",
            "The whole picture is kept at its size and lies midway between the wished borders.",
            "Leave one border of each pair open, or leave the size open.",
            choice("Crop the picture to the sheet's shape.", {"crop.shape": "sheet"}),
        )
    ]


def _centre(plan: SheetPlan, border: BorderWish) -> list[Finding]:
    """The printable area's centre is not the sheet's: a print dialog may centre on it."""
    margins = plan.margins
    right_mm = (margins.left - margins.right) / 2
    down_mm = (margins.top - margins.bottom) / 2
    if max(abs(right_mm), abs(down_mm)) < _OFF_CENTRE_MM or border.kind == "sides":
        return []
    where = [
        f"{plain_number(abs(much))} mm {after if much > 0 else before}"
        for much, before, after in ((right_mm, "left of", "right of"), (down_mm, "above", "below"))
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
            f"The printable area's centre lies {joined(where)} the sheet's true centre, because "
            f"this paper's margins differ.{turned}",
            "The picture is placed from the sheet's true centre. A print dialog that centres on "
            "the printable area would move it.",
            "Print the file at 100 % on a sheet of exactly this size, with the dialog's own "
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
            "caution",
            f"The widest printable border is {plain_number(max(*free, *sideways, 0.0))} mm; "
            f"the {joined(short)} want {plain_number(_RULER_ROOM_MM)} mm.",
            f"The {joined(short)} may be left out or lie close to the picture.",
            choice(f"Do without the {joined(short)}.", {f"output.{one}": "" for one in short}),
            "Print a little smaller.",
            figures={"widest_mm": max(*free, *sideways, 0.0)},
        )
    ]
