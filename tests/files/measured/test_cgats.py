"""CGATS text: any order of fields, quotes or none, sets over several lines, damage named."""

from __future__ import annotations

import pytest

from firstsheet.engine.errors import ReadingError
from firstsheet.files.reading.measured.cgats import cgats_tables, looks_like_cgats

PLAIN = """CGATS.17
ORIGINATOR "the shed by the quay"
# a remark with "quotes" in it
NUMBER_OF_FIELDS 4
BEGIN_DATA_FORMAT
SAMPLE_NAME LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 2
BEGIN_DATA
"A 1" 95.0 0.0 -2.0
A2 48.0 74.0 -3.0  # magenta
END_DATA
"""


def test_quotes_remarks_and_keywords_are_understood() -> None:
    (table,) = cgats_tables(PLAIN, "strip.txt")

    assert table.columns == ("SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B")
    assert table.rows == (("A 1", "95.0", "0.0", "-2.0"), ("A2", "48.0", "74.0", "-3.0"))
    assert table.lines == (10, 11)
    assert table.keywords["ORIGINATOR"] == "the shed by the quay"
    assert table.sets_said == 2


def test_fields_may_stand_on_several_lines_and_sets_too() -> None:
    text = PLAIN.replace("SAMPLE_NAME LAB_L ", "SAMPLE_NAME\nLAB_L\n").replace(
        "0.0 -2.0", "0.0\n-2.0"
    )

    (table,) = cgats_tables(text, "strip.txt")

    assert table.columns == ("SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B")
    assert table.rows[0] == ("A 1", "95.0", "0.0", "-2.0")


def test_several_tables_stay_apart() -> None:
    tables = cgats_tables(PLAIN + PLAIN.replace("95.0", "94.0"), "two.txt")

    assert [table.rows[0][1] for table in tables] == ["95.0", "94.0"]


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("END_DATA\n", "", "END_DATA is missing"),
        ("END_DATA_FORMAT\n", "", "END_DATA_FORMAT is missing"),
        ("BEGIN_DATA\n", "", "there are no data"),
        ("SAMPLE_NAME LAB_L LAB_A LAB_B\n", "", "no fields were named"),
        ("95.0 0.0 -2.0", "95.0 0.0 -2.0 7 8", "line 10: 6 values, and 4 fields"),
        ("74.0 -3.0", "74.0", "line 11: 3 values, and 4 fields"),
    ],
)
def test_damage_is_named_with_its_place(before: str, after: str, said: str) -> None:
    with pytest.raises(ReadingError, match=said):
        cgats_tables(PLAIN.replace(before, after, 1), "strip.txt")


def test_another_text_is_not_taken_for_it() -> None:
    assert looks_like_cgats(PLAIN)
    assert not looks_like_cgats("name, L, a, b\npaper, 95, 0, -2\n")
