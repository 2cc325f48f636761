"""How the ledger's tables came about, step by step. Steps are only ever added.

Each step is applied in one transaction and recorded in `migration`. A ledger of any earlier
release is brought up to date by the steps it lacks. What each table holds: docs/ledger.md.
Tests: tests/store/ledger/test_ledger_connect.py.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["MIGRATIONS", "Migration"]


@dataclass(frozen=True, slots=True)
class Migration:
    """One step: its number, what it is for, and what it does inside an open transaction."""

    number: int
    name: str
    apply: Callable[[sqlite3.Connection], None]


_PRINTS = """
CREATE TABLE migration (
  number INTEGER PRIMARY KEY,
  name TEXT NOT NULL,
  applied_at TEXT NOT NULL,
  program TEXT NOT NULL
) STRICT;
CREATE TABLE profile (
  sha256 TEXT PRIMARY KEY NOT NULL,
  description TEXT NOT NULL,
  icc BLOB NOT NULL
) STRICT;
CREATE TABLE plan (
  digest TEXT PRIMARY KEY NOT NULL,
  ticket TEXT NOT NULL,
  stock TEXT NOT NULL,
  plan BLOB NOT NULL
) STRICT;
CREATE TABLE versions (
  sha256 TEXT PRIMARY KEY NOT NULL,
  versions TEXT NOT NULL
) STRICT;
CREATE TABLE entry (
  number INTEGER PRIMARY KEY,
  kind TEXT NOT NULL CHECK (kind IN ('print', 'test')),
  made_at TEXT NOT NULL,
  plan_digest TEXT NOT NULL REFERENCES plan (digest),
  picture_path TEXT NOT NULL,
  picture_sha256 TEXT NOT NULL,
  picture_bytes INTEGER NOT NULL,
  stock TEXT NOT NULL,
  stock_title TEXT NOT NULL,
  media_setting TEXT NOT NULL,
  profile_sha256 TEXT NOT NULL REFERENCES profile (sha256),
  sheet TEXT NOT NULL,
  sheet_width_mm REAL NOT NULL,
  sheet_height_mm REAL NOT NULL,
  width_mm REAL NOT NULL,
  height_mm REAL NOT NULL,
  ppi REAL NOT NULL,
  intent TEXT NOT NULL,
  distance_mm REAL NOT NULL,
  illuminance_lux REAL NOT NULL,
  lamp TEXT NOT NULL,
  folder TEXT NOT NULL,
  print_file TEXT NOT NULL,
  verdict TEXT NOT NULL,
  program TEXT NOT NULL,
  versions_sha256 TEXT NOT NULL REFERENCES versions (sha256),
  seconds REAL NOT NULL
) STRICT;
CREATE TABLE entry_file (
  entry INTEGER NOT NULL REFERENCES entry (number),
  name TEXT NOT NULL,
  size_bytes INTEGER NOT NULL,
  sha256 TEXT NOT NULL,
  PRIMARY KEY (entry, name)
) STRICT;
CREATE TABLE small_picture (
  entry INTEGER PRIMARY KEY REFERENCES entry (number),
  jpeg BLOB NOT NULL
) STRICT;
CREATE TABLE sample (
  entry INTEGER PRIMARY KEY REFERENCES entry (number),
  columns INTEGER NOT NULL,
  rows INTEGER NOT NULL,
  channels INTEGER NOT NULL,
  codes BLOB NOT NULL
) STRICT;
CREATE TABLE history (
  number INTEGER PRIMARY KEY,
  entry INTEGER NOT NULL REFERENCES entry (number),
  at TEXT NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('printed', 'judged', 'withdrawn')),
  copies INTEGER NOT NULL CHECK (copies >= 0),
  verdict TEXT NOT NULL CHECK (verdict IN ('', 'good', 'spoiled')),
  words TEXT NOT NULL,
  withdraws INTEGER UNIQUE REFERENCES history (number)
) STRICT;
CREATE TABLE price (
  number INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  stock TEXT NOT NULL,
  item TEXT NOT NULL CHECK (item IN ('sheet', 'ink-ml', 'ink-ml-per-m2')),
  sheet TEXT NOT NULL,
  amount REAL NOT NULL CHECK (amount >= 0),
  currency TEXT NOT NULL
) STRICT;
CREATE TABLE state (
  entry INTEGER PRIMARY KEY REFERENCES entry (number),
  used INTEGER NOT NULL,
  good INTEGER NOT NULL,
  spoiled INTEGER NOT NULL,
  verdict TEXT NOT NULL
) STRICT;
CREATE TABLE entry_words (
  entry INTEGER PRIMARY KEY REFERENCES entry (number),
  words TEXT NOT NULL
) STRICT;
CREATE INDEX entry_by_stock ON entry (stock, number);
CREATE INDEX entry_by_time ON entry (made_at);
CREATE INDEX entry_by_plan ON entry (plan_digest);
CREATE INDEX entry_by_picture ON entry (picture_sha256);
CREATE INDEX entry_by_folder ON entry (folder);
CREATE INDEX history_by_entry ON history (entry);
CREATE INDEX price_by_stock ON price (stock, item, sheet, number);
CREATE INDEX state_by_verdict ON state (verdict, entry);
"""

_STANDING = (
    "migration",
    "profile",
    "plan",
    "versions",
    "entry",
    "entry_file",
    "small_picture",
    "sample",
    "history",
    "price",
)


def _run(connection: sqlite3.Connection, script: str) -> None:
    """Statements one by one: `executescript` would end the transaction."""
    for statement in re.split(r";\n(?=CREATE|$)", script):
        if statement.strip():
            connection.execute(statement)


def _let_stand(connection: sqlite3.Connection, tables: tuple[str, ...]) -> None:
    """Refuse every change and every removal of a row, by any program that opens the file."""
    for table in tables:
        for what in ("UPDATE", "DELETE"):
            connection.execute(
                f"CREATE TRIGGER {table}_stands_{what.lower()} BEFORE {what} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'what {table} holds is never changed'); END"
            )


def _prints(connection: sqlite3.Connection) -> None:
    _run(connection, _PRINTS)
    _let_stand(connection, _STANDING)


def _picture_sums(connection: sqlite3.Connection) -> None:
    """SQLite itself does not notice a changed byte inside a picture; its SHA-256 does."""
    connection.execute("ALTER TABLE small_picture ADD COLUMN sha256 TEXT NOT NULL DEFAULT ''")


_EDITIONS = """
CREATE TABLE edition (
  number INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  at TEXT NOT NULL
) STRICT;
CREATE TABLE edition_terms (
  number INTEGER PRIMARY KEY,
  edition INTEGER NOT NULL REFERENCES edition (number),
  at TEXT NOT NULL,
  title TEXT NOT NULL,
  artist TEXT NOT NULL,
  year TEXT NOT NULL,
  size INTEGER NOT NULL CHECK (size >= 1),
  proofs INTEGER NOT NULL CHECK (proofs >= 0),
  sizes TEXT NOT NULL,
  technique TEXT NOT NULL,
  paper TEXT NOT NULL,
  inks TEXT NOT NULL,
  note TEXT NOT NULL,
  picture_sha256 TEXT NOT NULL
) STRICT;
CREATE TABLE holder (
  number INTEGER PRIMARY KEY,
  at TEXT NOT NULL
) STRICT;
CREATE TABLE holder_data (
  holder INTEGER PRIMARY KEY REFERENCES holder (number),
  name TEXT NOT NULL,
  contact TEXT NOT NULL,
  place TEXT NOT NULL
) STRICT;
CREATE TABLE erasure (
  number INTEGER PRIMARY KEY,
  holder INTEGER NOT NULL UNIQUE REFERENCES holder (number),
  at TEXT NOT NULL
) STRICT;
CREATE TABLE copy (
  number INTEGER PRIMARY KEY,
  edition INTEGER NOT NULL REFERENCES edition (number),
  series TEXT NOT NULL CHECK (series IN ('number', 'proof')),
  position INTEGER NOT NULL CHECK (position >= 1),
  entry INTEGER REFERENCES entry (number),
  width_mm REAL,
  height_mm REAL,
  at TEXT NOT NULL,
  replaces INTEGER UNIQUE REFERENCES copy (number),
  words TEXT NOT NULL
) STRICT;
CREATE TABLE copy_history (
  number INTEGER PRIMARY KEY,
  copy INTEGER NOT NULL REFERENCES copy (number),
  at TEXT NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('spoiled', 'given', 'returned', 'withdrawn')),
  words TEXT NOT NULL,
  holder INTEGER REFERENCES holder (number),
  withdraws INTEGER UNIQUE REFERENCES copy_history (number)
) STRICT;
CREATE INDEX terms_by_edition ON edition_terms (edition, number);
CREATE INDEX copy_by_edition ON copy (edition, series, position);
CREATE INDEX copy_by_entry ON copy (entry);
CREATE INDEX copy_history_by_copy ON copy_history (copy);
CREATE INDEX copy_history_by_holder ON copy_history (holder);
CREATE UNIQUE INDEX copy_once ON copy (edition, series, position) WHERE replaces IS NULL;
CREATE TRIGGER terms_fixed BEFORE INSERT ON edition_terms
  WHEN EXISTS (SELECT 1 FROM copy WHERE copy.edition = NEW.edition)
  BEGIN SELECT RAISE(ABORT, 'terms are fixed with the first number'); END;
