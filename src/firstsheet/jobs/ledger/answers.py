"""What the ledger's jobs answer: frozen records that command line and page show alike.

Holds no sums. The JSON form is the record itself; schemas: docs/schema/.
"""

from __future__ import annotations

from firstsheet.engine.records import Finding, Record
from firstsheet.engine.records.costs import StockCost
from firstsheet.engine.records.edition import (
    CertificateFacts,
    EditionCopy,
    EditionState,
    EditionTerms,
    Holder,
)
from firstsheet.engine.records.ledger import (
    EntryKind,
    HistoryLine,
    LedgerEntry,
    LedgerFile,
    PrintState,
    PrintVerdict,
)
from firstsheet.engine.records.ledger_check import LedgerReport

__all__ = [
    "CertificateAnswer",
    "CostsAnswer",
    "EditionAnswer",
    "EditionLine",
    "EditionsAnswer",
    "HolderLine",
    "HoldersAnswer",
    "LedgerCheckAnswer",
    "LedgerFilesAnswer",
    "PrintLine",
    "PrintShowAnswer",
    "PrintsAnswer",
]


class PrintLine(Record):
    """One print in the list."""

    number: int
    kind: EntryKind
    made_at: str  # UTC
    made_local: str  # in this computer's zone, to the minute
    picture: str  # name without folder
    stock: str
    stock_title: str
    sheet: str
    width_mm: float
    height_mm: float
    used: int  # sheets
    good: int
    spoiled: int
    verdict: PrintVerdict
    plan_digest: str
    folder: str


class PrintsAnswer(Record):
    """Prints the ledger knows, newest first."""

    ledger: str
    count: int  # that fit what was asked
    prints: tuple[PrintLine, ...]


class PrintShowAnswer(Record):
    """One print: what it was made of and with, and what became of it."""

    ledger: str
    line: PrintLine
    entry: LedgerEntry
    state: PrintState
    history: tuple[HistoryLine, ...]
    files: tuple[LedgerFile, ...]
    versions: dict[str, str]  # of program parts, by name
    ticket: str  # TOML
    folder_is_there: bool
    picture_is_there: bool
    words: str = ""  # what was just written, in a sentence


class CostsAnswer(Record):
    """Sheets and money by stock."""

    ledger: str
    currency: str  # empty: no price was entered
    stocks: tuple[StockCost, ...]
    words: str = ""  # what was just written, in a sentence


class LedgerCheckAnswer(Record):
    """Whether the ledger is sound, and what can be done."""

    report: LedgerReport
    sentences: tuple[str, ...]


class LedgerFilesAnswer(Record):
    """A copy, an export or an import of the ledger."""

    ledger: str
    place: str  # of the copy or the export
    rows: dict[str, int]  # by table; empty for a copy
    words: str


class EditionAnswer(Record):
    """One edition: its terms, its copies and where they are."""

    ledger: str
    terms: EditionTerms
    state: EditionState
    copies: tuple[EditionCopy, ...]
    holders: tuple[Holder, ...] = ()  # personal data; only where it was asked for
    findings: tuple[Finding, ...] = ()
    words: str = ""  # what was just written, in a sentence


class EditionLine(Record):
    """One edition in the list."""

    terms: EditionTerms
    state: EditionState


class EditionsAnswer(Record):
    """All editions."""

    ledger: str
    editions: tuple[EditionLine, ...]


class HolderLine(Record):
    """One copy that went to a holder."""

    edition: str
    label: str
    at: str
    words: str


class HoldersAnswer(Record):
    """Who holds copies, with what is kept of them: personal data."""

    ledger: str
    holders: tuple[Holder, ...]
    lines: dict[int, tuple[HolderLine, ...]]  # by the holder's number
    words: str = ""


class CertificateAnswer(Record):
    """A certificate and a label that were written."""

    ledger: str
    facts: CertificateFacts
    files: tuple[str, ...]
