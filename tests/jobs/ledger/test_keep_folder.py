"""A folder the ledger does not know is kept after the fact, from what it holds."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from firstsheet.engine.errors import LedgerError
from firstsheet.jobs.ledger.again import AgainWish, make_again
from firstsheet.jobs.ledger.keep_folder import keep_folder
from firstsheet.jobs.ledger.prints import prints_known, show_print
from firstsheet.jobs.make import make_print
from firstsheet.store.ledger.connect import open_ledger
from firstsheet.store.ledger.entries import kept_profile, kept_sample


@pytest.fixture
def folder(made_once: Any, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made_once.folder, tmp_path / "print"))


def test_it_is_kept_as_if_it_had_been_kept_at_once(
    made_once: Any, folder: Path, tmp_path: Path
) -> None:
    new = tmp_path / "new.sqlite3"

    kept = keep_folder(folder, new).entry

    first = show_print("1", made_once.ledger).entry
    other = {"folder", "made_at", "seconds"}
    assert kept.model_dump(exclude=other) == first.model_dump(exclude=other)
    assert show_print("1", new).files == show_print("1", made_once.ledger).files
    with open_ledger(new, at="") as book, open_ledger(made_once.ledger, at="") as before:
        sample, once = kept_sample(book, 1), kept_sample(before, 1)
        assert sample is not None
        assert once is not None
        assert sample.codes == once.codes
        profile = kept_profile(book, kept.profile_sha256)
        assert profile == kept_profile(before, first.profile_sha256)


def test_it_can_be_made_again_from_that(folder: Path, tmp_path: Path) -> None:
    new = tmp_path / "new.sqlite3"
    keep_folder(folder, new)

    answer = make_again(
        AgainWish(print_="1", ledger=new), progress=lambda _doing, _share: None, stop=lambda: None
    )

    assert answer.same_bytes is True


def test_it_is_kept_once(folder: Path, tmp_path: Path) -> None:
    keep_folder(folder, tmp_path / "new.sqlite3")

    with pytest.raises(LedgerError) as refused:
        keep_folder(folder, tmp_path / "new.sqlite3")

    assert refused.value.code == "kept-already"
    assert prints_known(tmp_path / "new.sqlite3").count == 1


@pytest.mark.parametrize(
    ("harm", "code"),
    [
        ("no plan", "no-print-folder"),
        ("no print", "no-print-file"),
        ("cut print", "no-print-file"),
        ("other plan", "not-its-print-file"),
        ("bad plan", "not-a-plan"),
    ],
)
def test_what_is_no_whole_print_is_told(folder: Path, tmp_path: Path, harm: str, code: str) -> None:
    plan, print_file = folder / "plan.json", folder / "print.tif"
    if harm == "no plan":
        plan.unlink()
    elif harm == "no print":
        print_file.unlink()
    elif harm == "cut print":
        print_file.write_bytes(print_file.read_bytes()[:3000])
    elif harm == "other plan":
        plan.write_text(json.dumps(json.loads(plan.read_text()) | {"digest": "0" * 64}))
    else:
        plan.write_text("{}")

    with pytest.raises(LedgerError) as refused:
        keep_folder(folder, tmp_path / "new.sqlite3")

    assert refused.value.code == code
    assert prints_known(tmp_path / "new.sqlite3").count == 0


def test_a_print_in_its_own_space_is_kept_with_the_papers_profile(
    made_once: Any, tmp_path: Path
) -> None:
    """Its file carries the picture's profile, not the paper's."""
    options = {"stock": "chalk-matte", "width": "60mm", "sheet": "110x80mm", "keep_colour": True}
    made = make_print(
        made_once.scan, options, out=tmp_path / "lab", replace=False, stocks_dir=None,
        progress=lambda _doing, _share: None, stop=lambda: None, ledger=tmp_path / "first.sqlite3",
    )  # fmt: skip

    kept = keep_folder(Path(made.folder), tmp_path / "new.sqlite3").entry

    assert kept.profile_sha256 == show_print("1", made_once.ledger).entry.profile_sha256
    first = show_print("1", tmp_path / "first.sqlite3").entry
    assert kept.profile_sha256 == first.profile_sha256
