"""A file is found by its content, whatever it is called and wherever it lies."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from firstsheet.engine.errors import StoppedError
from firstsheet.files.find import find_by_content, is_content

CONTENT = b"the quay at Merrowick" * 100
SHA = hashlib.sha256(CONTENT).hexdigest()


def look(*folders: tuple[Path, bool]) -> Path | None:
    return find_by_content(SHA, len(CONTENT), folders, lambda: None)


def put(path: Path, content: bytes = CONTENT) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return path


def test_it_is_found_under_another_name_in_a_folder_inside(tmp_path: Path) -> None:
    put(tmp_path / "a.tif", CONTENT[:-1] + b"!")  # the same size, other bytes
    put(tmp_path / "b.tif", CONTENT + b"!")
    there = put(tmp_path / "old/scans/renamed.tif")

    assert look((tmp_path, True)) == there
    assert look((tmp_path, False)) is None


def test_hidden_folders_and_absent_ones_are_passed_over(tmp_path: Path) -> None:
    put(tmp_path / ".trash/quay.tif")

    assert look((tmp_path, True), (tmp_path / "nowhere", True)) is None
    assert look((tmp_path / ".trash", True)) is not None  # unless it is named itself


def test_a_file_that_may_not_be_read_stops_nothing(tmp_path: Path) -> None:
    (tmp_path / "a.tif").symlink_to(tmp_path / "nowhere.tif")
    there = put(tmp_path / "z.tif")

    assert look((tmp_path, True)) == there
    assert not is_content(tmp_path / "a.tif", SHA, len(CONTENT))
    assert not is_content(tmp_path, SHA, len(CONTENT))


def test_the_person_can_stop_the_search(tmp_path: Path) -> None:
    put(tmp_path / "z.tif")

    def stop() -> None:
        raise StoppedError("Stopped.", "", "")

    with pytest.raises(StoppedError):
        find_by_content(SHA, len(CONTENT), [(tmp_path, True)], stop)
