"""Bad luck: killed writers, a full disk, two processes at once, a locked ledger."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from killed import kill_rounds  # type: ignore[import-not-found]
from ledger_maker import NOW, made_print, tables_of  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError, OutputError
from firstsheet.store.ledger import connect, faults
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import add_entry, read_entry, small_picture

HERE = Path(__file__).parent

WRITER = """
import sys
sys.path.insert(0, sys.argv[3])
from pathlib import Path
from ledger_maker import NOW, made_print
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import add_entry
print("ready", flush=True)
sys.stdin.readline()
for number in range(int(sys.argv[2])):
    with open_ledger(Path(sys.argv[1]), at=NOW) as ledger:
        print(add_entry(ledger, made_print(number)).number, flush=True)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills forked processes")
def test_a_kill_loses_nothing_that_was_answered_and_leaves_no_half_entry(tmp_path: Path) -> None:
    count = kill_rounds(tmp_path, 20, seed=20)

    assert count.rounds == 20
    assert count.answered > 20  # the kills fell among writes
    assert (count.lost, count.half, count.unsound) == (0, 0, 0)


@pytest.mark.needs_tool
def test_a_full_disk_is_told_and_loses_nothing_that_was_answered(
    small_disk: Callable[[int], Path],
) -> None:
    path = small_disk(4) / "ledger.sqlite3"
    ballast = path.with_name("ballast")
    ballast.write_bytes(bytes(2 * 2**20))
    answered: list[int] = []
    with pytest.raises(OutputError) as refused:
        _write_without_end(path, answered)

    assert refused.value.code == "ledger-disk-full"
    assert "disk of" in refused.value.found
    assert refused.value.exit_code == 6
    assert len(answered) > 5
    ballast.unlink()
    with open_ledger(path, at=NOW) as ledger:
        rows = ledger.connection.execute("SELECT number FROM entry ORDER BY number")
        assert [row[0] for row in rows] == answered
        assert all(small_picture(ledger, n) == bytes([(n - 1) % 251]) * 50_000 for n in answered)
        assert ledger.connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        assert add_entry(ledger, made_print(999)).number == len(answered) + 1


def _write_without_end(path: Path, answered: list[int]) -> None:
    with open_ledger(path, at=NOW) as ledger:
        while True:
            made = made_print(len(answered))
            object.__setattr__(made, "jpeg", bytes([len(answered) % 251]) * 50_000)
            answered.append(add_entry(ledger, made).number)


@pytest.mark.needs_tool
def test_a_ledger_on_a_full_disk_can_still_be_read(small_disk: Callable[[int], Path]) -> None:
    path = small_disk(2) / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as ledger:
        add_entry(ledger, made_print(1))
    before = tables_of(path)
    _fill(path.with_name("ballast"))

    with open_ledger(path, at=NOW, create=False) as ledger:
        assert read_entry(ledger, 1).picture_path == "/scans/quay-1.tif"
    with pytest.raises(OutputError), open_ledger(path, at=NOW) as ledger:
        add_entry(ledger, made_print(2))

    path.with_name("ballast").unlink()
    assert tables_of(path) == before


def _fill(path: Path) -> None:
    with path.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError:
            pass


def test_two_processes_at_once_wait_for_each_other(tmp_path: Path) -> None:
    """Both make the ledger, at the same moment, and write 15 entries each."""
    path, command = tmp_path / "ledger.sqlite3", [sys.executable, "-c", WRITER]
    writers = [
        subprocess.Popen(
            [*command, str(path), "15", str(HERE)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )
        for _ in range(2)
    ]  # fmt: skip
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write("go\n")
        writer.stdin.flush()
    told = [writer.communicate()[0].split() for writer in writers]

    assert [writer.returncode for writer in writers] == [0, 0]
    assert [len(one) for one in told] == [15, 15]
    assert sorted(int(number) for one in told for number in one) == list(range(1, 31))


def test_a_writer_waits_until_the_other_has_finished(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW):
        pass
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    waiting = threading.Timer(0.3, lambda: other.execute("COMMIT"))
    waiting.start()

    with open_ledger(path, at=NOW) as ledger:
        assert add_entry(ledger, made_print(1)).number == 1
    waiting.join()
    other.close()


def test_a_ledger_held_for_too_long_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW):
        pass
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    monkeypatch.setattr(connect, "WAIT_S", 0.1)
    try:
        with pytest.raises(LedgerError) as refused, open_ledger(path, at=NOW) as ledger:
            add_entry(ledger, made_print(1))
    finally:
        other.close()

    assert refused.value.code == "ledger-in-use"
    assert "Try again" in refused.value.choice


def test_a_mistake_of_the_program_stays_what_it_is(tmp_path: Path) -> None:
    error = sqlite3.OperationalError("no such table: boats")

    assert faults.explain(error, tmp_path) is error


def test_a_folder_nobody_may_write_to_is_told() -> None:
    if not Path("/proc/self").exists():
        pytest.skip("needs a place nobody may write to")

    with pytest.raises(OutputError) as refused, open_ledger(Path("/proc/x/l.sqlite3"), at=NOW):
        pass

    assert refused.value.code == "ledger-not-writable"
