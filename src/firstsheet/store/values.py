"""Single values of a ticket, read and written.

Takes a value as written in TOML or typed as an option; gives the value for the Ticket record, or
BadValue with what would be right. Tests: tests/store/test_tickets.py.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from firstsheet.engine.colour.spaces import GREYS, SPACES
from firstsheet.engine.errors import TicketError
from firstsheet.engine.sizing.size import parse_shape
from firstsheet.engine.units import parse_length_mm
from firstsheet.store.toml_text import nearest

__all__ = [
    "BadValue",
    "Reader",
    "Writer",
    "as_it_is",
    "as_number",
    "bits_value",
    "choice_value",
    "flag_value",
    "length_text",
    "length_value",
    "lux_value",
    "number_value",
    "parsed_value",
    "read_as_value",
    "shape_value",
    "tidy_number",
    "whole_value",
    "word_or_number_value",
    "words_value",
]


class BadValue(Exception):  # noqa: N818  (never leaves the store)
    """A value that cannot be; `why` says what is wrong, `choice` what would be right."""

    def __init__(self, choice: str, why: str = "cannot be") -> None:
        super().__init__(choice)
        self.choice, self.why = choice, why


Reader = Callable[[Any], Any]
Writer = Callable[[Any], Any]


def length_text(length_mm: float) -> str:
    """A length that reads back as exactly the same number.

    >>> length_text(381.0), length_text(0.1411), length_text(-3.5)
    ('381 mm', '0.1411 mm', '-3.5 mm')
    """
    digits = format(Decimal(repr(float(length_mm))), "f")
    return (digits.rstrip("0").rstrip(".") if "." in digits else digits) + " mm"


def length_value(*, zero: bool = False, signed: bool = False, most_mm: float = 100_000.0) -> Reader:
    """A reader of lengths with their unit, up to a longest one."""

    def read(value: Any) -> float:
        if not isinstance(value, str):
            example = f"{value} mm" if isinstance(value, (int, float)) else "381 mm"
            raise BadValue(f'Write it with its unit, in quotes: "{example}".', "has no unit")
        try:
            length_mm = parse_length_mm(value, zero=zero, signed=signed)
        except TicketError as slip:
            raise BadValue(
                slip.choice,
                "is not above zero" if "above zero" in slip.found else "is not a length",
            ) from slip
        if abs(length_mm) > most_mm:
            raise BadValue(f"It may be {length_text(most_mm)} at most.", "is too long")
        return length_mm

    return read


def choice_value(*allowed: str) -> Reader:
    """A reader of one word out of a few; capitals do not matter."""

    def read(value: Any) -> str:
        if isinstance(value, str) and value.strip().lower() in allowed:
            return value.strip().lower()
        known = ", ".join(f"“{one}”" for one in allowed)
        near = nearest(str(value), allowed) if isinstance(value, str) else ""
        hint = f"{near} " if near.startswith("Perhaps") else ""
        raise BadValue(f"{hint}Allowed: {known}.", "is not one of the choices")

    return read


def flag_value(value: Any) -> bool:
    """True or false."""
    if isinstance(value, bool):
        return value
    raise BadValue("Write true or false, without quotes.", "is neither true nor false")


def number_value(least: float, most: float, *, what: str = "a number") -> Reader:
    """A reader of numbers within bounds."""

    def read(value: Any) -> float:
        number = as_number(value)
        if number is None or not least <= number <= most:
            raise BadValue(f"Write {what} from {least:g} to {most:g}.", "is out of range")
        return number

    return read


def as_number(value: Any) -> float | None:
    """A number, also in quotes; None where it is none."""
    if isinstance(value, bool):
        return None
    plain = value.strip().replace(",", ".") if isinstance(value, str) else value
    if isinstance(plain, str) and not re.fullmatch(r"[-+]?[0-9]+(\.[0-9]+)?", plain):
        return None
    try:
        number = float(plain)
    except (TypeError, OverflowError):  # a date, a list; more digits than a float holds
        return None
    return number if math.isfinite(number) else None


def whole_value(value: Any) -> int:
    """A whole number from 1."""
    number = as_number(value)
    if number is None or number != int(number) or number < 1:
        raise BadValue("Write a whole number from 1.", "is not a whole number from 1")
    return int(number)


def bits_value(value: Any) -> int:
    """8 or 16, also in quotes."""
    if as_number(value) not in (8.0, 16.0):
        raise BadValue("Write 8 or 16.", "is not a depth that is written")
    return int(as_number(value) or 0)


def word_or_number_value(words: tuple[str, ...], least: float, most: float) -> Reader:
    """A reader of one of a few words, or a number within bounds."""

    def read(value: Any) -> float | str:
        if isinstance(value, str) and value.strip().lower() in words:
            return value.strip().lower()
        number = as_number(value)
        if number is not None and least <= number <= most:
            return number
        known = ", ".join(f"“{one}”" for one in words)
        raise BadValue(f"Write {known}, or a number from {least:g} to {most:g}.")

    return read


def lux_value(value: Any) -> float:
    """An illuminance: `200`, `"200 lux"`."""
    plain = (
        re.sub(r"\s*(lux|lx)$", "", value.strip(), flags=re.IGNORECASE)
        if isinstance(value, str)
        else value
    )
    number = as_number(plain)
    if number is None or not 1 <= number <= 200_000:
        raise BadValue(
            'Write the light on the print in lux: 200, or "200 lux".', "is not an illuminance"
        )
    return number


def words_value(value: Any) -> str:
    """A text that is not empty."""
    if not isinstance(value, str) or not value.strip():
        raise BadValue("Write words in quotes.", "is not a text")
    if "\0" in value:
        raise BadValue("Take the nought byte out.", "holds a nought byte")
    return value


def parsed_value(parser: Callable[[str], Any]) -> Reader:
    """A text kept as written, once the engine can read it."""

    def read(value: Any) -> str:
        words = words_value(value)
        try:
            parser(words)
        except TicketError as slip:
            raise BadValue(slip.choice, slip.found.rstrip(".").split("” ", 1)[-1]) from slip
        return words

    return read


def shape_value(value: str) -> None:
    """Check a shape of a crop; `sheet` takes whatever the border leaves."""
    if value.strip().lower() != "sheet":
        parse_shape(value)


def read_as_value(value: Any) -> str:
    """A known colour space, or a profile's file."""
    words = words_value(value)
    known = (*SPACES, *GREYS)
    if words in known or words.lower().endswith((".icc", ".icm")):
        return words
    raise BadValue(
        nearest(words.lower(), known) + " A profile's file does as well, *.icc.",
        "is not a space that is known here",
    )


def as_it_is(value: Any) -> Any:
    """Written as it is held."""
    return value


def tidy_number(value: Any) -> Any:
    """A whole float as an integer, everything else as it is."""
    return int(value) if isinstance(value, float) and value == int(value) else value
