"""Finding entries by words: one line of text for each entry, and an index over it.

The text is derived (it can be made again from entries and history), so it may be rewritten. The
index is SQLite's FTS5 where that was compiled in; without it the text itself is searched, slower.
Tests: tests/store/ledger/test_ledger_search.py.
"""

from __future__ import annotations

import contextlib
import functools
import re
import sqlite3
import unicodedata
from collections.abc import Iterable

from firstsheet.engine.records.ledger import LedgerEntry

__all__ = ["has_index", "index_lags", "keep_words", "make_index", "matching", "plain_words"]

_INDEX = "entry_index"
_STALE = 1  # in the file's user_version: text was written without the index
_MAKE = (
    f"CREATE VIRTUAL TABLE {_INDEX} USING fts5(words, content='entry_words', "
    "content_rowid='entry', tokenize='unicode61')"
)


def plain_words(text: str) -> str:
    """Text for searching: small letters, no accents, words apart by one space.

    Examples
    --------
    >>> plain_words("Ferry-Stairs, Übung 2")
    'ferry stairs ubung 2'
    """
    bare = "".join(
        letter
        for letter in unicodedata.normalize("NFKD", text.casefold())
        if not unicodedata.combining(letter)
    )
    return " ".join(re.findall(r"\w+", bare.replace("_", " ")))


@functools.cache
def _can_index() -> bool:
    """Whether this SQLite has FTS5 compiled in."""
    with contextlib.closing(sqlite3.connect(":memory:")) as empty:
        return ("ENABLE_FTS5",) in empty.execute("PRAGMA compile_options").fetchall()


def has_index(tables: sqlite3.Connection) -> bool:
    """Whether the word index can be used."""
    found = tables.execute("SELECT 1 FROM sqlite_schema WHERE name = ?", (_INDEX,)).fetchone()
    return found is not None and _can_index()


def index_lags(tables: sqlite3.Connection) -> bool:
    """Whether an index could be used but is missing, or was passed over by a SQLite without it."""
    stale = tables.execute("PRAGMA user_version").fetchone()[0] == _STALE
    return _can_index() and (stale or not has_index(tables))


def make_index(tables: sqlite3.Connection) -> None:
    """Make the index anew from the text, inside an open transaction."""
    tables.execute(f"DROP TABLE IF EXISTS {_INDEX}")
    tables.execute(_MAKE)
    tables.execute(f"INSERT INTO {_INDEX} ({_INDEX}) VALUES ('rebuild')")
    tables.execute("PRAGMA user_version = 0")


def keep_words(tables: sqlite3.Connection, entry: LedgerEntry, history: Iterable[str]) -> None:
    """Write the text of an entry anew, inside an open transaction."""
    words = plain_words(
        " ".join(
            (
                entry.picture_path.replace("\\", "/").rpartition("/")[2],
                entry.folder.replace("\\", "/").rpartition("/")[2],
                entry.stock,
                entry.stock_title,
                entry.sheet,
                entry.kind,
                entry.plan_digest[:12],
                *history,
            )
        )
    )
    before = tables.execute(
        "SELECT words FROM entry_words WHERE entry = ?", (entry.number,)
    ).fetchone()
    if has_index(tables):
        if before is not None:
            tables.execute(
                f"INSERT INTO {_INDEX} ({_INDEX}, rowid, words) VALUES ('delete', ?, ?)",
                (entry.number, before[0]),
            )
        tables.execute(f"INSERT INTO {_INDEX} (rowid, words) VALUES (?, ?)", (entry.number, words))
    else:
        tables.execute(f"PRAGMA user_version = {_STALE}")
    tables.execute(
        "INSERT INTO entry_words (entry, words) VALUES (?, ?) "
        "ON CONFLICT (entry) DO UPDATE SET words = excluded.words",
        (entry.number, words),
    )


def matching(tables: sqlite3.Connection, text: str) -> tuple[str, str, tuple[str, ...]]:
    """Where every word of `text` begins some word: a table, a condition on it, its values.

    The table's `rowid` is the entry's number; in the condition it is called `found`.
    """
    words = plain_words(text).split()
    if has_index(tables):
        return _INDEX, f"found.{_INDEX} MATCH ?", (" ".join(f'"{word}"*' for word in words),)
    each = " AND ".join("' ' || found.words LIKE ?" for _ in words)  # plain: no wildcards in them
    return "entry_words", each, tuple(f"% {word}%" for word in words)
