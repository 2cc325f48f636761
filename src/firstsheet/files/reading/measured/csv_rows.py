"""CSV of readings: any of the usual separators, decimal commas, a header row somewhere on top.

Takes the file's text; gives one table. Tests: tests/files/measured/test_csv_rows.py.
"""

from __future__ import annotations

import csv
import io

from firstsheet.files.reading.measured.columns import columns_in
from firstsheet.files.reading.measured.table import PatchTable, bad_file

__all__ = ["csv_table"]

_SEPARATORS = ("\t", ";", ",")
_HEADER_WITHIN = 60  # lines that may stand above it
_MOST_ROWS = 100_000


def csv_table(text: str, file: str) -> PatchTable:
    """The table of a CSV file.

    Raises
    ------
    ReadingError
        If no row names columns of Lab, XYZ or spectra, or a row is longer or shorter than that.
    """
    for separator in _SEPARATORS:
        rows = _rows(text, separator, file)
        for index, (_, cells) in enumerate(rows[:_HEADER_WITHIN]):
            if len(cells) > 2 and columns_in(cells).measured:
                return _table(rows, index, file)
    raise bad_file(
        file,
        "no row names columns of Lab, XYZ or spectra.",
        "Write a header row above the numbers, such as: name, L, a, b.",
    )


def _rows(text: str, separator: str, file: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text), delimiter=separator)
    rows: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            stripped = [cell.strip().strip("'") for cell in cells]
            if any(stripped):
                rows.append((reader.line_num, stripped))
    except csv.Error as error:
        raise bad_file(file, f"line {reader.line_num}: {error}.") from error
    if len(rows) > _MOST_ROWS:
        raise bad_file(file, f"there are more than {_MOST_ROWS} rows in it.")
    return rows


def _table(rows: list[tuple[int, list[str]]], header: int, file: str) -> PatchTable:
    columns = rows[header][1]
    while columns and not columns[-1]:
        columns = columns[:-1]
    kept, lines = [], []
    for number, cells in rows[header + 1 :]:
        while len(cells) > len(columns) and not cells[-1]:
            cells = cells[:-1]
        if len(cells) != len(columns):
            raise bad_file(
                file, f"line {number}: {len(cells)} cells, and {len(columns)} columns are named."
            )
        kept.append(tuple(cells))
        lines.append(number)
    if not kept:
        raise bad_file(file, "there is no row below the header.")
    above = {
        cells[0].upper().rstrip(":"): cells[1] for _, cells in rows[:header] if len(cells) >= 2
    }
    return PatchTable(
        kind="csv", columns=tuple(columns), rows=tuple(kept), lines=tuple(lines), keywords=above
    )
