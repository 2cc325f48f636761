"""The export is plain, complete and checkable without this program, and makes the same ledger."""

from __future__ import annotations

import csv
import hashlib
import json
import shutil
import subprocess
from pathlib import Path

import pytest
from ledger_maker import NOW, PROFILE, made_print, tables_of  # type: ignore[import-not-found]

from firstsheet.engine.errors import LedgerError
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import add_entry
from firstsheet.store.ledger.export import export_tables
from firstsheet.store.ledger.history import add_printed, withdraw
from firstsheet.store.ledger.listing import PrintQuery, list_prints
from firstsheet.store.ledger.migrations import MIGRATIONS
from firstsheet.store.ledger.plain import PLAIN_TABLES
from firstsheet.store.ledger.prices import add_price
from firstsheet.store.ledger.restore import import_tables


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """Three prints with histories, words in several scripts, and prices."""
    path = tmp_path / "ledger.sqlite3"
    with open_ledger(path, at=NOW) as book:
        for number in (1, 2, 3):
            add_entry(book, made_print(number))
        add_entry(book, made_print(2))
        add_printed(book, 1, copies=2, verdict="good", words='“deep”, "calm"; Καΐκι\nzweite Zeile')
        wrong = add_printed(book, 3, copies=9, verdict="spoiled", words="")
        withdraw(book, 3, wrong.number, words="another print")
        add_price(book, "sheet", 4.25, stock="chalk-matte", sheet="A3+", currency="EUR")
    return path


@pytest.fixture
def folder(ledger: Path, tmp_path: Path) -> Path:
    place = tmp_path / "export"
    place.mkdir()
    export_tables(ledger, place, at=NOW)
    return place


def rows_of(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_tables_can_be_read_by_any_reader_of_csv(folder: Path) -> None:
    prints = rows_of(folder, "prints")
    history = rows_of(folder, "history")

    assert [row["number"] for row in prints] == ["1", "2", "3", "4"]
    assert prints[0]["picture_path"] == "/scans/quay-1.tif"
    assert prints[0]["sheet_width_mm"] == "483.0"
    assert history[0]["words"] == '“deep”, "calm"; Καΐκι\nzweite Zeile'
    assert [row["withdraws"] for row in history] == ["", "", "2"]
    assert rows_of(folder, "prices")[0]["amount"] == "4.25"


def test_csv_and_json_hold_the_same(folder: Path) -> None:
    names = [path.stem for path in folder.glob("*.csv")]
    assert len(names) == len(PLAIN_TABLES)
    for name in names:
        as_json = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
        texts = [
            {key: "" if value is None else str(value) for key, value in row.items()}
            for row in as_json
        ]
        assert texts == rows_of(folder, name), name


def test_profiles_tickets_plans_and_pictures_lie_there_as_files(folder: Path) -> None:
    made = made_print(2)
    digest = made.entry.plan_digest

    sha = hashlib.sha256(PROFILE).hexdigest()
    assert (folder / f"profiles/{sha}.icc").read_bytes() == PROFILE
    assert (folder / f"tickets/{digest}.toml").read_text(encoding="utf-8") == made.ticket
    assert (folder / f"stocks/{digest}.toml").read_text(encoding="utf-8") == made.stock
    assert json.loads((folder / f"plans/{digest}.json").read_text())["digest"] == digest
    assert (folder / "pictures/4.jpg").read_bytes() == made.jpeg
    # two points of three codes, little-endian, of the bytes 0 to 11
    assert (folder / "samples/4.csv").read_text(encoding="utf-8") == (
        "row,column,code_1,code_2,code_3\n0,0,256,770,1284\n0,1,1798,2312,2826\n"
    )


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="needs sha256sum")
def test_the_check_sums_are_what_sha256sum_reads(folder: Path) -> None:
    done = subprocess.run(
        ["sha256sum", "--check", "--strict", "checksums.sha256"],
        cwd=folder, capture_output=True, text=True,
    )  # fmt: skip

    assert done.returncode == 0, done.stdout
    listed = {line.split(": ")[0] for line in done.stdout.splitlines()}
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert listed == there - {"checksums.sha256"}


