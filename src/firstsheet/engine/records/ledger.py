"""What the ledger keeps of each print, and what happened to it afterwards. Data only.

Lengths mm, sizes bytes, times UTC as ISO 8601 to the second (`2026-12-01T13:28:46Z`).
Written and read by `store.ledger`; shown by `jobs.ledger`. Tables: docs/ledger.md.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = [
    "EntryKind",
    "HistoryKind",
    "HistoryLine",
    "LedgerEntry",
    "LedgerFile",
    "PrintState",
    "PrintVerdict",
]

EntryKind = Literal["print", "test"]  # test: a test sheet or a sharpening ladder
HistoryKind = Literal["printed", "judged", "withdrawn"]
PrintVerdict = Literal["good", "spoiled", ""]  # empty: nobody has judged it


class LedgerFile(Record):
    """One file of a print's folder, as it was when the folder appeared."""

    name: str
    size_bytes: int
    sha256: str


class LedgerEntry(Record):
    """One made print file: what it was made of and with."""

    number: int  # in this ledger, from 1, never given twice
    kind: EntryKind
    made_at: str
    plan_digest: str
    picture_path: str
    picture_sha256: str
    picture_bytes: int
    stock: str
    stock_title: str
    media_setting: str
    profile_sha256: str
    sheet: str
    sheet_width_mm: float
    sheet_height_mm: float
    width_mm: float  # of the picture on paper
    height_mm: float
    ppi: float
    intent: str
    distance_mm: float
    illuminance_lux: float
    lamp: str
    folder: str
    print_file: str
    verdict: str  # the plan's sentence
    program: str  # firstsheet and its version
    versions_sha256: str  # of the libraries' versions
    seconds: float


class HistoryLine(Record):
    """Something that happened to a print after it was made. Never changed; only withdrawn."""

    number: int
    entry: int
    at: str
    kind: HistoryKind
    copies: int = Field(default=0, ge=0)  # sheets printed, or sheets judged
    verdict: PrintVerdict = ""
    words: str = ""
    withdraws: int | None = None  # the line that is taken back by this one
    is_withdrawn: bool = False  # whether a later line takes this one back


class PrintState(Record):
    """Sheets of one print, summed over its history."""

    used: int = 0  # sheets that went through the printer
    good: int = 0
    spoiled: int = 0
    verdict: PrintVerdict = ""  # the latest
