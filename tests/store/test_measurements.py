"""Measurements on disk: kept, bounded, and never in the way."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from firstsheet.store import measurements
from firstsheet.store.measurements import MeasurementStore, measurements_folder


def test_an_answer_comes_back_under_its_question_and_key_only(tmp_path: Path) -> None:
    store = MeasurementStore(tmp_path / "kept")
    store.save("detail", ["abc", 1], b"answer")

    assert store.load("detail", ["abc", 1]) == b"answer"
    assert store.load("detail", ["abc", 2]) is None
    assert store.load("dust", ["abc", 1]) is None


def test_a_damaged_entry_counts_as_none(tmp_path: Path) -> None:
    store = MeasurementStore(tmp_path)
    store.save("detail", ["abc"], b"answer")
    (entry,) = tmp_path.iterdir()
    entry.write_bytes(entry.read_bytes()[:-1])

    assert store.load("detail", ["abc"]) is None


def test_the_oldest_entries_go_beyond_the_limit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(measurements, "MOST_BYTES", 3 * 1032)
    store = MeasurementStore(tmp_path)
    for at in range(5):
        store.save("detail", [at], bytes(1000))
        newest = max(tmp_path.iterdir(), key=lambda one: one.stat().st_mtime_ns)
        os.utime(newest, ns=(at * 10**9, at * 10**9))

    assert [at for at in range(5) if store.load("detail", [at]) is not None] == [2, 3, 4]


def test_a_folder_that_cannot_be_written_is_no_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    store = MeasurementStore(tmp_path / "file" / "kept")

    store.save("detail", ["abc"], b"answer")

    assert store.load("detail", ["abc"]) is None


def test_many_writers_at_once_leave_whole_entries(tmp_path: Path) -> None:
    def work(at: int) -> None:
        MeasurementStore(tmp_path).save("detail", ["same"], bytes([at]) * 100_000)

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(work, range(40)))

    kept = MeasurementStore(tmp_path).load("detail", ["same"])
    assert kept is not None
    assert kept == kept[:1] * 100_000
    assert len(list(tmp_path.iterdir())) == 1


def test_it_can_be_turned_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FIRSTSHEET_MEASUREMENTS", "off")
    assert measurements_folder() is None
