"""Millimetres, inches, pixels and pixels per inch.

Takes lengths as people write them; gives millimetres, and the other way round. 1 in = 25.4 mm
exactly (international yard and pound agreement, 1959). Theory: docs/theory/sizing.md.
Tests: tests/engine/test_units.py.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from firstsheet.engine.errors import TicketError

__all__ = [
    "MM_PER_INCH",
    "both_units",
    "bytes_words",
    "distance_words",
    "lab_words",
    "lengths_apart",
    "mm_to_px",
    "parse_length_mm",
    "plain_number",
    "px_to_mm",
    "size_words",
]

MM_PER_INCH = 25.4

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_UNITS = "mm|cm|m|inches|inch|in|\"|″|feet|foot|ft|'|′"
_LENGTH = re.compile(
    r"^\s*(?P<sign>[+\-−]?)\s*(?:(?P<whole>[0-9]+)[ \-])?(?:(?P<top>[0-9]+)/(?P<under>[0-9]+)"
    rf"|(?P<number>{_NUMBER}))\s*(?P<unit>{_UNITS})\.?\s*$",
    re.IGNORECASE,
)
_FEET = dict.fromkeys(("feet", "foot", "ft", "'", "′"), 12 * MM_PER_INCH)
_UNIT_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, **_FEET}
_WIDE_LETTERS = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}  # as East Asian keys type
_METRES_FROM_MM = 3000.0  # from here a distance is said in whole decimetres and feet


def parse_length_mm(text: str, *, zero: bool = False, signed: bool = False) -> float:
    """Read a length with its unit, in millimetres.

    Parameters
    ----------
    text
        For instance `381 mm`, `38.1cm`, `15in`, `15"`, `8 1/2 in`, `1.5 m`, `6 ft`. A unit must
        stand there.
    zero
        Whether nought is a length here (a border may be nought, a print may not).
    signed
        Whether a sign is allowed (a shift may go left or up).

    Raises
    ------
    TicketError
        If it is no length, has no unit, or is not above zero where it must be.

    Examples
    --------
    >>> parse_length_mm("15in")
    381.0
    >>> parse_length_mm("1,5 m")
    1500.0
    >>> parse_length_mm("8 1/2 in"), parse_length_mm("-3mm", signed=True)
    (215.9, -3.0)
    """
    match = _LENGTH.match(text.translate(_WIDE_LETTERS))
    number = math.nan if match is None else _number_of(match)
    if match is None or not math.isfinite(number) or (match["sign"] and not signed):
        raise TicketError(
            f"“{text}” is not a length.",
            "A bare number could be millimetres or inches, so it is not guessed.",
            "Write the unit: 381mm, 38.1cm or 15in.",
            "not-a-length",
        )
    if number == 0 and not (zero or signed):
        raise TicketError(
            f"“{text}” is not above zero.",
            "Nothing can be printed at that size.",
            "Give a length above zero.",
            "not-a-length",
        )
    unit_mm = _UNIT_MM.get(match["unit"].lower(), MM_PER_INCH)
    length_mm = number if unit_mm == 1.0 else round(number * unit_mm, 9)
    return (-length_mm if match["sign"] in ("-", "−") else length_mm) + 0.0


def lengths_apart(text: str) -> list[str]:
    """Several lengths in one text, each with its unit beside it; other words stay words.

    >>> lengths_apart("3 mm, 3 mm, 1,4 cm, 3mm"), lengths_apart("even 2.5 in")
    (['3mm', '3mm', '1,4cm', '3mm'], ['even', '2.5in'])
    """
    apart = re.sub(r",(?!\d)|(?<=[a-z\"″']),|·", " ", text)  # inside a number a comma is decimal
    return re.sub(rf"(?<=\d) +(?=(?:{_UNITS})(?![a-z]))", "", apart, flags=re.IGNORECASE).split()


def _number_of(match: re.Match[str]) -> float:
    """The number in front of the unit; nan where a whole number stands before a decimal one."""
    whole = float(match["whole"] or 0)
    if match["top"] is not None:
        under = float(match["under"])
        return whole + float(match["top"]) / under if under else math.nan
    if match["whole"] is not None:
        return math.nan
    return float(match["number"].replace(",", "."))


def mm_to_px(length_mm: float, ppi: float) -> int:
    """Whole pixels nearest to a length; half a pixel rounds up.

    >>> mm_to_px(297, 300), mm_to_px(381, 360)
    (3508, 5400)
    """
    return math.floor(length_mm / MM_PER_INCH * ppi + 0.5)


def px_to_mm(length_px: float, ppi: float) -> float:
    """Length on paper of a number of pixels, mm.

    >>> px_to_mm(5400, 360)
    381.0
    """
    return length_px * MM_PER_INCH / ppi


def lab_words(lab: Sequence[float]) -> str:
    """A colour as L*, a*, b*, whole numbers.

    >>> lab_words((32.4, 20.0, -58.6))
    'L* 32 a* +20 b* -59'
    """
    return f"L* {lab[0]:.0f} a* {lab[1]:+.0f} b* {lab[2]:+.0f}"


def plain_number(value: float, decimals: int = 1) -> str:
    """A number rounded for reading, without idle zeros.

    >>> plain_number(381.04), plain_number(12.345, 2), plain_number(-0.01)
    ('381', '12.35', '0')
    """
    text = f"{value + 1e-9 * (1 if value >= 0 else -1):.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def both_units(length_mm: float) -> str:
    """A length on paper as people read it, in both units.

    >>> both_units(381), both_units(5), both_units(329.4)
    ('381 mm (15.0 in)', '5 mm (0.20 in)', '329.4 mm (13.0 in)')
    """
    inches = length_mm / MM_PER_INCH
    decimals = 2 if abs(inches) < 1 else 1
    return f"{plain_number(length_mm)} mm ({inches:.{decimals}f} in)"


def size_words(width_mm: float, height_mm: float) -> str:
    """A width and a height in both units, width first.

    >>> size_words(483, 329)
    '483 × 329 mm (19.0 × 13.0 in)'
    """
    return (
        f"{plain_number(width_mm)} × {plain_number(height_mm)} mm "
        f"({width_mm / MM_PER_INCH:.1f} × {height_mm / MM_PER_INCH:.1f} in)"
    )


def distance_words(distance_mm: float) -> str:
    """A viewing distance as people say it: cm below a metre, metres from there on, then feet.

    >>> distance_words(300), distance_words(1500), distance_words(2000)
    ('30 cm (12 in)', '1.5 m (59 in)', '2 m (79 in)')
    >>> distance_words(3000), distance_words(21094)
    ('3 m (10 ft)', '21.1 m (69 ft)')
    """
    if distance_mm >= _METRES_FROM_MM:
        feet = distance_mm / (12 * MM_PER_INCH)
        return f"{plain_number(distance_mm / 1000)} m ({feet:.0f} ft)"
    inches = f"{distance_mm / MM_PER_INCH:.0f} in"
    if distance_mm < 1000:
        return f"{plain_number(distance_mm / 10)} cm ({inches})"
    return f"{plain_number(distance_mm / 1000, 2)} m ({inches})"


def bytes_words(count: int) -> str:
    """Bytes as people read them, decimal units.

    >>> bytes_words(192_067_200), bytes_words(512)
    ('192.1 MB', '512 bytes')
    """
    for unit, size in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if count >= size:
            return f"{count / size:.1f} {unit}" if unit != "GB" else f"{count / size:.2f} GB"
    return f"{count} bytes"
