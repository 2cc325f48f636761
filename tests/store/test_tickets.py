"""Tickets as people write them, with slips that say where and what would be right."""

from __future__ import annotations

import contextlib
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records import Ticket
from firstsheet.engine.records.ticket import EarlierWord
from firstsheet.store.ticket_keys import KEYS, SECTIONS, TicketKey
from firstsheet.store.tickets import (
    read_ticket,
    ticket_from_options,
    ticket_from_toml,
    ticket_to_toml,
)
from firstsheet.store.values import BadValue

TICKET = """\
picture = "scans/ferry-stairs.tif"
stock = "chalk-matte"
film = "6x7"

[print]
width = "400 mm"
sheet = "A3+"

[crop]
shape = "3:2"
offset-y = -1

[border]
kind = "even"
even = "4 cm"
shift-x = "-3 mm"

[place]
distance = "1.5 m"
light = "200 lux"
lamp = "warm"

[colour]
intent = "perceptual"
black-point = false

[detail]
ppi = 240
sharpen = 0.6

[output]
bits = 8
ruler = true

[answers]
alpha-partly = "paper"
"""
BARE = 'picture = "a.tif"\nstock = "s"\n'
DOC = Path(__file__).parents[2] / "docs" / "ticket.md"


def test_a_ticket_is_read_as_written() -> None:
    ticket = ticket_from_toml(TICKET)

    assert ticket.picture == "scans/ferry-stairs.tif"
    assert (ticket.print.width_mm, ticket.print.sheet) == (400, "A3+")
    assert (ticket.crop.shape, ticket.crop.offset_y) == ("3:2", -1)
    assert (ticket.border.kind, ticket.border.even_mm, ticket.border.shift_x_mm) == ("even", 40, -3)
    assert (ticket.place.distance_mm, ticket.place.illuminance_lux) == (1500, 200)
    assert (ticket.colour.intent, ticket.colour.black_point) == ("perceptual", False)
    assert (ticket.detail.ppi, ticket.detail.sharpen) == (240, 0.6)
    assert (ticket.output.bits, ticket.output.ruler) == (8, True)
    assert (ticket.film, ticket.answers) == ("6x7", {"alpha-partly": "paper"})


def test_the_picture_is_relative_to_the_tickets_own_folder(tmp_path: Path) -> None:
    folder = tmp_path / "Häfen und Boote"
    folder.mkdir()
    path = folder / "t.toml"
    path.write_text(TICKET, "utf-8")
    assert read_ticket(path).picture == str(folder / "scans" / "ferry-stairs.tif")

    path.write_text(TICKET.replace("scans/", "/scans/"), "utf-8")
    assert read_ticket(path).picture == "/scans/ferry-stairs.tif"


lengths = st.floats(0.01, 5000)
maybe_lengths = st.none() | lengths
tickets = st.builds(
    Ticket.model_validate,
    st.fixed_dictionaries(
        {
            "picture": st.text(
                st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1
            ).filter(str.strip),
            "stock": st.sampled_from(["chalk-matte", "b"]),
            "page": st.none() | st.integers(1, 40),
            "film": st.sampled_from([None, "35mm", "56x70mm"]),
            "background": st.sampled_from([None, "paper", "black"]),
            "print": st.one_of(
                st.fixed_dictionaries({"width_mm": lengths}),
                st.fixed_dictionaries({"height_mm": lengths}),
                st.fixed_dictionaries({"long_side_mm": lengths}),
                st.fixed_dictionaries(
                    {"sheet": st.sampled_from(["A4", "483x330mm"]), "turn": st.just("as-given")}
                ),
            ),
            "crop": st.fixed_dictionaries(
                {
                    "shape": st.sampled_from([None, "3:2", "A", "sheet"]),
                    "offset_x": st.floats(-1, 1),
                    "offset_y": st.floats(-1, 1),
                }
            ),
            "border": st.fixed_dictionaries(
                {
                    "kind": st.sampled_from(["centred", "even", "weighted", "sides"]),
                    "even_mm": maybe_lengths,
                    "top_mm": st.none() | st.floats(0, 500),
                    "left_mm": maybe_lengths,
                    "shift_x_mm": st.floats(-500, 500),
                    "shift_y_mm": st.floats(-500, 500),
                }
            ),
            "place": st.fixed_dictionaries(
                {"distance_mm": lengths, "illuminance_lux": st.floats(1, 100_000)}
            ),
            "colour": st.fixed_dictionaries(
                {
                    "intent": st.sampled_from(["auto", "absolute"]),
                    "keep": st.booleans(),
                    "read_as": st.sampled_from([None, "srgb", "grey-l-star"]),
                }
            ),
            "detail": st.fixed_dictionaries(
                {
                    "ppi": st.sampled_from(["native", "own"]) | st.floats(10, 9600),
                    "sharpen": st.sampled_from([None, "off", "fitted"]) | st.floats(0, 3),
                    "radius_mm": st.none() | st.floats(0.001, 2),
                }
            ),
            "output": st.fixed_dictionaries(
                {"bits": st.sampled_from([8, 16]), "key": st.booleans()}
            ),
            "answers": st.dictionaries(
                st.text(st.characters(codec="ascii", categories=["L", "P"]), min_size=1),
                st.text(st.characters(exclude_categories=["Cs"])),
                max_size=3,
            ),
        }
    ),
)


