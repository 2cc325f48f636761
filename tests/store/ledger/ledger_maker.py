"""Prints for tests of the ledger, made up: no picture is opened."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

from firstsheet.engine.records.ledger import LedgerEntry, LedgerFile
from firstsheet.store.ledger.entries import MadePrint, PrintSample

NOW = "2026-12-01T12:00:00Z"
PROFILE = b"an ICC profile, as far as the ledger cares" * 10


def made_print(number: int = 1, **changes: Any) -> MadePrint:
    """A print of a picture called quay-NUMBER; fields of the entry can be changed by name."""
    digest = hashlib.sha256(f"plan {number}".encode()).hexdigest()
    fields: dict[str, Any] = {
        "number": 0,
        "kind": "print",
        "made_at": NOW,
        "plan_digest": digest,
        "picture_path": f"/scans/quay-{number}.tif",
        "picture_sha256": hashlib.sha256(f"picture {number}".encode()).hexdigest(),
        "picture_bytes": 1_000_000 + number,
        "stock": "chalk-matte",
        "stock_title": "Chalk Matte 310",
        "media_setting": "heavy fine art, rear feed",
        "profile_sha256": hashlib.sha256(PROFILE).hexdigest(),
        "sheet": "A3+",
        "sheet_width_mm": 483.0,
        "sheet_height_mm": 329.0,
        "width_mm": 381.0,
        "height_mm": 254.0,
        "ppi": 360.0,
        "intent": "relative",
        "distance_mm": 800.0,
        "illuminance_lux": 200.0,
        "lamp": "warm",
        "folder": f"/prints/quay-{number}",
        "print_file": "print.tif",
        "verdict": "Good enough.",
        "program": "firstsheet 0.1.0",
        "versions_sha256": "",
        "seconds": 2.5,
    }
    fields.update(changes)
    return MadePrint(
        entry=LedgerEntry.model_validate(fields),
        ticket=f'picture = "/scans/quay-{number}.tif"\nstock = "chalk-matte"\n',
        stock='name = "chalk-matte"\n',
        plan=f'{{"digest": "{digest}"}}',
        profile=PROFILE,
        profile_description="Chalk Matte 310",
        versions={"firstsheet": "0.1.0", "numpy": "2.2.0"},
        files=(
            LedgerFile(name="plan.json", size_bytes=20_000, sha256="aa" * 32),
            LedgerFile(name="print.tif", size_bytes=190_000_000, sha256="bb" * 32),
        ),
        jpeg=b"\xff\xd8 a small picture \xff\xd9",
        sample=PrintSample(columns=2, rows=1, channels=3, codes=bytes(range(12))),
    )


def tables_of(path: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table as a plain reader sees it, without the word index."""
    import contextlib
    import sqlite3

    with contextlib.closing(sqlite3.connect(path)) as plain:
        names = [
            row[0]
            for row in plain.execute(
                "SELECT name FROM sqlite_schema WHERE type = 'table' "
                "AND name NOT LIKE 'entry_index%' AND name NOT LIKE 'sqlite_%' ORDER BY name"
            )
        ]
        return {
            name: plain.execute(f"SELECT * FROM {name} ORDER BY rowid").fetchall() for name in names
        }
