"""Lines fit their width, and every letter finds a font."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfgen.canvas import Canvas

from firstsheet.files.jobsheet.latin import in_latin
from firstsheet.files.jobsheet.typesetting import Pen


def pen() -> Pen:
    return Pen(Canvas(None, invariant=1))


@given(st.text(max_size=120), st.floats(40, 300))
def test_no_line_is_wider_than_its_column(text: str, width: float) -> None:
    writer = pen()

    for line in writer.lines(text, width=width, size=9):
        assert writer.width(line, size=9) <= width or len(line) == 1


@pytest.mark.parametrize("unit", ["%", "mm", "m", "ppi"])
def test_a_unit_stays_on_the_line_of_its_number(unit: str) -> None:
    writer = pen()

    for width in range(40, 120):
        for line in writer.lines(f"it keeps 54 {unit} of its modelling", width=width, size=9):
            assert line.split()[0] != unit


@given(st.text(max_size=300), st.floats(60, 300))
def test_a_shortened_line_fits_and_keeps_both_ends(text: str, width: float) -> None:
    writer = pen()

    short = writer.fit(text, width=width, size=9)

    assert writer.width(short, size=9) <= width or len(short) <= 3
    assert short[:1] == text[:1]


def test_a_line_that_fits_is_left_alone() -> None:
    assert pen().fit("ferry-stairs", width=200, size=9) == "ferry-stairs"


@given(st.text(max_size=60))
def test_no_text_stops_the_pen(text: str) -> None:
    pen().text(0, 0, text, size=9)


@pytest.mark.parametrize(
    ("name", "latin"),
    [
        # ELOT 743 / UN: Athens is Athina, Piraeus Peiraias; BGN/PCGN: Zhitomir, Yalta, Shchuka
        ("Αθήνα", "Athina"),
        ("Πειραιάς", "Peiraias"),
        ("Ουρανός", "Ouranos"),
        ("Житомир", "Zhitomir"),
        ("Ялта", "Yalta"),
        ("Щука", "Shchuka"),
        ("Čapek", "Capek"),
        ("straße", "straße"),
        ("日本", "日本"),
    ],
)
def test_names_are_set_in_latin_as_the_tables_say(name: str, latin: str) -> None:
    assert in_latin(name) == latin


def test_delta_and_comparison_signs_stay_signs() -> None:
    writer = pen()
    writer.text(0, 0, "ΔE00 ≤ 2", size=9)

    assert not writer.changed_letters


def test_a_letter_without_any_font_is_marked_as_changed() -> None:
    writer = pen()
    writer.text(0, 0, "سفينة", size=9)

    assert writer.changed_letters
