"""Entries of the ledger: one for each print file that was made.

Takes what a job knows of a print; gives it back as records and bytes. An entry is written whole
in one transaction, with its plan, profile and versions, each kept once by their content.
Tests: tests/store/ledger/test_ledger_entries.py.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from firstsheet.engine.errors import LedgerError
from firstsheet.engine.records.ledger import LedgerEntry, LedgerFile
from firstsheet.store.ledger.connect import Ledger
from firstsheet.store.ledger.search import keep_words

__all__ = [
    "ENTRY_COLUMNS",
    "MadePrint",
    "PrintSample",
    "add_entry",
    "entry_files",
    "find_print",
    "kept_plan",
    "kept_profile",
    "kept_sample",
    "kept_versions",
    "read_entry",
    "small_picture",
]

ENTRY_COLUMNS = tuple(name for name in LedgerEntry.model_fields if name != "number")
_LEAST_DIGITS = 6  # of a plan's digest, where a print is named by it


@dataclass(frozen=True, kw_only=True, eq=False)
class PrintSample:
    """Codes of the print file on an even grid of the picture, row by row, 16 bit."""

    columns: int
    rows: int
    channels: int
    codes: bytes  # little-endian uint16, rows × columns × channels


@dataclass(frozen=True, kw_only=True, eq=False)
class MadePrint:
    """Everything the ledger keeps of one print."""

    entry: LedgerEntry  # its number and `versions_sha256` are given by the ledger
    ticket: str  # TOML
    stock: str  # TOML
    plan: str  # JSON
    profile: bytes  # ICC, of the paper
    profile_description: str
    versions: Mapping[str, str]
    files: tuple[LedgerFile, ...]
    jpeg: bytes = b""
    sample: PrintSample | None = None


def add_entry(ledger: Ledger, made: MadePrint) -> LedgerEntry:
    """Keep a print; gives its entry with the number it got.

    Raises
    ------
    LedgerError, OutputError
        If the ledger cannot be written. Then nothing of the entry is kept.
    """
    versions = json.dumps(dict(made.versions), sort_keys=True)
    versions_sha256 = hashlib.sha256(versions.encode()).hexdigest()
    with ledger.writing() as tables:
        tables.execute(
            "INSERT INTO profile (sha256, description, icc) VALUES (?, ?, ?) "
            "ON CONFLICT DO NOTHING",
            (made.entry.profile_sha256, made.profile_description, made.profile),
        )
        tables.execute(
            "INSERT INTO versions (sha256, versions) VALUES (?, ?) ON CONFLICT DO NOTHING",
            (versions_sha256, versions),
        )
        tables.execute(
            "INSERT INTO plan (digest, ticket, stock, plan) VALUES (?, ?, ?, ?) "
            "ON CONFLICT DO NOTHING",
            (made.entry.plan_digest, made.ticket, made.stock, zlib.compress(made.plan.encode())),
        )
        fields = made.entry.model_dump(exclude={"number"}) | {"versions_sha256": versions_sha256}
        places = ", ".join("?" for _ in ENTRY_COLUMNS)
        number = tables.execute(
            f"INSERT INTO entry ({', '.join(ENTRY_COLUMNS)}) VALUES ({places})",
            [fields[name] for name in ENTRY_COLUMNS],
        ).lastrowid
        assert number is not None
        tables.executemany(
            "INSERT INTO entry_file (entry, name, size_bytes, sha256) VALUES (?, ?, ?, ?)",
            [(number, one.name, one.size_bytes, one.sha256) for one in made.files],
        )
        if made.jpeg:
            tables.execute(
                "INSERT INTO small_picture (entry, jpeg, sha256) VALUES (?, ?, ?)",
                (number, made.jpeg, hashlib.sha256(made.jpeg).hexdigest()),
            )
        if made.sample is not None:
            one = made.sample
            tables.execute(
                "INSERT INTO sample (entry, columns, rows, channels, codes) VALUES (?, ?, ?, ?, ?)",
                (number, one.columns, one.rows, one.channels, zlib.compress(one.codes)),
            )
        tables.execute("INSERT INTO state VALUES (?, 0, 0, 0, '')", (number,))
        entry = made.entry.model_copy(update={"number": number, "versions_sha256": versions_sha256})
        keep_words(tables, entry, ())
    return entry


def read_entry(ledger: Ledger, number: int) -> LedgerEntry:
    """One entry by its number.

    Raises
    ------
    LedgerError
        If there is none.
    """
    with ledger.reading() as tables:
        row = tables.execute("SELECT * FROM entry WHERE number = ?", (number,)).fetchone()
    if row is None:
        raise _unknown(ledger, str(number))
    return entry_of(row)


def entry_of(row: sqlite3.Row) -> LedgerEntry:
    """The record of a row of `entry`."""
    return LedgerEntry.model_validate({name: row[name] for name in ("number", *ENTRY_COLUMNS)})


def find_print(ledger: Ledger, name: str) -> LedgerEntry:
    """One entry by what people have at hand.

    Parameters
    ----------
    name
        Its number, `latest`, the first six or more digits of its plan's digest (the key printed
        in the border has twelve), or the folder that was made.

    Raises
    ------
    LedgerError
        If there is none.
    """
    wanted = name.strip().lstrip("#")
    digits = wanted.lower()
    tries: list[tuple[str, tuple[str | int, ...]]] = []
    if wanted == "latest":
        tries.append(("1", ()))
    if wanted.isdecimal() and len(wanted) < 16:
        tries.append(("number = ?", (int(wanted),)))
    if len(digits) >= _LEAST_DIGITS and not set(digits) - set("0123456789abcdef"):
        tries.append(("plan_digest >= ? AND plan_digest < ?", (digits, f"{digits}g")))
    tries.append(("folder = ?", (wanted,)))
    with ledger.reading() as tables:
        for where, values in tries:
            row = tables.execute(
                f"SELECT * FROM entry WHERE {where} ORDER BY number DESC LIMIT 1", values
            ).fetchone()
            if row is not None:
                return entry_of(row)
    raise _unknown(ledger, name)


def _unknown(ledger: Ledger, name: str) -> LedgerError:
    return LedgerError(
        f"The ledger knows no print called “{name}”.",
        f"It was looked for in {ledger.path}.",
        "Give its number, `latest`, the plan's first digits as printed in the border, or its "
        "folder; `firstsheet prints` lists all.",
        "unknown-print",
    )


def entry_files(ledger: Ledger, number: int) -> tuple[LedgerFile, ...]:
    """Files of an entry, by name."""
    with ledger.reading() as tables:
        rows = tables.execute(
            "SELECT name, size_bytes, sha256 FROM entry_file WHERE entry = ? ORDER BY name",
            (number,),
        ).fetchall()
    return tuple(LedgerFile.model_validate(dict(row)) for row in rows)


def small_picture(ledger: Ledger, number: int) -> bytes:
    """The small picture of an entry as JPEG; empty where none was kept."""
    kept = _one(ledger, "SELECT jpeg FROM small_picture WHERE entry = ?", number)
    return cast(bytes, kept or b"")


def kept_profile(ledger: Ledger, sha256: str) -> bytes:
    """The ICC profile of this SHA-256; empty where none is kept."""
    return cast(bytes, _one(ledger, "SELECT icc FROM profile WHERE sha256 = ?", sha256) or b"")


def kept_plan(ledger: Ledger, digest: str) -> tuple[str, str, str]:
    """Ticket (TOML), stock (TOML) and plan (JSON) under a plan's digest.

    Raises
    ------
    LedgerError
        If that plan is not kept.
    """
    with ledger.reading() as tables:
        row = tables.execute(
            "SELECT ticket, stock, plan FROM plan WHERE digest = ?", (digest,)
        ).fetchone()
    if row is None:
        raise _unknown(ledger, digest)
    return row["ticket"], row["stock"], zlib.decompress(row["plan"]).decode()


def kept_versions(ledger: Ledger, sha256: str) -> Mapping[str, str]:
    """Versions of program parts by name, under their SHA-256."""
    text = _one(ledger, "SELECT versions FROM versions WHERE sha256 = ?", sha256)
    return cast(Mapping[str, str], json.loads(text)) if text else {}


def kept_sample(ledger: Ledger, number: int) -> PrintSample | None:
    """The print file's codes on a grid, as they were when it was made."""
    with ledger.reading() as tables:
        row = tables.execute("SELECT * FROM sample WHERE entry = ?", (number,)).fetchone()
    if row is None:
        return None
    return PrintSample(
        columns=row["columns"],
        rows=row["rows"],
        channels=row["channels"],
        codes=zlib.decompress(row["codes"]),
    )


def _one(ledger: Ledger, query: str, value: int | str) -> Any:
    with ledger.reading() as tables:
        row = tables.execute(query, (value,)).fetchone()
    return None if row is None else row[0]
