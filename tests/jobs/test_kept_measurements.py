"""The second command on the same picture: the same answers, without measuring again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import tifffile

from firstsheet.engine.records import Ticket
from firstsheet.jobs.planning.open_picture import OpenPicture


def quiet(*_: Any) -> None:
    """Nobody listens, nobody stops."""


def planned(picture: Path) -> str:
    ticket = Ticket(picture=str(picture), stock="harbour-gloss")
    with OpenPicture.open(ticket, progress=quiet, stop=quiet) as opened:
        prepared = opened.prepare(ticket, stocks_dir=None, progress=quiet, stop=quiet)
    return prepared.plan.model_dump_json()


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("FIRSTSHEET_MEASUREMENTS", str(tmp_path / "kept"))
    return tmp_path / "kept"


def not_again(*_: Any, **__: Any) -> Any:
    raise AssertionError("measured a second time")


def test_a_second_command_measures_nothing_again(
    buoy: Path, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = planned(buoy)
    assert len(list(kept.iterdir())) == 2  # the pass over all pixels, and the detail they hold
    monkeypatch.setattr("firstsheet.files.reading.opening.measure", not_again)
    monkeypatch.setattr("firstsheet.jobs.planning.detail.detail_but_dust", not_again)

    assert planned(buoy) == first


def test_another_picture_under_the_same_name_and_time_is_measured(buoy: Path, kept: Path) -> None:
    import os

    first = planned(buoy)
    times = buoy.stat()
    pixels = tifffile.imread(buoy)
    data = bytearray(buoy.read_bytes())
    at = data.find(pixels[0].tobytes())
    assert at > 0
    data[at : at + 2000] = bytes(2000)
    with buoy.open("r+b") as file:  # the same inode, size and time
        file.write(data)
    os.utime(buoy, ns=(times.st_atime_ns, times.st_mtime_ns))

    assert kept.exists()
    assert planned(buoy) != first


def test_a_damaged_memory_is_measured_anew(buoy: Path, kept: Path) -> None:
    first = planned(buoy)
    for entry in kept.iterdir():
        entry.write_bytes(entry.read_bytes()[:100])

    assert planned(buoy) == first