@pytest.mark.slow
@given(tickets)
def test_a_ticket_written_and_read_back_is_exactly_the_same(ticket: Ticket) -> None:
    assert ticket_from_toml(ticket_to_toml(ticket)) == ticket


def test_what_stands_at_its_default_is_not_written() -> None:
    assert ticket_to_toml(Ticket(picture="a.tif", stock="chalk-matte")) == (
        'picture = "a.tif"\nstock = "chalk-matte"\n'
    )


@pytest.mark.parametrize(
    ("line", "wrong", "says", "right"),
    [
        (6, 'width = "400"', "[print] width = “400” is not a length", "Write the unit: 381mm"),
        (6, "width = 400", "[print] width = 400 has no unit", '"400 mm"'),
        (6, 'width = "0 mm"', "is not above zero", "above zero"),
        (6, 'width = "900 m"', "is too long", "100000 mm at most"),
        (6, 'widht = "400 mm"', "the key “widht” in [print] is not known", "“width”"),
        (7, 'sheet = "A33"', "sheet = “A33” is not a sheet", "A3"),
        (10, 'shape = "three"', "shape = “three” is not a shape", "3:2"),
        (11, "offset-y = -1.5", "offset-y = -1.5 is out of range", "from -1 to 1"),
        (14, 'kind = "evn"', "kind = “evn” is not one of the choices", "Perhaps “even”"),
        (20, 'light = "dim"', "light = “dim” is not an illuminance", "200"),
        (24, 'intent = "colorimetric"', "is not one of the choices", "“relative”"),
        (25, 'black-point = "yes"', "is neither true nor false", "without quotes"),
        (28, 'ppi = "nativ"', "ppi = “nativ” cannot be", "“native”"),
        (29, "sharpen = 9", "sharpen = 9 cannot be", "from 0 to 3"),
        (32, "bits = 12", "bits = 12 is not a depth", "8 or 16"),
        (3, 'film = "6x8"', "film = “6x8” is not a film format", "6x7"),
    ],
)
def test_a_slip_names_line_key_value_and_what_would_be_right(
    line: int, wrong: str, says: str, right: str
) -> None:
    lines = TICKET.splitlines()
    lines[line - 1] = wrong

    with pytest.raises(TicketError) as slip:
        ticket_from_toml("\n".join(lines), name="stairs.toml")

    assert slip.value.found.startswith(f"stairs.toml, line {line}: ")
    assert says in slip.value.found
    assert right in slip.value.choice
    assert slip.value.exit_code == 2


