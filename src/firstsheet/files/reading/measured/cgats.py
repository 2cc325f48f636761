"""CGATS text (ISO 28178): keywords, fields in any order, one or several tables.

Takes the file's text; gives its tables. Fields are parted by blanks, with or without quotes;
a set may run over several lines. Tests: tests/files/measured/test_cgats.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from firstsheet.files.reading.measured.table import PatchTable, bad_file

__all__ = ["cgats_tables", "looks_like_cgats"]

_TOKEN = re.compile(r'"((?:[^"]|"")*)"|(\S+)')
_COMMENT = re.compile(r"(?<!\S)#.*$")
_MOST_SETS = 100_000


def looks_like_cgats(text: str) -> bool:
    """Whether a text has the frame of this format."""
    return bool(re.search(r"^\s*BEGIN_DATA_FORMAT\b", text, re.MULTILINE))


def cgats_tables(text: str, file: str) -> tuple[PatchTable, ...]:
    """Every table of a text.

    Parameters
    ----------
    text
        The whole file.
    file
        Its name, for messages.

    Raises
    ------
    ReadingError
        If a table has no end, no fields, or a row with another number of fields.
    """
    tables: list[PatchTable] = []
    keywords: dict[str, str] = {}
    fields: list[str] | None = None
    rows = _lines(text)
    for number, words in rows:
        head = words[0].upper()
        if head == "BEGIN_DATA_FORMAT":
            fields = [word for _, line in _until(rows, "END_DATA_FORMAT", file) for word in line]
        elif head == "BEGIN_DATA":
            if not fields:
                raise bad_file(file, f"line {number}: data begin, and no fields were named.")
            held = list(_until(rows, "END_DATA", file))
            tables.append(_table(fields, held, dict(keywords), file))
        elif head != "KEYWORD":
            keywords[head] = " ".join(words[1:])
    if not tables:
        raise bad_file(file, "there are no data in it (BEGIN_DATA … END_DATA).")
    return tuple(tables)


def _lines(text: str) -> Iterator[tuple[int, list[str]]]:
    """Lines with something in them, cut into words; comments are left out."""
    for number, line in enumerate(text.splitlines(), start=1):
        plain = line if '"' in line else _COMMENT.sub("", line)
        if plain.lstrip().startswith("#"):
            continue
        words = [
            match[1].replace('""', '"') if match[1] is not None else match[2]
            for match in _TOKEN.finditer(plain)
        ]
        if words:
            yield number, words


def _until(
    rows: Iterator[tuple[int, list[str]]], end: str, file: str
) -> Iterator[tuple[int, list[str]]]:
    for number, words in rows:
        if words[0].upper() == end:
            return
        yield number, words
    raise bad_file(file, f"{end} is missing: the file is cut short.")


def _table(
    fields: Sequence[str], held: list[tuple[int, list[str]]], keywords: dict[str, str], file: str
) -> PatchTable:
    wide = len(fields)
    if len(held) > _MOST_SETS:
        raise bad_file(file, f"there are more than {_MOST_SETS} patches in it.")
    if any(len(words) != wide for _, words in held):
        held = _rejoined(held, wide, file)
    return PatchTable(
        kind="cgats",
        columns=tuple(fields),
        rows=tuple(tuple(words) for _, words in held),
        lines=tuple(number for number, _ in held),
        keywords=keywords,
        sets_said=_count(keywords.get("NUMBER_OF_SETS", "")),
    )


def _rejoined(
    held: list[tuple[int, list[str]]], wide: int, file: str
) -> list[tuple[int, list[str]]]:
    """Sets that run over several lines; a row that is simply wrong is named."""
    joined: list[tuple[int, list[str]]] = []
    begun, words = 0, list[str]()
    for number, more in held:
        begun = begun if words else number
        words = words + more
        if len(words) > wide:
            raise bad_file(file, f"line {number}: {len(more)} values, and {wide} fields are named.")
        if len(words) == wide:
            joined.append((begun, words))
            words = []
    if words:
        raise bad_file(file, f"line {begun}: {len(words)} values, and {wide} fields are named.")
    return joined


def _count(text: str) -> int | None:
    return int(text) if text.strip().isdecimal() else None
