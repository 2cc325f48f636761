"""What a look at the whole ledger found. Data only."""

from __future__ import annotations

from firstsheet.engine.records.base import Record

__all__ = ["LedgerCopy", "LedgerReport", "TableReport"]


class TableReport(Record):
    """One table: what it holds, and what of it can be read."""

    name: str  # plain name
    rows: int | None  # None: cannot be counted
    readable: int


class LedgerCopy(Record):
    """A copy of the ledger that lies beside it."""

    path: str
    prints: int | None  # None: it cannot be read


class LedgerReport(Record):
    """Whether the ledger is sound."""

    path: str
    size_bytes: int
    form: int | None  # migrations applied; None: cannot be told
    is_sound: bool
    tables: tuple[TableReport, ...]
    problems: tuple[str, ...]  # sentences
    copies: tuple[LedgerCopy, ...]