@pytest.mark.parametrize(
    ("text", "says", "right"),
    [
        ("[prnt]\n", "line 1: the section [prnt] is not known", "Perhaps “print”?"),
        ('prnt = "x"\n', "line 1: the key “prnt” is not known", "“print”"),
        ('print = "x"\n', "line 1: print = “x” is a section", "[print]"),
        ('stock = "x"\n[picture]\n', "line 2: [picture] is a value", 'picture = "scans'),
        ('picture = "a.tif"\n', "names no stock", "--stock NAME"),
        ('stock = "a"\n', "names no picture", "picture ="),
        ('picture = ""\nstock = "a"\n', "line 1: picture = “” is not a text", "words in quotes"),
        ('picture = "a"\nstock = "b"\n[answers]\nx = 3\n', "line 4: [answers] x = 3", "quotes"),
        (
            'picture = "a"\nstock = "b"\n[print]\nwidth = "3mm"\nheight = "3mm"\n',
            "line 5: [print] height = “3mm” stands beside width",
            "Keep width or height",
        ),
        (
            'picture = "a"\nstock = "b"\n[colour]\nread-as = "srbg"\n',
            "line 4: [colour] read-as = “srbg” is not a space",
            "Perhaps “srgb”?",
        ),
    ],
)
def test_a_ticket_of_the_wrong_make_is_explained(text: str, says: str, right: str) -> None:
    with pytest.raises(TicketError) as slip:
        ticket_from_toml(text)

    assert says in slip.value.found
    assert right in (slip.value.choice, slip.value.option) or right in slip.value.choice


@given(st.text(st.characters(exclude_categories=["Cs"])) | st.binary().map(repr))
def test_any_text_is_a_ticket_or_a_slip_and_never_a_crash(text: str) -> None:
    with contextlib.suppress(TicketError):  # any other error fails
        assert ticket_from_toml(text).picture


@given(
    st.lists(
        st.tuples(st.integers(0, len(TICKET) - 1), st.sampled_from('"[]=#\n.,x0- \\é')),
        min_size=1,
        max_size=4,
    )
)
def test_a_ticket_with_typing_slips_is_read_or_names_a_line(slips: list[tuple[int, str]]) -> None:
    letters = list(TICKET)
    for place, letter in slips:
        letters[place] = letter
    try:
        read: Ticket | TicketError = ticket_from_toml("".join(letters), name="t.toml")
    except TicketError as slip:
        read = slip
    if isinstance(read, TicketError):
        assert re.match(r"t\.toml(, line \d+: | names no )", read.found), read.found
        assert read.choice


@given(
    st.sampled_from(KEYS),
    st.one_of(
        st.integers(), st.floats(), st.booleans(), st.text(), st.lists(st.integers()), st.none()
    ),
)
def test_any_value_is_read_or_refused_with_words(key: TicketKey, value: Any) -> None:
    with contextlib.suppress(BadValue):  # any other error fails
        assert key.read(value) is not None


@pytest.mark.parametrize("value", ["1" + "0" * 400, "inf", "nan", "-1", "1979-05-27", "[1]", "{}"])
@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.place)
def test_absurd_values_are_refused_with_the_line(key: TicketKey, value: str) -> None:
    head = f"[{key.section}]\n" if key.section else ""
    with pytest.raises(TicketError) as slip:
        ticket_from_toml(f"{head}{key.key} = {value}\n", name="t.toml")

    # -1 is a crop offset: there only the missing picture is told
    assert ", line " in slip.value.found or (value, key.section) == ("-1", "crop")


# --- options ---


@pytest.mark.parametrize(
    ("word", "value", "now"),
    [("none", "off", "off"), ("low", 0.6, "0.6"), ("normal", None, ""), ("High", 1.5, "1.5")],
)
def test_words_of_earlier_versions_are_read_and_noted(
    word: str, value: float | str | None, now: str
) -> None:
    noted = EarlierWord(line="detail.sharpen", word=word.lower(), now=now)
    read = ticket_from_toml(f'{BARE}[detail]\nsharpen = "{word}"\n')

    assert (read.detail.sharpen, read.earlier) == (value, (noted,))
    assert ticket_from_options(picture="a.tif", stock="s", sharpen=word).earlier == (noted,)
    changed = ticket_from_options(read, sharpen="fitted")
    assert (changed.detail.sharpen, changed.earlier) == ("fitted", ())
    assert ticket_from_toml(ticket_to_toml(read)) == read.model_copy(update={"earlier": ()})


