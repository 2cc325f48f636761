"""Times of the ledger, and months as people mean them."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator

import pytest

from firstsheet.engine.errors import LedgerError
from firstsheet.jobs.clock import local_time, month_bounds, utc_now


@pytest.fixture
def eastern(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Five hours behind UTC, no summer time."""
    monkeypatch.setenv("TZ", "XXX5")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def test_now_is_utc_to_the_second() -> None:
    assert re.fullmatch(r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ", utc_now())


@pytest.mark.usefixtures("eastern")
def test_a_month_begins_at_midnight_where_the_person_is() -> None:
    assert month_bounds("2026-11") == ("2026-11-01T05:00:00Z", "2026-12-01T05:00:00Z")
    assert month_bounds("2026-12") == ("2026-12-01T05:00:00Z", "2027-01-01T05:00:00Z")
    assert month_bounds("2024/2") == ("2024-02-01T05:00:00Z", "2024-03-01T05:00:00Z")


@pytest.mark.usefixtures("eastern")
def test_a_kept_time_is_shown_where_the_person_is() -> None:
    assert local_time("2026-12-01T04:59:31Z") == "2026-11-30 23:59"


@pytest.mark.parametrize("words", ["November", "2026", "2026-13", "26-11", "2026-0", "9999-12"])
def test_what_is_no_month_is_told(words: str) -> None:
    with pytest.raises(LedgerError) as refused:
        month_bounds(words)

    assert refused.value.code == "bad-month"
    assert "2026-11" in refused.value.choice
