"""Opening the ledger: where it lies, how it is held, how it is brought up to date.

Takes a path; gives a `Ledger` whose tables are current. Every answered write is on the disk
(write-ahead log, full synchronisation); a second process waits. Before each migration of a ledger
that holds something, a copy of the file is put beside it. Tests:
tests/store/ledger/test_ledger_connect.py.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from firstsheet import __version__
from firstsheet.engine.errors import LedgerError, OutputError
from firstsheet.store.ledger.backup import copy_ledger
from firstsheet.store.ledger.faults import WAIT_S, explain
from firstsheet.store.ledger.migrations import MIGRATIONS, Migration
from firstsheet.store.ledger.search import index_lags, make_index

__all__ = ["APPLICATION_ID", "Ledger", "ledger_file", "open_ledger"]

APPLICATION_ID = 0x46534C47  # "FSLG" in the file's header tells whose it is
_ENVIRONMENT = "FIRSTSHEET_LEDGER"
_CACHE_KIB = 32 * 1024  # at most; lists of 100,000 entries stay quick
_LEAST_SQLITE = (3, 37, 0)  # STRICT tables


def ledger_file(path: Path | None = None) -> Path:
    """The ledger's file: the given one, the environment's, or the platform's place for data."""
    if path is not None:
        return Path(path)
    if chosen := os.environ.get(_ENVIRONMENT):
        return Path(chosen)
    from platformdirs import user_data_dir

    return Path(user_data_dir("firstsheet", appauthor=False)) / "ledger.sqlite3"


