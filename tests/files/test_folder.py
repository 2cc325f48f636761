"""A folder appears whole or not at all: the ordinary ways."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from firstsheet.engine.errors import OutputError
from firstsheet.files.writing import folder
from firstsheet.files.writing import folder_swap as folderswap
from firstsheet.files.writing.folder import whole_folder
from firstsheet.files.writing.folder_lock import FolderLock

PLAN = json.dumps({"made_by": "firstsheet 0.1.0"})


def put(
    target: Path,
    words: str,
    *,
    replace: bool = False,
    meanwhile: Callable[[], object] = lambda: None,
) -> None:
    with whole_folder(target, needed_bytes=100, replace=replace) as staging:
        (staging / "plan.json").write_text(PLAN)
        (staging / "print.tif").write_text(words)
        meanwhile()


def raising(error: type[BaseException]) -> Callable[[], object]:
    def stop() -> None:
        raise error

    return stop


def names(place: Path) -> list[str]:
    return sorted(entry.name for entry in place.iterdir())


def test_a_folder_appears_under_its_name_only_when_the_block_ends(tmp_path: Path) -> None:
    target = tmp_path / "ferry"

    with whole_folder(target, needed_bytes=100, replace=False) as staging:
        (staging / "plan.json").write_text(PLAN)
        assert not target.exists()
        assert staging.parent == target.parent  # same file system
        assert staging.name.startswith(".")

    assert names(target) == [".firstsheet.json", "plan.json"]
    assert names(tmp_path) == ["ferry"]  # no lock, no staging left


def test_missing_parents_are_made_and_removed_again_after_a_failure(tmp_path: Path) -> None:
    target = tmp_path / "a" / "b" / "ferry"
    with (
        pytest.raises(RuntimeError, match="storm"),
        whole_folder(target, needed_bytes=1, replace=False),
    ):
        raise RuntimeError("storm")
    assert names(tmp_path) == []

    put(target, "x")
    assert (target / "print.tif").read_text() == "x"


@pytest.mark.parametrize("stop", [KeyboardInterrupt, SystemExit, ValueError])
def test_any_way_out_of_the_block_leaves_nothing(tmp_path: Path, stop: type[BaseException]) -> None:
    with pytest.raises(stop):
        put(tmp_path / "ferry", "half", meanwhile=raising(stop))

    assert names(tmp_path) == []


def test_an_earlier_folder_survives_a_failed_replacement(tmp_path: Path) -> None:
    put(tmp_path / "ferry", "old")

    with pytest.raises(KeyboardInterrupt):
        put(tmp_path / "ferry", "half", replace=True, meanwhile=raising(KeyboardInterrupt))

    assert (tmp_path / "ferry" / "print.tif").read_text() == "old"
    assert names(tmp_path) == ["ferry"]


@pytest.mark.parametrize("exchange", [True, False])
def test_an_earlier_folder_of_ours_gives_way_with_leave(
    tmp_path: Path, exchange: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not exchange:  # as on a system that cannot swap two names
        monkeypatch.setattr(folder, "exchange", lambda *_: False)
    put(tmp_path / "ferry", "old")

    put(tmp_path / "ferry", "new!", replace=True)

    assert (tmp_path / "ferry" / "print.tif").read_text() == "new!"
    assert names(tmp_path) == ["ferry"]


def test_an_earlier_folder_of_ours_stays_without_leave(tmp_path: Path) -> None:
    put(tmp_path / "ferry", "old")

    with pytest.raises(OutputError) as caught:
        put(tmp_path / "ferry", "new")

    assert caught.value.code == "output-exists"
    assert "already holds an earlier print" in caught.value.found
    assert (tmp_path / "ferry" / "print.tif").read_text() == "old"


def test_a_folder_with_somebody_elses_file_is_never_replaced(tmp_path: Path) -> None:
    put(tmp_path / "ferry", "old")
    (tmp_path / "ferry" / "notes.txt").write_text("mine")

    with pytest.raises(OutputError) as caught:
        put(tmp_path / "ferry", "new", replace=True)

    assert caught.value.code == "output-holds-other-files"
    assert "notes.txt" in caught.value.found
    assert (tmp_path / "ferry" / "notes.txt").read_text() == "mine"
    assert (tmp_path / "ferry" / "print.tif").read_text() == "old"


def test_a_product_somebody_changed_is_never_replaced(tmp_path: Path) -> None:
    put(tmp_path / "ferry", "old")
    (tmp_path / "ferry" / "print.tif").write_text("retouched by hand")

    with pytest.raises(OutputError, match=r"print\.tif"):
        put(tmp_path / "ferry", "new", replace=True)

    assert (tmp_path / "ferry" / "print.tif").read_text() == "retouched by hand"


@pytest.mark.parametrize(
    "list_of_contents",
    [None, "[]", "{", '{"made_by": "an architect", "bytes": {"plan.json": 2}}', '{"bytes": 3}'],
)
def test_a_plan_alone_or_a_strange_list_does_not_make_a_folder_ours(
    tmp_path: Path, list_of_contents: str | None
) -> None:
    (tmp_path / "ferry").mkdir()
    (tmp_path / "ferry" / "plan.json").write_text("{}")
    if list_of_contents is not None:
        (tmp_path / "ferry" / folder.CONTENTS_FILE).write_text(list_of_contents)

    with pytest.raises(OutputError) as caught:
        put(tmp_path / "ferry", "new", replace=True)

    assert caught.value.code == "output-holds-other-files"


def test_a_folder_of_ours_without_a_plan_may_give_way_too(tmp_path: Path) -> None:
    for words in ("old", "new"):
        with whole_folder(tmp_path / "proof", needed_bytes=1, replace=True) as staging:
            (staging / "proof.png").write_text(words)

    assert (tmp_path / "proof" / "proof.png").read_text() == "new"


def test_an_empty_folder_may_be_filled(tmp_path: Path) -> None:
    (tmp_path / "ferry").mkdir()

    put(tmp_path / "ferry", "new")

    assert (tmp_path / "ferry" / "print.tif").read_text() == "new"


def test_a_file_under_the_final_name_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "ferry").write_text("a file")

    with pytest.raises(OutputError) as caught:
        put(tmp_path / "ferry", "new", replace=True)

    assert caught.value.code == "output-is-a-file"
    assert (tmp_path / "ferry").read_text() == "a file"


def test_a_folder_that_appeared_meanwhile_is_not_overwritten(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as caught:
        put(
            tmp_path / "ferry",
            "ours",
            meanwhile=lambda: (tmp_path / "ferry").write_text("came meanwhile"),
        )

    assert caught.value.code == "output-is-a-file"
    assert (tmp_path / "ferry").read_text() == "came meanwhile"


def test_foreign_files_that_appeared_meanwhile_are_not_swept_away(tmp_path: Path) -> None:
    put(tmp_path / "ferry", "old")
    notes = tmp_path / "ferry" / "notes.txt"
    with pytest.raises(OutputError) as caught:
        put(
            tmp_path / "ferry",
            "new",
            replace=True,
            meanwhile=lambda: notes.write_text("just written"),
        )

    assert caught.value.code == "output-holds-other-files"
    assert (tmp_path / "ferry" / "notes.txt").read_text() == "just written"


def test_an_original_inside_the_folder_is_protected(tmp_path: Path) -> None:
    (tmp_path / "scans").mkdir()
    original = tmp_path / "scans" / "ferry.tif"
    original.write_text("the only one")

    with (
        pytest.raises(OutputError) as caught,
        whole_folder(tmp_path / "scans", needed_bytes=1, replace=True, original=original),
    ):
        raise AssertionError("must not begin")

    assert caught.value.code == "original-inside-output"
    assert "Choose another folder" in caught.value.choice
    assert original.read_text() == "the only one"


def test_a_disk_too_small_is_told_with_its_sum_before_anything_is_made(tmp_path: Path) -> None:
    free = shutil.disk_usage(tmp_path).free
    with (
        pytest.raises(OutputError) as caught,
        whole_folder(tmp_path / "ferry", needed_bytes=free + 10**12, replace=False),
    ):
        raise AssertionError("must not begin")

    assert caught.value.code == "disk-too-small"
    assert "GB free; this folder needs" in caught.value.found
    assert caught.value.choice.startswith("Free 1000.")  # what is short, not what is needed
    assert names(tmp_path) == []


def test_a_second_writer_is_refused_and_the_first_one_finishes(tmp_path: Path) -> None:
    target = tmp_path / "ferry"
    with whole_folder(target, needed_bytes=1, replace=False) as staging:
        (staging / "print.tif").write_text("first")
        with pytest.raises(OutputError) as caught:
            put(target, "second")
        assert caught.value.code == "output-in-use"
        assert caught.value.found == f"Another Firstsheet is writing here: {target}."

    assert (target / "print.tif").read_text() == "first"


def test_what_a_killed_run_left_for_another_name_is_swept_but_not_what_is_in_use(
    tmp_path: Path,
) -> None:
    (tmp_path / ".dead.firstsheet-part").mkdir()
    (tmp_path / ".dead.firstsheet-part" / "print.tif").write_text("half")
    (tmp_path / ".busy.firstsheet-part").mkdir()

    with FolderLock(tmp_path / ".busy.firstsheet-lock", tmp_path / "busy"):
        put(tmp_path / "ferry", "x")
        assert ".busy.firstsheet-part" in names(tmp_path)

    assert ".dead.firstsheet-part" not in names(tmp_path)


def test_an_old_folder_moved_aside_by_a_killed_run_comes_back(tmp_path: Path) -> None:
    put(tmp_path / "ferry", "old")
    (tmp_path / "ferry").rename(tmp_path / ".ferry.firstsheet-old")

    with pytest.raises(OutputError, match="earlier print"):
        put(tmp_path / "ferry", "new")

    assert (tmp_path / "ferry" / "print.tif").read_text() == "old"


@pytest.mark.skipif(os.name != "posix", reason="links need rights elsewhere")
def test_a_linked_folder_is_written_where_the_link_points(tmp_path: Path) -> None:
    (tmp_path / "disk").mkdir()
    (tmp_path / "ferry").symlink_to(tmp_path / "disk" / "real")

    put(tmp_path / "ferry", "x")

    assert (tmp_path / "disk" / "real" / "print.tif").read_text() == "x"
    assert (tmp_path / "ferry").is_symlink()


def test_a_very_long_name_works(tmp_path: Path) -> None:
    put(tmp_path / ("ä" * 120), "x")

    assert names(tmp_path) == ["ä" * 120]


def test_the_list_of_contents_is_the_same_every_time(tmp_path: Path) -> None:
    put(tmp_path / "a", "x")
    put(tmp_path / "b", "x")

    first, second = ((tmp_path / one / folder.CONTENTS_FILE).read_bytes() for one in "ab")
    assert first == second
    assert json.loads(first)["bytes"] == {"plan.json": len(PLAN), "print.tif": 1}


@pytest.mark.skipif(sys.platform != "linux", reason="other systems may fall back on two renames")
def test_two_folders_change_places_at_one_instant(tmp_path: Path) -> None:
    """renameat2(2), RENAME_EXCHANGE: afterwards each name has the other's content."""
    for name in "ab":
        (tmp_path / name).mkdir()
        (tmp_path / name / "was").write_text(name)

    assert folderswap.exchange(tmp_path / "a", tmp_path / "b")

    assert (tmp_path / "a" / "was").read_text() == "b"
    assert (tmp_path / "b" / "was").read_text() == "a"


def test_a_name_is_taken_only_while_it_is_free(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()

    with pytest.raises(FileExistsError):
        folderswap.rename_to_free_name(tmp_path / "a", tmp_path / "b")

    folderswap.rename_to_free_name(tmp_path / "a", tmp_path / "c")
    assert names(tmp_path) == ["b", "c"]
