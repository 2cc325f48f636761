"""Checking, copying, exporting and importing a ledger, as a person does it."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from firstsheet.engine.errors import LedgerError, OutputError
from firstsheet.jobs.clock import utc_now
from firstsheet.jobs.ledger.keeping import back_up, check, export, import_export
from firstsheet.jobs.ledger.prints import prints_known, say_printed, show_print
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import small_picture


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "firstsheet", "ledger", *words],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip


def test_an_export_appears_whole_and_makes_the_same_prints_again(
    ledger: Path, tmp_path: Path
) -> None:
    say_printed("1", ledger, copies=2, verdict="good", words="deep blacks")
    folder, again = tmp_path / "export", tmp_path / "again.sqlite3"

    answer = export(ledger, folder, replace=False, personal=True, salvage=False)
    read = import_export(again, folder)

    assert answer.rows == read.rows
    assert answer.words == f"1 print written to {folder}. Begin with its README.txt."
    before, after = show_print("1", ledger), show_print("1", again)
    assert after.model_copy(update={"ledger": ""}) == before.model_copy(update={"ledger": ""})
    with pytest.raises(OutputError) as refused:
        export(ledger, folder, replace=False, personal=True, salvage=False)
    assert refused.value.code == "output-exists"
    export(ledger, folder, replace=True, personal=True, salvage=False)


def test_an_export_that_fails_leaves_no_folder(
    ledger: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.jobs.ledger import keeping

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(keeping, "export_tables", full)
    with pytest.raises(OutputError) as refused:
        export(ledger, tmp_path / "export", replace=False, personal=True, salvage=False)

    assert refused.value.code == "disk-full"
    assert not (tmp_path / "export").exists()


def test_a_backup_is_a_ledger_of_its_own(ledger: Path, tmp_path: Path) -> None:
    back_up(ledger, tmp_path / "safe.sqlite3")
    say_printed("1", ledger, copies=1, verdict="good", words="after the copy")

    assert show_print("1", tmp_path / "safe.sqlite3").state.used == 0
    assert prints_known(tmp_path / "safe.sqlite3").count == 1
    assert check(tmp_path / "safe.sqlite3").sentences == ("The ledger is sound.",)


def test_a_damaged_ledger_is_told_with_the_way_out_and_the_way_out_works(
    ledger: Path, tmp_path: Path
) -> None:
    with open_ledger(ledger, at=utc_now()) as book:
        jpeg = small_picture(book, 1)
    content = bytearray(ledger.read_bytes())
    at = content.index(jpeg[-200:-160])
    content[at : at + 40] = random.Random(1).randbytes(40)
    ledger.write_bytes(content)

    told = run("check", "--ledger", str(ledger))
    assert told.returncode == 7
    words = " ".join(told.stdout.split())
    assert "The ledger has 1 problem; nothing was changed." in words
    assert "1 of 1 prints can be read." in words
    assert "--salvage" in words

    folder, again = str(tmp_path / "export"), str(tmp_path / "again.sqlite3")
    assert run("export", folder, "--ledger", str(ledger)).returncode == 7
    assert run("export", folder, "--salvage", "--ledger", str(ledger)).returncode == 0
    assert run("import", folder, "--ledger", again).returncode == 0
    assert run("check", "--ledger", again).returncode == 0
    assert show_print("1", Path(again)).line.picture == "quay.tif"


def test_the_commands_answer_programs_too(ledger: Path, tmp_path: Path) -> None:
    checked = run("check", "--json", "--ledger", str(ledger))
    copied = run("backup", str(tmp_path / "b.sqlite3"), "--json", "--ledger", str(ledger))

    assert json.loads(checked.stdout) == json.loads(check(ledger).model_dump_json())
    assert json.loads(copied.stdout)["place"] == str(tmp_path / "b.sqlite3")


@pytest.mark.parametrize("command", ["check", "export", "backup"])
def test_an_absent_ledger_is_told_and_not_made(tmp_path: Path, command: str) -> None:
    words = [] if command == "check" else [str(tmp_path / "out")]
    told = run(command, *words, "--ledger", str(tmp_path / "none.sqlite3"))

    assert told.returncode == 7
    assert "There is no ledger at" in told.stderr
    assert list(tmp_path.iterdir()) == []


def test_an_import_into_a_ledger_in_use_is_refused(ledger: Path, tmp_path: Path) -> None:
    export(ledger, tmp_path / "export", replace=False, personal=True, salvage=False)
    other = Path(shutil.copy(ledger, tmp_path / "other.sqlite3"))

    with pytest.raises(LedgerError) as refused:
        import_export(other, tmp_path / "export")

    assert refused.value.code == "ledger-not-empty"
