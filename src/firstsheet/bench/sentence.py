"""The ticket as a sentence whose parts can be edited.

Takes a ticket, the plan made of it and the stocks; gives the sentence in segments. All its words
stand here. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from firstsheet.bench.answers import Option, Segment
from firstsheet.engine.colour.spaces import GREYS, SPACES
from firstsheet.engine.records import Stock, Ticket
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.sheets import SHEETS
from firstsheet.engine.sizing.rescan import FILM_FORMATS
from firstsheet.engine.units import plain_number

__all__ = ["SIZE_BY", "sentence"]

SIZE_BY = "print.by"  # no line of the ticket: which of its sizes is given

_BORDERS = (
    ("centred", "centred"),
    ("even", "even"),
    ("weighted", "with a wider foot"),
)
_SIDES_WORDS = {
    "print.width": "wide",
    "print.height": "high",
    "print.long-side": "on its long side",
}
_SIDES_TITLES = {
    "print.width": "Width of the picture",
    "print.height": "Height of the picture",
    "print.long-side": "Long side of the picture",
}
_INTENTS = (
    ("relative", "relative colorimetric"),
    ("perceptual", "perceptual"),
    ("saturation", "saturation"),
    ("absolute", "absolute colorimetric"),
    ("auto", "whichever loses least"),
)
_LAMPS = (
    ("unknown", "a lamp not known"),
    ("daylight", "daylight"),
    ("window", "light from a window"),
    ("neutral", "neutral lamps"),
    ("warm", "warm lamps"),
)
_SHARPEN = (
    ("", "as usual, strength 1"),
    ("fitted", "as file, paper and distance ask for"),
    ("off", "not at all"),
)
_YES = (("false", "no"), ("true", "yes"))


def sentence(
    ticket: Ticket, plan: Plan | None, stocks: Mapping[str, Stock], *, pages: int = 1
) -> tuple[Segment, ...]:
    """The wish in words; what is rarely touched is marked fine and comes last."""
    from firstsheet.store.ticket_changes import line_text

    def line(name: str) -> str:
        return line_text(ticket, name)

    return (
        _words("Print "),
        _words(Path(ticket.picture).stem),
        *_size(ticket, plan, line("print.width"), line("print.height"), line("print.long-side")),
        _words(" on "),
        _stock(ticket, stocks),
        _words(", sheet "),
        _choice("print.sheet", _sheet_name(ticket), _sheets(ticket), "Sheet", free=True),
        _words(", border "),
        _border(ticket),
        *_moved(ticket),
        _words(", seen from "),
        Segment(
            key="place.distance",
            text=_length(ticket.place.distance_mm),
            value=line("place.distance"),
            kind="length",
            title="Distance from where it is seen",
        ),
        _words(" in "),
        Segment(
            key="place.light",
            text=f"{plain_number(ticket.place.illuminance_lux)} lux",
            value=line("place.light"),
            kind="number",
            unit="lux",
            title="Light on the print, lux",
        ),
        _words("."),
        *_fine(ticket, plan, pages),
    )


def _words(text: str, *, fine: bool = False) -> Segment:
    return Segment(text=text, fine=fine)


def _length(length_mm: float) -> str:
    if length_mm >= 1000:
        return f"{plain_number(length_mm / 1000, 3)} m"
    return f"{plain_number(length_mm, 2)} mm"


def _size(
    ticket: Ticket, plan: Plan | None, width: str, height: str, long_side: str
) -> tuple[Segment, ...]:
    wish = ticket.print
    given = {
        "print.width": (wish.width_mm, width),
        "print.height": (wish.height_mm, height),
        "print.long-side": (wish.long_side_mm, long_side),
    }
    for key, (length_mm, value) in given.items():
        if length_mm is not None:
            return (
                _words(" "),
                Segment(
                    key=key,
                    text=_length(length_mm),
                    value=value,
                    kind="length",
                    title=_SIDES_TITLES[key],
                ),
                _words(" "),
                _by(key),
            )
    wide = f"{plain_number(plan.size.width_mm)} mm wide" if plan is not None else "any width"
    return (
        _words(" "),
        _by("fill"),
        _words(", "),
        Segment(key="print.width", text=wide, kind="length", title="Width of the picture"),
        _words(","),
    )


def _by(key: str) -> Segment:
    """Which side the size is said of; changing it keeps the size."""
    options = (
        *((name, words) for name, words in _SIDES_WORDS.items()),
        ("fill", "filling the sheet"),
    )
    return Segment(
        key=SIZE_BY,
        text=dict(options)[key],
        value=key,
        kind="choice",
        options=_options(options),
        title="Which side the size is said of",
    )


def _stock(ticket: Ticket, stocks: Mapping[str, Stock]) -> Segment:
    titles = [(name, stock.title) for name, stock in stocks.items()]
    if ticket.stock not in stocks:
        titles.append((ticket.stock, f"{ticket.stock} (not found)"))
    return _choice("stock", ticket.stock, titles, "Paper and printer")


def _sheets(ticket: Ticket) -> list[tuple[str, str]]:
    names = [(name, name) for name in SHEETS]
    name = _sheet_name(ticket)
    if name not in SHEETS:
        names.insert(0, (name, name))
    return names


def _sheet_name(ticket: Ticket) -> str:
    """The sheet as it is called, however it was typed."""
    typed = ticket.print.sheet
    return next((name for name in SHEETS if name.lower() == typed.strip().lower()), typed)


def _border(ticket: Ticket) -> Segment:
    border = ticket.border
    options = list(_BORDERS)
    value = border.kind
    text = dict(_BORDERS).get(border.kind, "")
    if border.kind == "even" and border.even_mm is not None:
        value = f"even {_plain_mm(border.even_mm)}"  # type: ignore[assignment]
        text = f"even, {_said_mm(border.even_mm)}"
        options.insert(0, (value, text))
    if border.kind == "sides":
        sides = (border.top_mm, border.right_mm, border.bottom_mm, border.left_mm)
        value = " ".join(_plain_mm(side or 0.0) for side in sides)  # type: ignore[assignment]
        text = " · ".join(_said_mm(side or 0.0) for side in sides)
        options.insert(0, (value, text))
    return Segment(
        key="border",
        text=text,
        value=value,
        kind="choice",
        options=_options(options),
        title="Border: a word, one length, or four from the top clockwise",
        unit="free",
    )


def _moved(ticket: Ticket) -> list[Segment]:
    """How far the picture was moved from where the border puts it; nothing where it was not."""
    from firstsheet.store.ticket_changes import line_text

    border = ticket.border
    parts: list[Segment] = []
    for key, length_mm, ways, title in (
        ("border.shift-x", border.shift_x_mm, ("left", "right"), "Moved, left below zero"),
        ("border.shift-y", border.shift_y_mm, ("up", "down"), "Moved, up below zero"),
    ):
        if length_mm:
            text = _said_mm(abs(length_mm))
            parts.append(_words(" and " if parts else ", moved "))
            value = line_text(ticket, key)
            parts.append(Segment(key=key, text=text, value=value, kind="length", title=title))
            parts.append(_words(f" {ways[length_mm > 0]}"))
    return parts


def _plain_mm(length_mm: float) -> str:
    return f"{plain_number(length_mm, 2)}mm"


def _said_mm(length_mm: float) -> str:
    return f"{plain_number(length_mm, 2)} mm"


def _fine(ticket: Ticket, plan: Plan | None, pages: int) -> tuple[Segment, ...]:
    """What is rarely touched, as further sentences."""
    from firstsheet.store.ticket_changes import line_text

    def text(name: str) -> str:
        return line_text(ticket, name)

    colour, detail, output = ticket.colour, ticket.detail, ticket.output
    radius = plan.sharpen.radius_mm if plan is not None else None
    parts: list[Segment] = [
        _fine_words(" Colour: intent "),
        _choice("colour.intent", colour.intent, _INTENTS, "Rendering intent", fine=True),
        _fine_words(", black point compensation "),
        _flag("colour.black-point", colour.black_point, "Black point compensation"),
        _fine_words(", keep the picture's own space "),
        _flag("colour.keep", colour.keep, "Keep the picture's own space"),
        _fine_words(". Sharpen "),
        _choice("detail.sharpen", text("detail.sharpen"), _with(_SHARPEN, text("detail.sharpen")),
                "Output sharpening", fine=True, free=True),
        _fine_words(" at a radius of "),
        Segment(
            key="detail.radius",
            text=f"{plain_number(radius or detail.radius_mm or 0.14, 3)} mm",
            value=text("detail.radius"),
            kind="length",
            title="Sharpening radius on paper",
            fine=True,
        ),
        _fine_words(". Raster "),
        _choice(
            "detail.ppi",
            str(detail.ppi),
            _with((("native", "the printer's own"), ("own", "the file's own pixels")),
                  str(detail.ppi)),
            "Raster of the print file",
            fine=True,
            free=True,
        ),
        _fine_words(", more pixels than the file has "),
        _flag("detail.allow-enlarge", detail.allow_enlarge, "Allow more pixels than the file has"),
        _fine_words(". Cut to shape "),
        Segment(
            key="crop.shape",
            text=ticket.crop.shape or "the file's own",
            value=text("crop.shape"),
            kind="choice",
            unit="free",
            options=_options((("", "the file's own"), ("sheet", "whatever the border leaves"),
                              ("3:2", "3:2"), ("4:3", "4:3"), ("5:4", "5:4"), ("1:1", "1:1"),
                              ("16:9", "16:9"), ("A", "A, as A4"))),
            title="Shape of the picture on paper",
            fine=True,
        ),
        _fine_words(", sheet turned "),
        _choice("print.turn", ticket.print.turn,
                (("auto", "as the picture is"), ("as-given", "as written, width first")),
                "How the sheet lies", fine=True),
        _fine_words(". Lit by "),
        _choice("place.lamp", ticket.place.lamp, _LAMPS, "Kind of lamp", fine=True),
        _fine_words(". Film of the scan "),
        Segment(
            key="film",
            text=ticket.film or "none",
            value=text("film"),
            kind="choice",
            unit="free",
            options=_options((("", "none"), *((name, name) for name in FILM_FORMATS))),
            title="Film of the scan",
            fine=True,
        ),
        _fine_words(". In the border: ruler "),
        _flag("output.ruler", output.ruler, "A 100 mm ruler in the border"),
        _fine_words(", key "),
        _flag("output.key", output.key, "A small key in the border"),
        _fine_words(". Print file of "),
        _choice("output.bits", str(output.bits), (("16", "16 bit"), ("8", "8 bit")),
                "Bits per channel", fine=True),
        _fine_words(", compression "),
        _choice("output.compression", output.compression,
                (("none", "none"), ("lzw", "lzw"), ("deflate", "deflate")),
                "Compression", fine=True),
        _fine_words(". White of the proof "),
        _choice("output.proof-white", output.proof_white,
                (("paper", "the paper's"), ("screen", "the screen's")),
                "White of the proof", fine=True),
        _fine_words("."),
    ]  # fmt: skip
    if ticket.repairs:
        count = len(ticket.repairs)
        words = "one repair" if count == 1 else f"{count} repairs"
        parts += [
            _fine_words(" In the colours: "),
            Segment(
                key="repair",
                text=words,
                value=text("repair"),
                kind="choice",
                options=_options(((text("repair"), words), ("", "no repair"))),
                title="Repairs in this print",
                fine=True,
            ),
            _fine_words("."),
        ]
    if pages > 1:
        parts += [
            _fine_words(" Page "),
            _choice("page", str(ticket.page or 1),
                    tuple((str(n), str(n)) for n in range(1, min(pages, 50) + 1)),
                    "Page of the file", fine=True),
            _fine_words("."),
        ]  # fmt: skip
    if plan is not None and plan.picture.read_as:
        names = tuple((name, one.label) for name, one in SPACES.items())
        if plan.picture.colour_model == "grey":
            names = tuple((name, one.label) for name, one in GREYS.items())
        parts += [
            _fine_words(" The file has no profile; read it as "),
            _choice("colour.read-as", plan.picture.read_as, names, "Space of the file", fine=True),
            _fine_words("."),
        ]
    return tuple(parts)


def _fine_words(text: str) -> Segment:
    return _words(text, fine=True)


def _with(options: Sequence[tuple[str, str]], value: str) -> Sequence[tuple[str, str]]:
    """The options, with the present value among them."""
    if value in dict(options):
        return options
    return (*options, (value, value))


def _flag(key: str, on: bool, title: str) -> Segment:
    value = "true" if on else "false"
    return _choice(key, value, _YES, title, fine=True)


def _choice(
    key: str,
    value: str,
    options: Sequence[tuple[str, str]],
    title: str,
    *,
    fine: bool = False,
    free: bool = False,
) -> Segment:
    return Segment(
        key=key,
        text=dict(options).get(value, value),
        value=value,
        kind="choice",
        options=_options(options),
        unit="free" if free else "",
        title=title,
        fine=fine,
    )


def _options(pairs: Sequence[tuple[str, str]]) -> tuple[Option, ...]:
    return tuple(Option(value=value, text=text) for value, text in pairs)
