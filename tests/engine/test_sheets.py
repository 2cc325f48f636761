"""Sheets by name and by size."""

from __future__ import annotations

import math

import pytest

from firstsheet.engine.errors import TicketError
from firstsheet.engine.sheets import SHEETS, parse_sheet, sheet_findings

# ISO 216 and the media names of PWG 5101.1, such as iso_a3_297x420mm, na_super-b_13x19in.
PUBLISHED = {
    "A0": (841, 1189),
    "A1": (594, 841),
    "A2": (420, 594),
    "A3": (297, 420),
    "A4": (210, 297),
    "A5": (148, 210),
    "letter": (215.9, 279.4),
    "11x14in": (279.4, 355.6),
    "ledger": (279.4, 431.8),
    "super-b": (330.2, 482.6),
    "A3+": (329, 483),
}


@pytest.mark.published
@pytest.mark.parametrize("name", PUBLISHED)
def test_a_named_sheet_has_its_published_size(name: str) -> None:
    sheet = parse_sheet(name)

    assert (sheet.width_mm, sheet.height_mm) == PUBLISHED[name]


@pytest.mark.published
@pytest.mark.parametrize("larger", ["A0", "A1", "A2", "A3", "A4", "A5"])
def test_each_iso_sheet_is_half_of_the_one_before_rounded_down(larger: str) -> None:
    smaller = SHEETS[f"A{int(larger[1]) + 1}"]  # the rule of ISO 216

    assert smaller.height_mm == SHEETS[larger].width_mm
    assert smaller.width_mm == math.floor(SHEETS[larger].height_mm / 2)


@pytest.mark.parametrize(
    ("text", "width_mm", "height_mm"),
    [
        ("a4", 210, 297),
        ("A 4", 210, 297),
        ("Letter", 215.9, 279.4),
        ("a2+", 431.8, 558.8),
        ("483x330mm", 483, 330),
        ("483 x 330 mm", 483, 330),
        ("483mm x 330mm", 483, 330),
        ("48.3x33cm", 483, 330),
        ("48,3 × 33 cm", 483, 330),
        ("19x13in", 482.6, 330.2),
        ('19"x13"', 482.6, 330.2),
        ("13 X 19 IN", 330.2, 482.6),
        ("30x40cm", 300, 400),
        ("12x16in", 304.8, 406.4),
        ("2x330mm", 2, 330),
        ("1m x 70cm", 1000, 700),
    ],
)
def test_a_sheet_is_read_in_every_way_people_write_it(
    text: str, width_mm: float, height_mm: float
) -> None:
    sheet = parse_sheet(text)

    assert (sheet.width_mm, sheet.height_mm) == (width_mm, height_mm)


@pytest.mark.parametrize("name", list(SHEETS))
def test_every_name_in_the_table_reads_as_itself(name: str) -> None:
    assert parse_sheet(name) == SHEETS[name]
    assert SHEETS[name].width_mm <= SHEETS[name].height_mm


def test_an_unknown_sheet_names_those_that_come_close() -> None:
    with pytest.raises(TicketError) as slip:
        parse_sheet("A3++")

    assert slip.value.found == "“A3++” is not a sheet that is known here."
    assert "A3+" in slip.value.choice
    assert "483x330mm" in slip.value.choice


def test_a_size_without_unit_is_not_guessed() -> None:
    with pytest.raises(TicketError) as slip:
        parse_sheet("20x25")

    # the same words are inches in one country and centimetres in another
    assert "20x25cm" in slip.value.choice
    assert "20x25in" in slip.value.choice


def test_a_size_between_a3_plus_and_13x19_asks_which_is_in_the_box() -> None:
    (found,) = sheet_findings(parse_sheet("483x330mm"))

    assert (found.code, found.weight) == ("sheet-easily-mistaken", "caution")
    assert "329 × 483 mm" in found.found
    assert "330.2 × 482.6 mm" in found.found
    assert "1.2 mm" in found.consequence


@pytest.mark.parametrize("text", ["A3+", "13x19in", "19x13in"])
def test_a_named_sheet_of_that_pair_is_only_remarked_on(text: str) -> None:
    assert [one.weight for one in sheet_findings(parse_sheet(text))] == ["fine"]


def test_other_sheets_are_not_remarked_on() -> None:
    assert sheet_findings(parse_sheet("A4")) == ()
    assert sheet_findings(parse_sheet("17x22in")) == ()