def test_the_readme_names_every_table(folder: Path) -> None:
    told = (folder / "README.txt").read_text(encoding="utf-8")

    assert all(path.name in told for path in folder.glob("*.csv"))


def test_the_import_of_an_export_is_the_same_ledger(
    ledger: Path, folder: Path, tmp_path: Path
) -> None:
    again = tmp_path / "again.sqlite3"
    with open_ledger(again, at="2056-12-01T12:00:00Z") as book:
        counts = import_tables(book, folder)
        found = list_prints(book, PrintQuery(words="deep calm"))

    before, after = tables_of(ledger), tables_of(again)
    before.pop("migration")  # when the new file's tables were made is its own affair
    after.pop("migration")
    assert after == before
    assert counts["prints"] == 4
    assert [entry.number for entry, _ in found[1]] == [1]


def test_a_ledger_that_holds_prints_is_not_mixed_with_another(ledger: Path, folder: Path) -> None:
    before = tables_of(ledger)

    with open_ledger(ledger, at=NOW) as book, pytest.raises(LedgerError) as refused:
        import_tables(book, folder)

    assert refused.value.code == "ledger-not-empty"
    assert tables_of(ledger) == before


@pytest.mark.parametrize("harm", ["changed", "missing"])
def test_a_changed_export_is_not_taken_for_the_ledger(
    folder: Path, tmp_path: Path, harm: str
) -> None:
    victim = folder / "history.json"
    if harm == "changed":
        victim.write_text(victim.read_text(encoding="utf-8").replace("good", "spoiled"))
    else:
        victim.unlink()

    with open_ledger(tmp_path / "new.sqlite3", at=NOW) as book:
        with pytest.raises(LedgerError) as refused:
            import_tables(book, folder)
        assert list_prints(book, PrintQuery())[0] == 0

    assert refused.value.code == "export-changed"
    assert "history.json" in refused.value.found


@pytest.mark.parametrize("content", [None, "{}", "not json", '{"what": "boats", "rows": {}}'])
def test_what_is_no_export_is_told(tmp_path: Path, content: str | None) -> None:
    place = tmp_path / "folder"
    place.mkdir()
    if content is not None:
        (place / "ledger.json").write_text(content)

    with (
        open_ledger(tmp_path / "new.sqlite3", at=NOW) as book,
        pytest.raises(LedgerError) as refused,
    ):
        import_tables(book, place)

    assert refused.value.code == "no-export"


def test_an_export_of_a_newer_program_is_not_half_read(folder: Path, tmp_path: Path) -> None:
    head = json.loads((folder / "ledger.json").read_text())
    head["form"] = len(MIGRATIONS) + 1
    (folder / "ledger.json").write_text(json.dumps(head))

    with (
        open_ledger(tmp_path / "new.sqlite3", at=NOW) as book,
        pytest.raises(LedgerError) as refused,
    ):
        import_tables(book, folder)

    assert refused.value.code == "export-newer"


def test_a_row_cannot_lead_out_of_the_folder(ledger: Path, tmp_path: Path) -> None:
    """A profile whose name is a path, as a ledger from somebody else might hold."""
    with open_ledger(ledger, at=NOW) as book:
        book.connection.execute("INSERT INTO profile VALUES ('../../away', '', x'00')")
    place = tmp_path / "deep" / "export"
    place.mkdir(parents=True)

    with pytest.raises(ValueError, match="cannot name a file"):
        export_tables(ledger, place, at=NOW)

    assert not (tmp_path / "away.icc").exists()


def test_an_absent_ledger_is_told(tmp_path: Path) -> None:
    with pytest.raises(LedgerError) as refused:
        export_tables(tmp_path / "none.sqlite3", tmp_path, at=NOW)

    assert refused.value.code == "no-ledger"
