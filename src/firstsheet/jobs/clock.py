"""The time now, and months as people mean them. The one place that asks the clock for a date."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from firstsheet.engine.errors import LedgerError

__all__ = ["local_time", "month_bounds", "utc_now"]

_MONTH = re.compile(r"^\s*(\d{4})[-./](\d{1,2})\s*$")


def utc_now() -> str:
    """The time now: `2026-12-01T13:28:46Z`."""
    return _text(datetime.now(UTC))


def _text(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def local_time(at: str) -> str:
    """A kept time in this computer's own zone, to the minute: `2026-12-01 14:28`."""
    moment = datetime.strptime(at, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
    return moment.astimezone().strftime("%Y-%m-%d %H:%M")


def month_bounds(month: str) -> tuple[str, str]:
    """First moment of a month of this computer's zone and of the next, as UTC.

    Raises
    ------
    LedgerError
        If it is no month such as `2026-11`.
    """
    match = _MONTH.match(month)
    number = int(match[2]) if match else 0
    if match is None or not 1 <= number <= 12 or not 1970 <= int(match[1]) < 9999:
        raise LedgerError(
            f"“{month}” is no month.",
            "Nothing was listed.",
            "Write year and month: 2026-11.",
            "bad-month",
        )
    begin = datetime(int(match[1]), number, 1).astimezone()
    after = (begin + timedelta(days=32)).replace(day=1)
    end = datetime(after.year, after.month, 1).astimezone()
    return _text(begin), _text(end)
