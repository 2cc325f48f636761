"""Single lines of a ticket, changed as a sentence is."""

from __future__ import annotations

import pytest

from firstsheet.engine.records import Ticket
from firstsheet.store.ticket_changes import changed_ticket, line_text
from firstsheet.store.ticket_keys import KEYS

TICKET = Ticket(picture="ferry-stairs.tif", stock="chalk-matte")
NAMES = [f"{one.section}.{one.key}" if one.section else one.key for one in KEYS]
EXAMPLES = {
    name: one.example.strip('"')
    for name, one in zip(NAMES, KEYS, strict=True)
    if name not in ("picture", "stock")
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_line_of_the_ticket_s_page_can_be_typed_and_taken_back(name: str) -> None:
    changed, slips = changed_ticket(TICKET, {name: EXAMPLES[name]})
    assert not slips
    again, slips = changed_ticket(TICKET, {name: line_text(changed, name)})
    assert (again, slips) == (changed, {})
    assert changed_ticket(changed, {name: ""})[0] == TICKET


def test_a_word_of_an_earlier_version_is_noted_until_the_line_is_changed() -> None:
    noted, slips = changed_ticket(TICKET, {"detail.sharpen": "low"})
    assert not slips
    assert (noted.detail.sharpen, [one.word for one in noted.earlier]) == (0.6, ["low"])
    other, _ = changed_ticket(noted, {"print.width": "400 mm"})
    assert other.earlier == noted.earlier
    rewritten, _ = changed_ticket(noted, {"detail.sharpen": "0.6"})
    assert (rewritten.detail.sharpen, rewritten.earlier) == (0.6, ())


def test_one_size_replaces_the_other() -> None:
    wide, _ = changed_ticket(TICKET, {"print.width": "400 mm"})
    high, _ = changed_ticket(wide, {"print.height": "15 in"})
    assert (high.print.width_mm, high.print.height_mm) == (None, 381.0)


def test_a_slip_leaves_everything_as_it_was() -> None:
    same, slips = changed_ticket(TICKET, {"print.width": "400 mm", "place.light": "bright"})
    assert same == TICKET
    assert list(slips) == ["place.light"]
    assert "lux" in slips["place.light"].choice


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("print.width", "400"),
        ("print.width", "-4 mm"),
        ("print.widht", "400 mm"),
        ("stock", ""),
        ("output.bits", "12"),
        ("colour.keep", "perhaps"),
        ("border", "wonky"),
        ("border", "1mm 2mm 3mm"),
        ("page", "0"),
        ("__class__", "x"),
    ],
)
def test_slips_say_what_would_be_right(name: str, text: str) -> None:
    same, slips = changed_ticket(TICKET, {name: text})
    assert same == TICKET
    assert slips[name].found
    assert slips[name].choice


def test_a_border_is_said_in_words_and_keeps_its_shift() -> None:
    moved, _ = changed_ticket(TICKET, {"border.shift-x": "3 mm"})
    even, _ = changed_ticket(moved, {"border": "even 25mm"})
    sides, _ = changed_ticket(even, {"border": "50mm 50mm 65mm 50mm"})
    assert (even.border.kind, even.border.even_mm, even.border.shift_x_mm) == ("even", 25.0, 3.0)
    assert (sides.border.kind, sides.border.bottom_mm, sides.border.even_mm) == ("sides", 65, None)


def test_answers_are_given_and_taken_back() -> None:
    told, _ = changed_ticket(TICKET, {"answers.float-over-one": "clip"})
    assert told.answers == {"float-over-one": "clip"}
    assert changed_ticket(told, {"answers.float-over-one": ""})[0] == TICKET
