"""Kills a process that writes to the ledger, at random moments, and looks at what is left.

`python tests/store/ledger/killed.py --rounds 500` counts; the tests run a few rounds. A kill is
what a crash or an impatient person does; a power cut also loses what the disk had not yet taken,
which no test without such a disk can show.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import signal
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from ledger_maker import NOW, made_print  # type: ignore[import-not-found]

from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import add_entry
from firstsheet.store.ledger.history import add_printed

__all__ = ["Count", "kill_rounds"]

_FRESH_EVERY = 5  # rounds; a new file lets the kill fall into making the tables
_LONGEST_S = 0.06
_PARTS = ("entry_file", "small_picture", "sample", "state", "entry_words")


@dataclass
class Count:
    """What was seen over all rounds."""

    rounds: int = 0
    answered: int = 0  # entries and lines that were answered as kept
    lost: int = 0  # of those
    half: int = 0  # entries without all their parts
    unsound: int = 0  # ledgers that fail SQLite's own check
    before_the_first: int = 0  # kills before anything was answered


def _write(path: Path, tell: int) -> None:
    """Keep entries and lines for ever; tell each after it was answered as kept."""
    number = 0
    with open_ledger(path, at=NOW) as ledger:
        while True:
            number += 1
            entry = add_entry(ledger, made_print(number))
            os.write(tell, f"entry {entry.number}\n".encode())
            line = add_printed(ledger, entry.number, copies=1, verdict="good", words="kept")
            os.write(tell, f"history {line.number}\n".encode())


def _one_round(path: Path, wait_s: float) -> list[tuple[str, int]]:
    """Write in a process of its own until it is killed; gives what it was answered."""
    hear, tell = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(hear)
        with contextlib.suppress(BaseException):
            _write(path, tell)
        os._exit(1)  # it never ends by itself
    os.close(tell)
    time.sleep(wait_s)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the writer ended by itself"
    with os.fdopen(hear) as answers:
        lines = [line for line in answers.read().splitlines() if " " in line]
    return [(table, int(number)) for table, number in (line.split() for line in lines)]


def _look(path: Path, answered: list[tuple[str, int]], count: Count) -> None:
    count.rounds += 1
    count.answered += len(answered)
    count.before_the_first += not answered
    with open_ledger(path, at=NOW) as ledger:
        tables = ledger.connection
        for table, number in answered:
            found = tables.execute(f"SELECT 1 FROM {table} WHERE number = ?", (number,)).fetchone()
            count.lost += found is None
        whole = " AND ".join(
            f"EXISTS (SELECT 1 FROM {part} WHERE {part}.entry = entry.number)" for part in _PARTS
        )
        count.half += tables.execute(f"SELECT count(*) FROM entry WHERE NOT ({whole})").fetchone()[
            0
        ]
        sound = tables.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        linked = tables.execute("PRAGMA foreign_key_check").fetchone() is None
        summed = tables.execute(
            "SELECT count(*) FROM state WHERE used != (SELECT count(*) FROM history "
            "WHERE history.entry = state.entry)"
        ).fetchone()[0]
        count.unsound += not (sound and linked and summed == 0)


def kill_rounds(folder: Path, rounds: int, seed: int) -> Count:
    """Kill so many writers; every fifth begins a new ledger."""
    chance, count = random.Random(seed), Count()
    path = folder / "ledger.sqlite3"
    for number in range(rounds):
        if number % _FRESH_EVERY == 0:
            path = folder / f"ledger-{number}.sqlite3"
        _look(path, _one_round(path, chance.uniform(0.0, _LONGEST_S)), count)
    return count


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Kill writers of the ledger and count.")
    parser.add_argument("--rounds", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path, help="where the ledgers lie; default: temporary")
    words = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=words.folder) as place:
        sys.stdout.write(f"{kill_rounds(Path(place), words.rounds, words.seed)}\n")
