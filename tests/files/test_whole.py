"""A small file appears whole or not at all."""

from collections.abc import Callable
from pathlib import Path

import pytest

from firstsheet.engine.errors import OutputError
from firstsheet.files.writing.whole import write_whole


def test_a_file_is_made_with_its_folder_and_replaces_an_earlier_one(tmp_path: Path) -> None:
    path = tmp_path / "tickets" / "ferry-stairs.toml"

    write_whole(path, b"first")
    write_whole(path, b"second")

    assert path.read_bytes() == b"second"
    assert list(path.parent.iterdir()) == [path]


def test_the_picture_itself_is_never_replaced(tmp_path: Path) -> None:
    original = tmp_path / "ferry-stairs.tif"
    original.write_bytes(b"pixels")
    (tmp_path / "other.tif").hardlink_to(original)

    with pytest.raises(OutputError) as caught:
        write_whole(tmp_path / "other.tif", b"text", original=original)

    assert caught.value.code == "original-in-target"
    assert original.read_bytes() == b"pixels"


def test_where_it_cannot_be_written_nothing_is_left(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.mkdir()  # a folder stands under that name

    with pytest.raises(OutputError) as caught:
        write_whole(path, b"{}")

    assert caught.value.code == "not-written"
    assert list(tmp_path.iterdir()) == [path]


def test_on_a_full_disk_the_earlier_file_stays(small_disk: Callable[[int], Path]) -> None:
    folder = small_disk(1)
    path = folder / "plan.json"
    write_whole(path, b"earlier")

    with pytest.raises(OutputError):
        write_whole(path, bytes(4_000_000))

    assert path.read_bytes() == b"earlier"
    assert list(folder.iterdir()) == [path]
