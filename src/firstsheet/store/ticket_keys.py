"""Every key a ticket may hold: one table for reading, writing, options and docs.

Takes values as written in TOML or typed as options; gives values for the Ticket record, and the
other way round. docs/ticket.md shows each key. Tests: tests/store/test_tickets.py.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from firstsheet.engine.colour.spaces import GREYS, SPACES
from firstsheet.engine.errors import TicketSlipError
from firstsheet.engine.rescan import FILM_FORMATS, parse_film
from firstsheet.engine.sheets import parse_sheet
from firstsheet.engine.sizing import parse_shape
from firstsheet.engine.units import parse_length_mm
from firstsheet.store.toml_text import nearest

__all__ = ["KEYS", "SECTIONS", "BadValue", "TicketKey", "length_text"]


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


def _length(*, zero: bool = False, signed: bool = False, most_mm: float = 100_000.0) -> Reader:
    def read(value: Any) -> float:
        if not isinstance(value, str):
            example = f"{value} mm" if isinstance(value, (int, float)) else "381 mm"
            raise BadValue(f'Write it with its unit, in quotes: "{example}".', "has no unit")
        try:
            length_mm = parse_length_mm(value, zero=zero, signed=signed)
        except TicketSlipError as slip:
            raise BadValue(
                slip.choice,
                "is not above zero" if "above zero" in slip.found else "is not a length",
            ) from slip
        if abs(length_mm) > most_mm:
            raise BadValue(f"It may be {length_text(most_mm)} at most.", "is too long")
        return length_mm

    return read


def _choice(*allowed: str) -> Reader:
    def read(value: Any) -> str:
        if isinstance(value, str) and value.strip().lower() in allowed:
            return value.strip().lower()
        known = ", ".join(f"“{one}”" for one in allowed)
        near = nearest(str(value), allowed) if isinstance(value, str) else ""
        hint = f"{near} " if near.startswith("Perhaps") else ""
        raise BadValue(f"{hint}Allowed: {known}.", "is not one of the choices")

    return read


def _flag(value: Any) -> bool:
    if isinstance(value, bool):
        return value
    raise BadValue("Write true or false, without quotes.", "is neither true nor false")


def _number(least: float, most: float, *, what: str = "a number") -> Reader:
    def read(value: Any) -> float:
        number = _as_number(value)
        if number is None or not least <= number <= most:
            raise BadValue(f"Write {what} from {least:g} to {most:g}.", "is out of range")
        return number

    return read


def _as_number(value: Any) -> float | None:
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


def _whole(value: Any) -> int:
    number = _as_number(value)
    if number is None or number != int(number) or number < 1:
        raise BadValue("Write a whole number from 1.", "is not a whole number from 1")
    return int(number)


def _bits(value: Any) -> int:
    if _as_number(value) not in (8.0, 16.0):
        raise BadValue("Write 8 or 16.", "is not a depth that is written")
    return int(_as_number(value) or 0)


def _word_or_number(words: tuple[str, ...], least: float, most: float) -> Reader:
    def read(value: Any) -> float | str:
        if isinstance(value, str) and value.strip().lower() in words:
            return value.strip().lower()
        number = _as_number(value)
        if number is not None and least <= number <= most:
            return number
        known = ", ".join(f"“{one}”" for one in words)
        raise BadValue(f"Write {known}, or a number from {least:g} to {most:g}.")

    return read


def _lux(value: Any) -> float:
    plain = (
        re.sub(r"\s*(lux|lx)$", "", value.strip(), flags=re.IGNORECASE)
        if isinstance(value, str)
        else value
    )
    number = _as_number(plain)
    if number is None or not 1 <= number <= 200_000:
        raise BadValue(
            'Write the light on the print in lux: 200, or "200 lux".', "is not an illuminance"
        )
    return number


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise BadValue("Write words in quotes.", "is not a text")
    if "\0" in value:
        raise BadValue("Take the nought byte out.", "holds a nought byte")
    return value


def _parsed(parser: Callable[[str], Any]) -> Reader:
    """A text kept as written, once the engine can read it."""

    def read(value: Any) -> str:
        words = _text(value)
        try:
            parser(words)
        except TicketSlipError as slip:
            raise BadValue(slip.choice, slip.found.rstrip(".").split("” ", 1)[-1]) from slip
        return words

    return read


def _shape(value: str) -> None:
    if value.strip().lower() != "sheet":
        parse_shape(value)


def _read_as(value: Any) -> str:
    words = _text(value)
    known = (*SPACES, *GREYS)
    if words in known or words.lower().endswith((".icc", ".icm")):
        return words
    raise BadValue(
        nearest(words.lower(), known) + " A profile's file does as well, *.icc.",
        "is not a space that is known here",
    )


def _same(value: Any) -> Any:
    return value


def _tidy_number(value: Any) -> Any:
    """A whole float as an integer, everything else as it is."""
    return int(value) if isinstance(value, float) and value == int(value) else value


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketKey:
    """One key: where it stands, what it fills, how it is read and written, and an example."""

    section: str  # "" for the head of the ticket
    key: str
    group: str  # the Ticket's field that holds it; "" for the Ticket itself
    field: str
    read: Reader
    write: Writer = _same
    example: str  # as written in TOML
    meaning: str

    @property
    def place(self) -> str:
        """How messages call it."""
        return f"[{self.section}] {self.key}" if self.section else self.key


def _key(
    section: str,
    key: str,
    field: str,
    read: Reader,
    example: str,
    meaning: str,
    write: Writer = _same,
) -> TicketKey:
    return TicketKey(
        section=section,
        key=key,
        group=section,
        field=field,
        read=read,
        write=write,
        example=example,
        meaning=meaning,
    )


_SIZE, _SIDE = _length(), _length(zero=True)
_SHIFT = _length(signed=True)
_OFFSET = _number(-1, 1)

KEYS: tuple[TicketKey, ...] = (
    _key(
        "",
        "picture",
        "picture",
        _text,
        '"scans/ferry-stairs.tif"',
        "The picture's file; relative to the ticket's own folder.",
    ),
    _key("", "stock", "stock", _text, '"chalk-matte"', "Paper and printer, by its stock's name."),
    _key("", "page", "page", _whole, "1", "Which page of a file with several, counted from 1."),
    _key(
        "",
        "film",
        "film",
        _parsed(parse_film),
        '"6x7"',
        f"Film of the scan, for the rescan answer: {', '.join(FILM_FORMATS)}, "
        "or the frame such as “56x70mm”.",
    ),
    _key(
        "",
        "background",
        "background",
        _choice("paper", "black"),
        '"paper"',
        "What lies under partly clear pixels.",
    ),
    _key(
        "print",
        "width",
        "width_mm",
        _SIZE,
        '"400 mm"',
        "Width of the picture on paper. At most one of width, height, long-side; none fills "
        "the sheet.",
        length_text,
    ),
    _key(
        "print",
        "height",
        "height_mm",
        _SIZE,
        '"15 in"',
        "Height of the picture on paper.",
        length_text,
    ),
    _key(
        "print",
        "long-side",
        "long_side_mm",
        _SIZE,
        '"38.1 cm"',
        "Longer side of the picture on paper.",
        length_text,
    ),
    _key(
        "print",
        "sheet",
        "sheet",
        _parsed(parse_sheet),
        '"A3+"',
        "The sheet: a name, or a size with its unit, width first: “483x330mm”.",
    ),
    _key(
        "print",
        "turn",
        "turn",
        _choice("auto", "as-given"),
        '"auto"',
        "auto: the sheet follows the picture's shape; as-given: width first, as written.",
    ),
    _key(
        "crop",
        "shape",
        "shape",
        _parsed(_shape),
        '"3:2"',
        "Cut the picture to a shape, turned as the picture is; A is the shape of A4, “sheet” "
        "whatever the border leaves.",
    ),
    _key(
        "crop",
        "offset-x",
        "offset_x",
        _OFFSET,
        "0.5",
        "Where the cut lies: -1 keeps the left edge, 1 the right.",
        _tidy_number,
    ),
    _key(
        "crop",
        "offset-y",
        "offset_y",
        _OFFSET,
        "-1",
        "Where the cut lies: -1 keeps the top, 1 the bottom.",
        _tidy_number,
    ),
    _key(
        "border",
        "kind",
        "kind",
        _choice("centred", "even", "weighted", "sides"),
        '"even"',
        "centred; even: alike on all sides as far as the shapes allow; weighted: a wider foot; "
        "sides: as given below.",
    ),
    _key("border", "even", "even_mm", _SIZE, '"40 mm"', "The border of kind even.", length_text),
    _key(
        "border",
        "top",
        "top_mm",
        _SIDE,
        '"50 mm"',
        "For kind sides: bare paper above.",
        length_text,
    ),
    _key(
        "border",
        "right",
        "right_mm",
        _SIDE,
        '"50 mm"',
        "For kind sides: at the right.",
        length_text,
    ),
    _key("border", "bottom", "bottom_mm", _SIDE, '"65 mm"', "For kind sides: below.", length_text),
    _key(
        "border", "left", "left_mm", _SIDE, '"50 mm"', "For kind sides: at the left.", length_text
    ),
    _key(
        "border",
        "shift-x",
        "shift_x_mm",
        _SHIFT,
        '"-3 mm"',
        "Move the picture from its place: right is positive.",
        length_text,
    ),
    _key(
        "border",
        "shift-y",
        "shift_y_mm",
        _SHIFT,
        '"5 mm"',
        "Likewise, down is positive.",
        length_text,
    ),
    _key(
        "place",
        "distance",
        "distance_mm",
        _SIZE,
        '"1.5 m"',
        "From where it is looked at.",
        length_text,
    ),
    _key(
        "place",
        "light",
        "illuminance_lux",
        _lux,
        '"200 lux"',
        "Light falling on the print.",
        _tidy_number,
    ),
    _key(
        "place",
        "lamp",
        "lamp",
        _choice("daylight", "warm", "neutral", "window", "unknown"),
        '"warm"',
        "What kind of light.",
    ),
    _key(
        "colour",
        "intent",
        "intent",
        _choice("auto", "perceptual", "relative", "saturation", "absolute"),
        '"relative"',
        "Rendering intent; auto takes the one this picture loses least by.",
    ),
    _key("colour", "black-point", "black_point", _flag, "true", "Black point compensation."),
    _key(
        "colour",
        "keep",
        "keep",
        _flag,
        "false",
        "Keep the picture's own space; whoever prints converts.",
    ),
    _key(
        "colour",
        "read-as",
        "read_as",
        _read_as,
        '"srgb"',
        f"Space of a file without a profile: {', '.join((*SPACES, *GREYS))}.",
    ),
    _key(
        "colour",
        "convert-again",
        "convert_again",
        _flag,
        "false",
        "Insist on converting a file already in a printer's colours.",
    ),
    _key(
        "detail",
        "ppi",
        "ppi",
        _word_or_number(("native", "own"), 10, 9600),
        '"native"',
        "Raster of the print file: the stock's (native), the file's own pixels (own), or a number.",
        _tidy_number,
    ),
    _key(
        "detail",
        "sharpen",
        "sharpen",
        _word_or_number(("none", "low", "normal", "high"), 0, 3),
        '"normal"',
        "Output sharpening, 1 being normal.",
        _tidy_number,
    ),
    _key(
        "detail",
        "radius",
        "radius_mm",
        _length(most_mm=2.0),
        '"0.14 mm"',
        "Sharpening radius on paper.",
        length_text,
    ),
    _key(
        "detail",
        "allow-enlarge",
        "allow_enlarge",
        _flag,
        "false",
        "Allow more pixels than the file has.",
    ),
    _key("output", "bits", "bits", _bits, "16", "Bits per channel of the print file: 8 or 16."),
    _key(
        "output",
        "compression",
        "compression",
        _choice("none", "lzw", "deflate"),
        '"none"',
        "Compression of the print file.",
    ),
    _key("output", "ruler", "ruler", _flag, "true", "A 100 mm ruler in the border."),
    _key("output", "key", "key", _flag, "true", "A small key in the border."),
    _key(
        "output",
        "proof-space",
        "proof_space",
        _choice("display-p3", "srgb"),
        '"display-p3"',
        "Space of the soft proof.",
    ),
    _key(
        "output",
        "proof-white",
        "proof_white",
        _choice("paper", "screen"),
        '"paper"',
        "Show the paper's own white, or the screen's.",
    ),
)

SECTIONS: Mapping[str, tuple[TicketKey, ...]] = MappingProxyType(
    {
        section: tuple(one for one in KEYS if one.section == section)
        for section in dict.fromkeys(one.section for one in KEYS)
    }
)
