"""Millimetres, inches, pixels and pixels per inch.

Takes lengths as people write them; gives millimetres. 1 in = 25.4 mm exactly (check-value:
international inch, ISO 31-1 / 1959 agreement). Tests: tests/engine/test_units.py.
"""

from __future__ import annotations

import math
import re

from firstsheet.engine.errors import TicketSlipError

__all__ = ["MM_PER_INCH", "both_units", "mm_to_px", "parse_length_mm", "px_to_mm"]

MM_PER_INCH = 25.4

_LENGTH = re.compile(
    r"^\s*([0-9]+(?:[.,][0-9]+)?)\s*(mm|cm|m|inches|inch|in|\"|″)\s*$", re.IGNORECASE
)
_UNIT_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0}


def parse_length_mm(text: str) -> float:
    """Read a length with its unit, in millimetres.

    Parameters
    ----------
    text
        For instance `381 mm`, `38.1cm`, `15in`, `15"`, `1.5 m`. A unit must stand there.

    Raises
    ------
    TicketSlipError
        If it is no length, has no unit, or is not above zero.

    Examples
    --------
    >>> parse_length_mm("15in")
    381.0
    >>> parse_length_mm("1,5 m")
    1500.0
    """
    match = _LENGTH.match(text)
    if match is None:
        raise TicketSlipError(
            f"“{text}” is not a length.",
            "A bare number could be millimetres or inches, so it is not guessed.",
            "Write the unit: 381mm, 38.1cm or 15in.",
            "not-a-length",
        )
    number = float(match.group(1).replace(",", "."))
    if not (math.isfinite(number) and number > 0):
        raise TicketSlipError(
            f"“{text}” is not above zero.",
            "Nothing can be printed at that size.",
            "Give a length above zero.",
            "not-a-length",
        )
    return number * _UNIT_MM.get(match.group(2).lower(), MM_PER_INCH)


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
    return length_px / ppi * MM_PER_INCH


def both_units(length_mm: float) -> str:
    """A length as people read it, in both units.

    >>> both_units(381)
    '381 mm (15.00 in)'
    """
    return f"{length_mm:.4g} mm ({length_mm / MM_PER_INCH:.2f} in)"