class Ledger:
    """An open ledger; its functions stand in the other modules of this package."""

    def __init__(self, path: Path, connection: sqlite3.Connection, at: str) -> None:
        self.path, self.connection, self.at = path, connection, at

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: kept whole on the disk when the block ends, or not at all.

        Raises
        ------
        LedgerError, OutputError
            If it is locked, damaged or cannot be written.
        """
        with self.explained(), _transaction(self.connection):
            yield self.connection

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """One moment of the ledger, whatever others write meanwhile."""
        with self.explained():
            self.connection.execute("BEGIN")
            try:
                yield self.connection
            finally:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")

    @contextmanager
    def explained(self) -> Iterator[None]:
        """Turn what SQLite refuses into words."""
        try:
            yield
        except sqlite3.Error as error:
            raise explain(error, self.path) from error


@contextmanager
def _transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Leave to write from the first moment, so that a second writer waits instead of failing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            with contextlib.suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
        raise


@contextmanager
def open_ledger(path: Path, *, at: str, create: bool = True) -> Iterator[Ledger]:
    """Open the ledger and bring its tables up to date.

    Parameters
    ----------
    path
        The file.
    at
        The time now, UTC; what is written through this ledger bears it.
    create
        Whether an absent file is made. Otherwise an absent ledger is an empty one in memory.

    Raises
    ------
    LedgerError
        If the file is no ledger, is damaged, in use for too long, or of a newer program.
    OutputError
        If it cannot be opened or written.
    """
    if sqlite3.sqlite_version_info < _LEAST_SQLITE:
        raise LedgerError(
            f"This Python has SQLite {sqlite3.sqlite_version}; the ledger needs 3.37.",
            "The ledger is not opened.",
            "Use a newer Python.",
            "ledger-old-sqlite",
        )
    connection = _connected(path, create=create)
    try:
        try:
            _bring_up_to_date(connection, path, at)
        except OutputError:
            connection.close()
            if create:
                raise
            connection = _only_for_reading(path)
        yield Ledger(path, connection, at)
    finally:
        connection.close()


def _connected(path: Path, *, create: bool) -> sqlite3.Connection:
    try:
        if create:
            path.parent.mkdir(parents=True, exist_ok=True)
        there = path.exists()
        name = str(path) if create or there else ":memory:"
        if there and not path.is_file():
            raise IsADirectoryError(f"{path} is no file")
        connection = sqlite3.connect(name, timeout=WAIT_S, isolation_level=None)
        connection.row_factory = sqlite3.Row
        return connection
    except OSError as error:
        raise OutputError(
            f"The ledger {path} cannot be opened: {error.strerror or error}.",
            "Nothing was changed.",
            "Check the folder and its permissions, or name another ledger.",
            "ledger-not-writable",
            "--ledger FILE",
        ) from error
    except sqlite3.Error as error:
        raise explain(error, path) from error


def _only_for_reading(path: Path) -> sqlite3.Connection:
    """A ledger on a full or write-protected disk, where nobody is writing to it.

    Raises
    ------
    OutputError
        If a log beside it holds what the file does not have yet, or its tables are not current.
    """
    log = path.with_name(f"{path.name}-wal")
    connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
    connection.isolation_level = None
    connection.row_factory = sqlite3.Row
    if (log.exists() and log.stat().st_size) or _applied(connection) != len(MIGRATIONS):
        connection.close()
        raise OutputError(
            f"The ledger {path} cannot be written, and not all of it can be read without that.",
            "Nothing was changed in it.",
            "Free some room on its disk, or copy it and the files beside it to another place.",
            "ledger-not-writable",
        )
    return connection


def _bring_up_to_date(connection: sqlite3.Connection, path: Path, at: str) -> None:
    """Set how the file is held, check whose it is, and apply what is missing."""
    try:
        connection.execute(f"PRAGMA cache_size = -{_CACHE_KIB}")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA recursive_triggers = ON")  # REPLACE must meet the triggers too
        connection.execute("PRAGMA secure_delete = ON")  # erased personal data is overwritten
        _check_ours(connection, path)
        _into_wal(connection)
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA fullfsync = ON")  # on macOS fsync alone is not enough
        fresh = _applied(connection) == 0
        for migration in MIGRATIONS[_applied(connection) :]:
            _apply(connection, migration, path, at, fresh=fresh)
        if index_lags(connection):
            _index_again(connection)
    except sqlite3.Error as error:
        raise explain(error, path) from error
    done = _applied(connection)
    if done > len(MIGRATIONS):
        raise LedgerError(
            f"The ledger {path} was brought to form {done} by a newer Firstsheet; this one knows "
            f"forms up to {len(MIGRATIONS)}.",
            "Nothing was changed in it.",
            "Use the newer program, or name another ledger.",
            "ledger-newer",
            "--ledger FILE",
        )


def _into_wal(connection: sqlite3.Connection) -> None:
    """Switch to the write-ahead log; two that do so at once do not wait by themselves."""
    end = time.monotonic() + WAIT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            busy = getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() > end:
                raise
            time.sleep(0.02)


def _check_ours(connection: sqlite3.Connection, path: Path) -> None:
    # in this order: a first migration that ends meanwhile sets both at once
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    whose = connection.execute("PRAGMA application_id").fetchone()[0]
    if tables and whose != APPLICATION_ID:
        raise LedgerError(
            f"{path} is a database of another program.",
            "It was left as it is.",
            "Name another file.",
            "not-a-ledger",
            "--ledger FILE",
        )


def _applied(connection: sqlite3.Connection) -> int:
    known = connection.execute("SELECT 1 FROM sqlite_schema WHERE name = 'migration'").fetchone()
    if known is None:
        return 0
    return int(connection.execute("SELECT max(number) FROM migration").fetchone()[0] or 0)


def _apply(
    connection: sqlite3.Connection, migration: Migration, path: Path, at: str, *, fresh: bool
) -> None:
    """One migration in one transaction, recorded in it; nothing where another was quicker."""
    with _transaction(connection):
        if _applied(connection) >= migration.number:
            return
        if not fresh:
            _copy_before(migration, path)
        migration.apply(connection)
        connection.execute(
            "INSERT INTO migration (number, name, applied_at, program) VALUES (?, ?, ?, ?)",
            (migration.number, migration.name, at, f"firstsheet {__version__}"),
        )
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def _index_again(connection: sqlite3.Connection) -> None:
    with _transaction(connection):
        if index_lags(connection):  # another process may have been quicker
            make_index(connection)


def _copy_before(migration: Migration, path: Path) -> None:
    """A copy of what is committed so far; whoever migrates holds the only leave to write."""
    target = path.with_name(f"{path.stem}.before-{migration.number}{path.suffix}")
    if not target.exists():
        copy_ledger(path, target)
