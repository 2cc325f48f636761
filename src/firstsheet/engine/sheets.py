"""Sheets, frames and their names.

Takes a name or a size as people write it; gives a Sheet in millimetres. ISO 216 for the
A series; the ANSI and North American sizes as in PWG 5101.1 (media standardized names); frame
sizes are common practice, no source. Theory: docs/theory/layout.md.
Tests: tests/engine/test_sheets.py.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from firstsheet.engine.errors import TicketError
from firstsheet.engine.findings import PRACTICE, finding
from firstsheet.engine.records import Finding, Record
from firstsheet.engine.units import MM_PER_INCH, parse_length_mm, size_words

__all__ = ["SHEETS", "Sheet", "parse_sheet", "sheet_findings"]

SheetKind = Literal["paper", "frame", "own"]


class Sheet(Record):
    """One size. Named ones stand upright (short side first); sizes stay as they were given."""

    name: str
    width_mm: float
    height_mm: float
    kind: SheetKind = "own"  # paper one buys, a frame or picture size, or the person's own
    note: str = ""


def _metric(name: str, width_mm: float, height_mm: float, kind: SheetKind, note: str = "") -> Sheet:
    return Sheet(name=name, width_mm=width_mm, height_mm=height_mm, kind=kind, note=note)


def _inches(width_in: float, height_in: float, kind: SheetKind, note: str = "") -> Sheet:
    return Sheet(
        name=f"{width_in:g}x{height_in:g}in",
        width_mm=round(width_in * MM_PER_INCH, 6),
        height_mm=round(height_in * MM_PER_INCH, 6),
        kind=kind,
        note=note,
    )


def _centimetres(width_cm: float, height_cm: float) -> Sheet:
    name = f"{width_cm:g}x{height_cm:g}cm"
    return _metric(name, width_cm * 10.0, height_cm * 10.0, "frame")


_ALL = (
    _metric("A6", 105, 148, "paper"),
    _metric("A5", 148, 210, "paper"),
    _metric("A4", 210, 297, "paper"),
    _metric("A3", 297, 420, "paper"),
    _metric("A3+", 329, 483, "paper", "1.2 mm narrower and 0.4 mm longer than 13x19in"),
    _metric("A2", 420, 594, "paper"),
    _metric("A1", 594, 841, "paper"),
    _metric("A0", 841, 1189, "paper"),
    _inches(4, 6, "paper"),
    _inches(8.5, 11, "paper", "letter"),
    _inches(11, 17, "paper", "ledger or tabloid"),
    _inches(13, 19, "paper", "super B; boxes often call it A3+"),
    _inches(17, 22, "paper", "sold as A2+"),
    _inches(5, 7, "frame"),
    _inches(8, 10, "frame"),
    _inches(11, 14, "frame"),
    _inches(12, 16, "frame"),
    _inches(16, 20, "frame"),
    _inches(18, 24, "frame"),
    _inches(20, 24, "frame"),
    _inches(24, 30, "frame"),
    _inches(24, 36, "frame"),
    _inches(30, 40, "frame"),
    _centimetres(10, 15),
    _centimetres(13, 18),
    _centimetres(18, 24),
    _centimetres(20, 30),
    _centimetres(24, 30),
    _centimetres(30, 40),
    _centimetres(40, 50),
    _centimetres(40, 60),
    _centimetres(50, 70),
    _centimetres(60, 80),
    _centimetres(60, 90),
    _centimetres(70, 100),
)

SHEETS: Mapping[str, Sheet] = MappingProxyType({sheet.name: sheet for sheet in _ALL})

_OTHER_NAMES = {
    "letter": "8.5x11in",
    "tabloid": "11x17in",
    "ledger": "11x17in",
    "superb": "13x19in",
    "a2+": "17x22in",
}
_BY_NAME = {sheet.name.lower(): sheet for sheet in _ALL}
_BY_NAME |= {other: SHEETS[name] for other, name in _OTHER_NAMES.items()}

_SIZE = re.compile(
    r"^(?P<width>[0-9]+(?:[.,][0-9]+)?)(?P<unit>mm|cm|m|inches|inch|in|\"|″)?[x×*]"
    r"(?P<height>[0-9]+(?:[.,][0-9]+)?)(?P<last>mm|cm|m|inches|inch|in|\"|″)$"
)
_CLOSE_MM = 2.0  # below this two sheets are taken for the same on the shelf
_SAME_MM = 0.05


def parse_sheet(text: str) -> Sheet:
    """Read a sheet: a name in any case, or a size with unit, width first.

    Raises
    ------
    TicketError
        If it is neither; the choice lists the names that come close.

    Examples
    --------
    >>> parse_sheet("a3+").height_mm
    483.0
    >>> parse_sheet("19 x 13 in").width_mm
    482.6
    >>> parse_sheet("48.3×33cm").name
    '483x330mm'
    """
    plain = re.sub(r"[\s_]+", "", text.lower()).replace("×", "x").replace("super-b", "superb")
    plain = re.sub(r"(inches|inch|\"|″)", "in", plain)
    named = _BY_NAME.get(plain)
    if named is not None:
        return named
    match = _SIZE.match(plain)
    if match is None:
        raise _no_sheet(text, plain)
    width_mm = parse_length_mm(match["width"] + (match["unit"] or match["last"]))
    height_mm = parse_length_mm(match["height"] + match["last"])
    for sheet in _ALL:
        if _apart_mm(sheet, height_mm, width_mm) < _SAME_MM and sheet.kind == "paper":
            return sheet.model_copy(update={"width_mm": width_mm, "height_mm": height_mm})
    return Sheet(name=f"{width_mm:g}x{height_mm:g}mm", width_mm=width_mm, height_mm=height_mm)


def _no_sheet(text: str, plain: str) -> TicketError:
    if re.match(r"^[0-9.,]+[x×*][0-9.,]+$", plain):  # a size without its unit is not guessed
        near = [plain + "mm", plain + "cm", plain + "in"]
    else:
        near = difflib.get_close_matches(plain, list(_BY_NAME), n=4, cutoff=0.5)
    names = [_BY_NAME[name].name if name in _BY_NAME else name for name in near]
    wanted = ", ".join(dict.fromkeys(names)) or "A4, A3, A3+, 13x19in, 17x22in"
    return TicketError(
        f"“{text}” is not a sheet that is known here.",
        "Nothing can be laid out on it.",
        f"Perhaps {wanted}? Any size with its unit does as well, width first: 483x330mm.",
        "unknown-sheet",
    )


def _apart_mm(sheet: Sheet, width_mm: float, height_mm: float) -> float:
    """Largest difference of a side, mm, whichever way round the sheet lies."""
    short, long = sorted((width_mm, height_mm))
    own_short, own_long = sorted((sheet.width_mm, sheet.height_mm))
    return max(abs(short - own_short), abs(long - own_long))


def sheet_findings(sheet: Sheet) -> tuple[Finding, ...]:
    """Say where a sheet is easily taken for another: A3+ and 13x19in above all.

    A size that is neither, but within 2 mm of one, weighs *caution*; a named one *fine*.
    """
    a3_plus, super_b = SHEETS["A3+"], SHEETS["13x19in"]
    sides = sheet.width_mm, sheet.height_mm
    if min(_apart_mm(a3_plus, *sides), _apart_mm(super_b, *sides)) >= _CLOSE_MM:
        return ()
    exact = min(_apart_mm(a3_plus, *sides), _apart_mm(super_b, *sides)) < _SAME_MM
    shown = size_words(*sides)
    return (
        finding(
            "sheet-easily-mistaken",
            "fine" if exact else "caution",
            f"The sheet is taken as {shown}; A3+ is 329 × 483 mm, 13 × 19 in is 330.2 × 482.6 mm, "
            "and both are sold under either name.",
            "If the sheet in the box is the other one, the borders differ by up to 1.2 mm.",
            "Measure a sheet's short side once: 329 mm means sheet A3+, 330 mm means 13x19in.",
            source=PRACTICE,
            figures={"width_mm": sides[0], "height_mm": sides[1]},
        ),
    )
