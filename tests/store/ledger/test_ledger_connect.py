"""The ledger's file: where it lies, whose it is, how it is brought up to date."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

import pytest
from ledger_maker import NOW, made_print, tables_of  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError, OutputError
from firstsheet.store.ledger import connect, migrations
from firstsheet.store.ledger.backup import copies_beside, copy_ledger
from firstsheet.store.ledger.connect import ledger_file, open_ledger
from firstsheet.store.ledger.entries import add_entry, read_entry
from firstsheet.store.ledger.migrations import MIGRATIONS, Migration


def pragma(path: Path, name: str) -> object:
    with contextlib.closing(sqlite3.connect(path)) as plain:
        return plain.execute(f"PRAGMA {name}").fetchone()[0]


def test_the_ledger_lies_where_the_platform_keeps_data(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("FIRSTSHEET_LEDGER")
    monkeypatch.setenv("XDG_DATA_HOME", "/somewhere")

    assert ledger_file() == Path("/somewhere/firstsheet/ledger.sqlite3")


def test_environment_and_option_name_another_ledger(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FIRSTSHEET_LEDGER", "/elsewhere/book.sqlite3")

    assert ledger_file() == Path("/elsewhere/book.sqlite3")
    assert ledger_file(Path("mine.sqlite3")) == Path("mine.sqlite3")


def test_a_new_ledger_is_held_for_durability(tmp_path: Path) -> None:
    path = tmp_path / "new" / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as ledger:
        held = {
            name: ledger.connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("journal_mode", "synchronous", "foreign_keys", "secure_delete")
        }

    assert held == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "secure_delete": 1}


def test_every_table_is_strict_and_every_reference_is_checked(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as ledger:
        loose = [
            row["name"]
            for row in ledger.connection.execute("PRAGMA table_list")
            if row["type"] == "table"
            and not row["strict"]
            and not row["name"].startswith(("sqlite_", "entry_index"))
        ]
        with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
            ledger.connection.execute("INSERT INTO state VALUES (99, 0, 0, 0, '')")

    assert loose == []


def test_an_absent_ledger_reads_as_empty_and_is_not_made(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW, create=False) as ledger:
        rows = ledger.connection.execute("SELECT count(*) FROM entry").fetchone()[0]

    assert rows == 0
    assert not path.exists()


def test_the_database_of_another_program_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite3"
    with contextlib.closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE boats (name TEXT)")
        other.commit()
    before = path.read_bytes()

    with pytest.raises(LedgerError) as refused, open_ledger(path, at=NOW):
        pass

    assert refused.value.code == "not-a-ledger"
    assert "another program" in str(refused.value)
    assert path.read_bytes() == before


def test_a_file_that_is_no_database_is_told(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    path.write_bytes(b"a letter, not a ledger " * 100)

    with pytest.raises(LedgerError) as refused, open_ledger(path, at=NOW):
        pass

    assert refused.value.code == "ledger-damaged"
    assert "firstsheet ledger check" in refused.value.choice
    assert refused.value.exit_code == 7


def test_a_folder_in_its_place_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as refused, open_ledger(tmp_path, at=NOW):
        pass

    assert refused.value.code == "ledger-not-writable"


def test_a_ledger_of_a_newer_program_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as ledger:
        ledger.connection.execute("INSERT INTO migration VALUES (99, 'later', ?, 'later')", (NOW,))

    with pytest.raises(LedgerError) as refused, open_ledger(path, at=NOW):
        pass

    assert refused.value.code == "ledger-newer"
    assert "form 99" in refused.value.found


def _later(monkeypatch: pytest.MonkeyPatch, step: Migration) -> None:
    monkeypatch.setattr(connect, "MIGRATIONS", (*MIGRATIONS, step))
    assert migrations.MIGRATIONS is MIGRATIONS


def test_a_migration_keeps_every_row_and_leaves_a_copy_of_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as ledger:
        add_entry(ledger, made_print(1))
    before = tables_of(path)
    number = len(MIGRATIONS) + 1
    step = Migration(number, "boats", lambda tables: _made(tables, "boats"))
    _later(monkeypatch, step)

    with open_ledger(path, at="2027-01-01T00:00:00Z") as ledger:
        assert read_entry(ledger, 1).picture_path == "/scans/quay-1.tif"
        recorded = tuple(
            ledger.connection.execute("SELECT * FROM migration ORDER BY number DESC").fetchone()
        )

    assert recorded[:3] == (number, "boats", "2027-01-01T00:00:00Z")
    (copy,) = copies_beside(path)
    assert copy.name == f"ledger.before-{number}.sqlite3"
    assert tables_of(copy) == before


def _made(tables: sqlite3.Connection, name: str) -> None:
    tables.execute(f"CREATE TABLE {name} (name TEXT) STRICT")


def test_a_migration_that_fails_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as ledger:
        add_entry(ledger, made_print(1))
    before = tables_of(path)

    def half(tables: sqlite3.Connection) -> None:
        _made(tables, "boats")
        raise RuntimeError("the power went")

    _later(monkeypatch, Migration(len(MIGRATIONS) + 1, "half", half))
    with pytest.raises(RuntimeError), open_ledger(path, at=NOW):
        pass

    assert tables_of(path) == before


def test_a_copy_holds_what_was_committed_and_never_replaces_another(tmp_path: Path) -> None:
    path, copy = tmp_path / "ledger.sqlite3", tmp_path / "safe" / "copy.sqlite3"
    with open_ledger(path, at=NOW) as ledger:
        add_entry(ledger, made_print(1))
        copy_ledger(path, copy)  # while it is open

    assert tables_of(copy) == tables_of(path)
    assert sorted(one.name for one in copy.parent.iterdir()) == ["copy.sqlite3"]
    with pytest.raises(OutputError) as refused:
        copy_ledger(path, copy)
    assert refused.value.code == "copy-exists"