def test_options_say_the_same_as_the_ticket() -> None:
    assert ticket_from_options(
        picture="scans/ferry-stairs.tif",
        stock="chalk-matte",
        film="6x7",
        width="400mm",
        sheet="A3+",
        shape="3:2",
        offset="0,-1",
        border="even 4cm",
        shift="-3mm,0mm",
        distance="1.5m",
        light="200 lux",
        lamp="warm",
        intent="perceptual",
        black_point=False,
        ppi="240",
        sharpen="0.6",
        bits="8",
        ruler=True,
        answers={"alpha-partly": "paper"},
        height=None,
    ) == ticket_from_toml(TICKET)


def test_options_lie_over_a_ticket() -> None:
    base = ticket_from_toml(TICKET)
    over = ticket_from_options(base, height="30cm", border="50mm 40mm 65mm 40mm", keep_colour=True)

    assert (over.print.width_mm, over.print.height_mm, over.print.sheet) == (None, 300, "A3+")
    assert over.border.kind == "sides"
    assert (over.border.top_mm, over.border.bottom_mm, over.border.even_mm) == (50, 65, None)
    assert over.border.shift_x_mm == -3
    assert over.colour.keep
    assert over.colour.intent == "perceptual"
    assert ticket_from_options(base) == base


@pytest.mark.parametrize(
    ("options", "found", "right"),
    [
        ({"width": "400"}, "--width “400” is not a length.", "Write the unit"),
        ({"long_side": "x"}, "--long-side “x” is not a length.", "Write the unit"),
        ({"border": "evn"}, "--border “evn” is not a border.", "Perhaps “even”?"),
        ({"border": ""}, "--border “” is not a border.", "centred, weighted"),
        ({"border": "1mm 2mm 3mm x"}, "--border “x” is not a length.", "Write the unit"),
        ({"offset": "1"}, "--offset “1” is not a pair.", "--offset 0,-1"),
        ({"offset": "0,2"}, "--offset “2” is out of range.", "from -1 to 1"),
        ({"shift": "3,4"}, "--shift “3” is not a length.", "Write the unit"),
        ({"sharpen": "lots"}, "--sharpen “lots” cannot be.", "“fitted”"),
        (
            {"width": "4mm", "height": "4in"},
            "--height “4in” stands beside --width.",
            "--shape cuts the picture",
        ),
    ],
)
def test_a_slip_in_an_option_names_the_option(
    options: dict[str, Any], found: str, right: str
) -> None:
    with pytest.raises(TicketError) as slip:
        ticket_from_options(picture="a.tif", stock="chalk-matte", **options)

    assert slip.value.found == found
    assert right in slip.value.choice


def test_a_wish_without_a_stock_says_how_to_name_one() -> None:
    with pytest.raises(TicketError) as slip:
        ticket_from_options(picture="a.tif")

    assert slip.value.option == "--stock NAME"


def test_an_option_nobody_knows_is_a_programming_mistake() -> None:
    with pytest.raises(TypeError, match="wodth"):
        ticket_from_options(picture="a.tif", stock="b", wodth="3mm")


# --- the table and its page ---


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.place)
def test_every_keys_own_example_is_read_and_fills_its_field(key: TicketKey) -> None:
    value = tomllib.loads(f"x = {key.example}")["x"]

    tree: dict[str, Any] = {"picture": "a", "stock": "b"}
    held = tree.setdefault(key.group, {}) if key.group else tree
    held[key.field] = key.read(value)
    assert Ticket.model_validate(tree)


def test_the_table_holds_every_field_of_a_ticket() -> None:
    fields: set[tuple[str, str]] = set()
    for name, field in Ticket.model_fields.items():
        inner = getattr(field.annotation, "model_fields", None)
        fields |= {(name, one) for one in inner} if inner else {("", name)}

    assert {(key.group, key.field) for key in KEYS} == fields - {
        ("", "answers"),
        ("", "repairs"),
        ("", "earlier"),
    }


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.place)
def test_every_key_is_explained_in_the_docs_with_its_example(key: TicketKey) -> None:
    text = DOC.read_text(encoding="utf-8")
    part = re.split(r"^## ", text, flags=re.MULTILINE)
    head = f"[{key.section}]" if key.section else "At the top"
    (section,) = (one for one in part if one.startswith(head))

    assert f"| `{key.key} = {key.example}` |" in section
    assert set(SECTIONS) == {one.section for one in KEYS}
