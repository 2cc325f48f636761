"""Times lists and searches of a ledger with 100,000 entries; target 100 ms each.

`python benchmarks/ledger.py [--entries 100000] [--keep FILE]`. Entries and history lines are made
up; each query is asked seven times with the file in the page cache, and the slowest counts. The
small pictures are 100 bytes each: lists do not touch them. Run it alone.
"""

from __future__ import annotations

import argparse
import functools
import hashlib
import random
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from firstsheet.engine.records.ledger import LedgerEntry
from firstsheet.store.ledger.connect import Ledger, open_ledger
from firstsheet.store.ledger.entries import ENTRY_COLUMNS, find_print
from firstsheet.store.ledger.history import add_printed
from firstsheet.store.ledger.listing import PrintQuery, list_prints
from firstsheet.store.ledger.search import make_index, plain_words

NOW = "2026-12-01T12:00:00Z"
PLACES = ("ferry", "stairs", "quay", "pier", "boat", "shed", "masts", "harbour", "tide", "rope")
SAID = ("deep blacks", "head strike lower edge", "warm greys", "scratched", "calm sky", "too dark")
STOCKS = ("chalk-matte", "harbour-gloss", "tidings-newsprint", "cotton", "baryta")
TARGET_S = 0.1
TIMES = 7


def fill(ledger: Ledger, count: int) -> None:
    """Made-up prints over ten years, most of them printed and judged, in one transaction."""
    chance = random.Random(1)
    with ledger.writing() as tables:
        tables.execute("INSERT INTO profile VALUES ('p', 'made up', x'00')")
        tables.execute("INSERT INTO versions VALUES ('v', '{}')")
        for number in range(1, count + 1):
            entry = _entry(number, count, chance)
            tables.execute(
                "INSERT INTO plan VALUES (?, 'ticket', 'stock', x'00')", (entry.plan_digest,)
            )
            values = [getattr(entry, name) for name in ENTRY_COLUMNS]
            places = ", ".join("?" for _ in ENTRY_COLUMNS)
            tables.execute(
                f"INSERT INTO entry ({', '.join(ENTRY_COLUMNS)}) VALUES ({places})", values
            )
            tables.execute("INSERT INTO small_picture VALUES (?, ?, '')", (number, bytes(100)))
            verdict, said = chance.choice(("good", "good", "spoiled", "")), chance.choice(SAID)
            tables.execute(
                "INSERT INTO history (entry, at, kind, copies, verdict, words) "
                "VALUES (?, ?, 'printed', 1, ?, ?)",
                (number, NOW, verdict, said),
            )
            good, spoiled = int(verdict == "good"), int(verdict == "spoiled")
            tables.execute(
                "INSERT INTO state VALUES (?, 1, ?, ?, ?)", (number, good, spoiled, verdict)
            )
            words = f"{entry.picture_path} {entry.folder} {entry.stock_title} {entry.sheet} {said}"
            tables.execute("INSERT INTO entry_words VALUES (?, ?)", (number, plain_words(words)))
        make_index(tables)


def _entry(number: int, count: int, chance: random.Random) -> LedgerEntry:
    name = f"{chance.choice(PLACES)}-{chance.choice(PLACES)}-{number}"
    stock = chance.choice(STOCKS)
    month = number * 120 // (count + 1)
    return LedgerEntry(
        number=number,
        kind="print",
        made_at=f"{2017 + month // 12}-{month % 12 + 1:02d}-{number % 28 + 1:02d}T10:00:00Z",
        plan_digest=hashlib.sha256(name.encode()).hexdigest(),
        picture_path=f"/scans/{name}.tif",
        picture_sha256=hashlib.sha256(name[:12].encode()).hexdigest(),
        picture_bytes=144_000_000,
        stock=stock,
        stock_title=stock.replace("-", " ").title(),
        media_setting="made up",
        profile_sha256="p",
        sheet=chance.choice(("A4", "A3+", "A2")),
        sheet_width_mm=483.0,
        sheet_height_mm=329.0,
        width_mm=381.0,
        height_mm=254.0,
        ppi=360.0,
        intent="relative",
        distance_mm=800.0,
        illuminance_lux=200.0,
        lamp="warm",
        folder=f"/prints/{name}",
        print_file="print.tif",
        verdict="Good enough: 374 ppi at 381 mm (15.0 in) wide.",
        program="firstsheet 0.1.0",
        versions_sha256="v",
        seconds=2.5,
    )


def measure(path: Path, count: int) -> list[tuple[str, float]]:
    """Seconds of each query, the slowest of several."""
    queries = {
        "the newest 50": PrintQuery(),
        "50 from the middle": PrintQuery(offset=count // 2),
        "one rare word": PrintQuery(words=f"{count // 2}"),
        "one word of one in five": PrintQuery(words="ferry"),
        "the beginning of a word of every print": PrintQuery(words="scans"),
        "two words, one of them said of the sheets": PrintQuery(words="ferry strike"),
        "a word that is nowhere": PrintQuery(words="lighthouse"),
        "one stock": PrintQuery(stock="chalk-matte"),
        "one month": PrintQuery(begin="2021-05-01T00:00:00Z", end="2021-06-01T00:00:00Z"),
        "spoiled": PrintQuery(verdict="spoiled"),
        "words, stock and verdict": PrintQuery(words="ferry", stock="cotton", verdict="spoiled"),
    }
    times = []
    with open_ledger(path, at=NOW) as ledger:
        for name, query in queries.items():
            times.append((name, _slowest(functools.partial(list_prints, ledger, query))))
        with ledger.reading() as tables:
            row = tables.execute("SELECT plan_digest FROM entry WHERE number = 77").fetchone()
        digest = row[0][:12]
        times.append(("by the digits in the border", _slowest(lambda: find_print(ledger, digest))))
        times.append(
            (
                "one line added",
                _slowest(
                    lambda: add_printed(ledger, 77, copies=1, verdict="good", words="deep blacks")
                ),
            )
        )
    return times


def _slowest(work: Callable[[], object]) -> float:
    times = []
    for _ in range(TIMES):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return max(times)


def main() -> None:
    """Fill a ledger and print the table."""
    parser = argparse.ArgumentParser(description="Time a large ledger.")
    parser.add_argument("--entries", type=int, default=100_000)
    parser.add_argument("--keep", type=Path, help="keep the ledger in this file")
    words = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = words.keep or Path(folder) / "ledger.sqlite3"
        if not path.exists():
            with open_ledger(path, at=NOW) as ledger:
                fill(ledger, words.entries)
        print(f"{words.entries} entries, {path.stat().st_size / 1e6:.0f} MB\n")
        for name, seconds in measure(path, words.entries):
            over = "" if seconds < TARGET_S else "  over the target"
            print(f"{name:<45}{seconds * 1000:>8.1f} ms{over}")


if __name__ == "__main__":
    main()
