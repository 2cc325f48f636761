"""Every key a ticket may hold: one table for reading, writing, options and docs.

Takes nothing; gives the table. docs/ticket.md shows each key. Single values: `values`.
Tests: tests/store/test_tickets.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from firstsheet.engine.colour.spaces import GREYS, SPACES
from firstsheet.engine.records.ticket import EarlierWord
from firstsheet.engine.sheets import parse_sheet
from firstsheet.engine.sizing.rescan import FILM_FORMATS, parse_film
from firstsheet.store.values import (
    Reader,
    Writer,
    as_it_is,
    bits_value,
    choice_value,
    flag_value,
    length_text,
    length_value,
    lux_value,
    number_value,
    parsed_value,
    read_as_value,
    shape_value,
    tidy_number,
    whole_value,
    word_or_number_value,
    words_value,
)

__all__ = ["KEYS", "SECTIONS", "TicketKey"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TicketKey:
    """One key: where it stands, what it fills, how it is read and written, and an example."""

    section: str  # "" for the head of the ticket
    key: str
    group: str  # the Ticket's field that holds it; "" for the Ticket itself
    field: str
    read: Reader
    write: Writer = as_it_is
    example: str  # as written in TOML
    meaning: str
    earlier: Mapping[str, str]  # words of earlier versions, and what is written for them today

    def word_now(self, value: object) -> EarlierWord | None:
        """What a word of an earlier version is now; None for everything else."""
        word = value.strip().lower() if isinstance(value, str) else ""
        if word not in self.earlier:
            return None
        return EarlierWord(line=self.line, word=word, now=self.earlier[word])

    @property
    def line(self) -> str:
        """How changes call it."""
        return f"{self.section}.{self.key}" if self.section else self.key

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
    write: Writer = as_it_is,
    earlier: Mapping[str, str] = MappingProxyType({}),
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
        earlier=earlier,
    )


_SIZE, _SIDE = length_value(), length_value(zero=True)
_SHIFT = length_value(signed=True)
_OFFSET = number_value(-1, 1)

KEYS: tuple[TicketKey, ...] = (
    _key(
        "",
        "picture",
        "picture",
        words_value,
        '"scans/ferry-stairs.tif"',
        "The picture's file; relative to the ticket's own folder.",
    ),
    _key(
        "",
        "stock",
        "stock",
        words_value,
        '"chalk-matte"',
        "Paper and printer, by its stock's name.",
    ),
    _key(
        "", "page", "page", whole_value, "1", "Which page of a file with several, counted from 1."
    ),
    _key(
        "",
        "film",
        "film",
        parsed_value(parse_film),
        '"6x7"',
        f"Film of the scan, for the rescan answer: {', '.join(FILM_FORMATS)}, "
        "or the frame such as “56x70mm”.",
    ),
    _key(
        "",
        "background",
        "background",
        choice_value("paper", "black"),
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
        parsed_value(parse_sheet),
        '"A3+"',
        "The sheet: a name, or a size with its unit, width first: “483x330mm”.",
    ),
    _key(
        "print",
        "turn",
        "turn",
        choice_value("auto", "as-given"),
        '"auto"',
        "auto: the sheet follows the picture's shape; as-given: width first, as written.",
    ),
    _key(
        "crop",
        "shape",
        "shape",
        parsed_value(shape_value),
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
        tidy_number,
    ),
    _key(
        "crop",
        "offset-y",
        "offset_y",
        _OFFSET,
        "-1",
        "Where the cut lies: -1 keeps the top, 1 the bottom.",
        tidy_number,
    ),
    _key(
        "border",
        "kind",
        "kind",
        choice_value("centred", "even", "weighted", "sides"),
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
        lux_value,
        '"200 lux"',
        "Light falling on the print.",
        tidy_number,
    ),
    _key(
        "place",
        "lamp",
        "lamp",
        choice_value("daylight", "warm", "neutral", "window", "unknown"),
        '"warm"',
        "What kind of light.",
    ),
    _key(
        "colour",
        "intent",
        "intent",
        choice_value("auto", "perceptual", "relative", "saturation", "absolute"),
        '"relative"',
        "Rendering intent; auto takes the one this picture loses least by.",
    ),
    _key("colour", "black-point", "black_point", flag_value, "true", "Black point compensation."),
    _key(
        "colour",
        "keep",
        "keep",
        flag_value,
        "false",
        "Keep the picture's own space; whoever prints converts.",
    ),
    _key(
        "colour",
        "read-as",
        "read_as",
        read_as_value,
        '"srgb"',
        f"Space of a file without a profile: {', '.join((*SPACES, *GREYS))}.",
    ),
    _key(
        "colour",
        "convert-again",
        "convert_again",
        flag_value,
        "false",
        "Insist on converting a file already in a printer's colours.",
    ),
    _key(
        "detail",
        "ppi",
        "ppi",
        word_or_number_value(("native", "own"), 10, 9600),
        '"native"',
        "Raster of the print file: the stock's (native), the file's own pixels (own), or a number.",
        tidy_number,
    ),
    _key(
        "detail",
        "sharpen",
        "sharpen",
        word_or_number_value(("off", "fitted"), 0, 3),
        '"fitted"',
        "Output sharpening: off, a strength, 1 being normal, or fitted: strength and radius are "
        "found for this file, paper and distance. Left out it is 1, less where the file is "
        "sharpened already.",
        tidy_number,
        earlier={"none": "off", "low": "0.6", "normal": "", "high": "1.5"},
    ),
    _key(
        "detail",
        "radius",
        "radius_mm",
        length_value(most_mm=2.0),
        '"0.14 mm"',
        "Sharpening radius on paper.",
        length_text,
    ),
    _key(
        "detail",
        "allow-enlarge",
        "allow_enlarge",
        flag_value,
        "false",
        "Allow more pixels than the file has.",
    ),
    _key(
        "output", "bits", "bits", bits_value, "16", "Bits per channel of the print file: 8 or 16."
    ),
    _key(
        "output",
        "compression",
        "compression",
        choice_value("none", "lzw", "deflate"),
        '"none"',
        "Compression of the print file.",
    ),
    _key("output", "ruler", "ruler", flag_value, "true", "A 100 mm ruler in the border."),
    _key("output", "key", "key", flag_value, "true", "A small key in the border."),
    _key(
        "output",
        "proof-space",
        "proof_space",
        choice_value("display-p3", "srgb"),
        '"display-p3"',
        "Space of the soft proof.",
    ),
    _key(
        "output",
        "proof-white",
        "proof_white",
        choice_value("paper", "screen"),
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
