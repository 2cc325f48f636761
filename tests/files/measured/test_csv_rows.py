"""CSV: separators, decimal commas, a header below other rows."""

from __future__ import annotations

import pytest

from firstsheet.engine.errors import ReadingError
from firstsheet.files.reading.measured.csv_rows import csv_table


@pytest.mark.parametrize(
    "text",
    [
        "name,L,a,b\npaper,95.0,0.0,-2.0\nblack,16,0,0\n",
        "name;L;a;b\r\npaper;95,0;0,0;-2,0\r\nblack;16;0;0\r\n",
        "name\tL\ta\tb\npaper\t95.0\t0.0\t-2.0\nblack\t16\t0\t0\n",
        '"name","L","a","b"\n"paper","95,0","0,0","-2,0"\n"black","16","0","0"\n',
        "Read on the quay\nCreated;2026-11-03\n\n"
        "name;L;a;b;\npaper;95.0;0.0;-2.0;\nblack;16;0;0;\n",
    ],
    ids=["comma", "semicolon", "tab", "quoted commas", "rows above"],
)
def test_the_usual_ways_of_writing_are_one(text: str) -> None:
    table = csv_table(text, "strip.csv")

    assert table.columns == ("name", "L", "a", "b")
    assert [row[0] for row in table.rows] == ["paper", "black"]
    assert float(table.rows[0][1].replace(",", ".")) == 95.0


def test_rows_above_the_header_are_keywords() -> None:
    table = csv_table("Created;2026-11-03\nname;L;a;b\npaper;95;0;-2\n", "strip.csv")

    assert table.keywords["CREATED"] == "2026-11-03"
    assert table.lines == (3,)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("95,0,-2\n16,0,0\n", "no row names columns"),
        ("name,L,a,b\n", "no row below the header"),
        ("name,L,a,b\npaper,95,0\n", "line 2: 3 cells, and 4 columns"),
        ("name,L,a,b\npaper,95,0,-2,7\n", "line 2: 5 cells, and 4 columns"),
        ("", "no row names columns"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_line(text: str, said: str) -> None:
    with pytest.raises(ReadingError, match=said):
        csv_table(text, "strip.csv")