CREATE TRIGGER copy_within BEFORE INSERT ON copy
  WHEN NEW.position > coalesce(
    (SELECT CASE NEW.series WHEN 'number' THEN size ELSE proofs END FROM edition_terms
     WHERE edition_terms.edition = NEW.edition ORDER BY number DESC LIMIT 1), 0)
  BEGIN SELECT RAISE(ABORT, 'the edition ends before that number'); END;
CREATE TRIGGER copy_replaces BEFORE INSERT ON copy
  WHEN NEW.replaces IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM copy AS old JOIN copy_history AS line ON line.copy = old.number
    WHERE old.number = NEW.replaces AND old.edition = NEW.edition AND old.series = NEW.series
      AND old.position = NEW.position AND line.kind = 'spoiled'
      AND NOT EXISTS (SELECT 1 FROM copy_history AS later WHERE later.withdraws = line.number))
  BEGIN SELECT RAISE(ABORT, 'only a spoiled copy of the same number is replaced'); END;
CREATE TRIGGER spoiled_stays BEFORE INSERT ON copy_history
  WHEN NEW.withdraws IS NOT NULL AND EXISTS (
    SELECT 1 FROM copy_history AS line JOIN copy AS later ON later.replaces = line.copy
    WHERE line.number = NEW.withdraws AND line.kind = 'spoiled')
  BEGIN SELECT RAISE(ABORT, 'a copy that was replaced stays spoiled'); END;
"""


def _editions(connection: sqlite3.Connection) -> None:
    """Personal data stands in `holder_data` alone: the one table from which rows may go."""
    _run(connection, _EDITIONS)
    standing = ("edition", "edition_terms", "holder", "erasure", "copy", "copy_history")
    _let_stand(connection, standing)
    connection.execute(
        "CREATE TRIGGER holder_data_stands_update BEFORE UPDATE ON holder_data "
        "BEGIN SELECT RAISE(ABORT, 'what holder_data holds is never changed'); END"
    )


MIGRATIONS: tuple[Migration, ...] = (
    Migration(1, "prints, their history and what they cost", _prints),
    Migration(2, "check sums of small pictures", _picture_sums),
    Migration(3, "editions", _editions),
)
