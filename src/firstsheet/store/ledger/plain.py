"""How each table of the ledger is written as plain files, and read back.

One list that export, import, check and salvage share: a table's plain name, and which columns
become files of their own. Docs: docs/ledger.md. Tests: tests/store/ledger/test_ledger_export.py.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

__all__ = ["PLAIN_TABLES", "PlainFile", "PlainTable"]

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class PlainFile:
    """A column that is written as a file: where, and how its content becomes bytes and back."""

    folder: str
    ending: str
    key: str  # column the file is named by
    to_bytes: Callable[[Any, Row], bytes] = lambda value, _row: bytes(value)
    from_bytes: Callable[[bytes, Row], Any] = lambda content, _row: content
    is_sound: Callable[[Any, Row], bool] = lambda _value, _row: True  # still what was kept

    def place(self, row: Row) -> str:
        """Path of the file in the export; never outside of it, whatever the row holds."""
        name = str(row[self.key])
        if not name.isalnum():
            raise ValueError(f"{self.key} {name!r} cannot name a file")
        return f"{self.folder}/{name}{self.ending}"


@dataclass(frozen=True, slots=True)
class PlainTable:
    """A table, its plain name and the columns that are files."""

    table: str
    name: str
    about: str
    files: Mapping[str, PlainFile] = field(default_factory=dict)
    personal: bool = False
    late: str = ""  # rows that have something in this column rest on rows of later tables


def _text(value: Any, _row: Row) -> bytes:
    return str(value).encode("utf-8")


def _as_text(content: bytes, _row: Row) -> str:
    return content.decode("utf-8")


def _unpacked(value: Any, _row: Row) -> bytes:
    return zlib.decompress(value) if value else b""


def _packed(content: bytes, _row: Row) -> bytes:
    return zlib.compress(content) if content else b""


def _has_sum(value: Any, row: Row) -> bool:
    """Whether the content has the SHA-256 of its row; rows of old have none."""
    return row.get("sha256", "") in ("", hashlib.sha256(value).hexdigest())


def _is_plan(value: Any, row: Row) -> bool:
    try:
        return bool(json.loads(zlib.decompress(value))["digest"] == row["digest"])
    except (zlib.error, ValueError, KeyError, TypeError):
        return False


def _is_grid(value: Any, row: Row) -> bool:
    try:
        points = int(row["rows"]) * int(row["columns"])
        return len(zlib.decompress(value)) == 2 * points * int(row["channels"])
    except zlib.error:
        return False


def _codes_as_csv(value: Any, row: Row) -> bytes:
    """Codes of the grid: a line for each point, row by row."""
    codes = memoryview(zlib.decompress(value))
    channels = int(row["channels"])
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["row", "column", *(f"code_{n}" for n in range(1, channels + 1))])
    for point in range(int(row["rows"]) * int(row["columns"])):
        at = divmod(point, int(row["columns"]))
        start = point * channels * 2
        values = [
            int.from_bytes(codes[start + 2 * n : start + 2 * n + 2], "little")
            for n in range(channels)
        ]
        writer.writerow([*at, *values])
    return out.getvalue().encode("utf-8")


def _csv_as_codes(content: bytes, _row: Row) -> bytes:
    lines = list(csv.reader(io.StringIO(content.decode("utf-8"))))[1:]
    codes = b"".join(int(code).to_bytes(2, "little") for line in lines for code in line[2:])
    return zlib.compress(codes)


PLAIN_TABLES: tuple[PlainTable, ...] = (
    PlainTable(
        "profile",
        "profiles",
        "ICC profiles of papers by SHA-256; the files are the profiles themselves",
        {"icc": PlainFile("profiles", ".icc", "sha256", is_sound=_has_sum)},
    ),
    PlainTable(
        "plan",
        "plans",
        "what was wanted (ticket), on what paper (stock), and everything decided (plan)",
        {
            "ticket": PlainFile("tickets", ".toml", "digest", _text, _as_text),
            "stock": PlainFile("stocks", ".toml", "digest", _text, _as_text),
            "plan": PlainFile("plans", ".json", "digest", _unpacked, _packed, _is_plan),
        },
    ),
    PlainTable("versions", "versions", "versions of program, interpreter and libraries"),
    PlainTable("entry", "prints", "one line for each print file that was made"),
    PlainTable("entry_file", "files", "files of each print's folder: size and SHA-256"),
    PlainTable(
        "small_picture",
        "pictures",
        "a small soft proof of each print, sRGB",
        {"jpeg": PlainFile("pictures", ".jpg", "entry", is_sound=_has_sum)},
    ),
    PlainTable(
        "sample",
        "samples",
        "codes (0 to 65535) of the print file on an even grid of its picture",
        {"codes": PlainFile("samples", ".csv", "entry", _codes_as_csv, _csv_as_codes, _is_grid)},
    ),
    PlainTable("history", "history", "what became of the sheets; a line may withdraw another"),
    PlainTable("price", "prices", "what sheets and ink cost from when on"),
    PlainTable("edition", "editions", "editions by name"),
    PlainTable(
        "edition_terms", "edition-terms", "what each edition promises; the last line counts"
    ),
    PlainTable("holder", "holders", "numbers of those who hold or held copies"),
    PlainTable(
        "holder_data", "holder-data", "their personal data, where it was given", personal=True
    ),
    PlainTable("erasure", "erasures", "whose personal data was erased, and when"),
    PlainTable(
        "copy",
        "copies",
        "numbered sheets; `replaces` names the spoiled one before",
        late="replaces",
    ),
    PlainTable("copy_history", "copy-history", "what became of numbered sheets"),
)
