"""The table that every kind of readings file is brought to, and the numbers in it.

Takes texts; gives numbers, or an error with file, line and what stands there.
Tests: tests/files/measured/test_cgats.py, test_csv_rows.py.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from firstsheet.engine.errors import ReadingError

__all__ = ["PatchTable", "bad_file", "decoded", "number_in"]

_NUMBER = re.compile(r"^[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$")


@dataclass(frozen=True)
class PatchTable:
    """Rows of texts under named columns."""

    kind: Literal["cgats", "cxf", "csv"]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]  # where each row stands in the file, from 1
    keywords: Mapping[str, str] = field(default_factory=dict)  # upper case
    sets_said: int | None = None  # rows the file itself says it has


def decoded(data: bytes) -> str:
    """Text of a file in UTF-8, UTF-16 with its mark, or else Latin-1."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def number_in(text: str, *, file: str, line: int, column: str) -> float:
    """A number with a point or a comma.

    Raises
    ------
    ReadingError
        If it is none.
    """
    if _NUMBER.match(text):
        value = float(text.replace(",", "."))
        if math.isfinite(value):
            return value
    raise bad_file(file, f"line {line}, {column}: “{text[:40]}” is not a number.")


def bad_file(file: str, what: str, choice: str = "") -> ReadingError:
    """A readings file that cannot be read, with the place."""
    return ReadingError(
        f"{file}, {what}",
        "The readings are not used.",
        choice or "Export the readings again, or correct the file.",
        "bad-readings",
    )
