"""The demo's script: tickets and prints of every picture, and what was found in words."""

import shutil
from functools import partial
from pathlib import Path

import pytest
import tifffile

import run
from harbour.pictures import make_pictures
from harbour.scenes import SCENES

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of the pictures, each side eight times smaller."""
    folder = tmp_path_factory.mktemp("demo") / "pictures"
    make_pictures(folder, lambda _doing, _share: None, lambda: None, divisor=8)
    return folder


def test_every_picture_gets_its_ticket_its_print_and_its_words(
    small: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shutil.copytree(small, tmp_path / "pictures")
    monkeypatch.setattr(run, "make_pictures", partial(make_pictures, divisor=8))

    assert run.main(["--out", str(tmp_path)]) == 0

    told = capsys.readouterr().out
    for scene in SCENES:
        assert scene.words in told
        assert (tmp_path / "tickets" / f"{scene.name}.toml").is_file()
        with tifffile.TiffFile(tmp_path / "prints" / scene.name / "print.tif") as sheet:
            assert sheet.pages[0].tags["InterColorProfile"].value
    assert told.count("Not good enough") == len(SCENES)  # so small, none is


def test_a_picture_that_cannot_be_printed_does_not_stop_the_others(
    small: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shutil.copytree(small, tmp_path / "pictures")
    made = make_pictures(
        tmp_path / "pictures", lambda _doing, _share: None, lambda: None, divisor=8
    )
    made[0].path.write_bytes(made[0].path.read_bytes()[:1000])
    monkeypatch.setattr(run, "make_pictures", lambda *_: made)

    assert run.main(["--out", str(tmp_path)]) == 0

    assert f"{made[0].path.name}" in capsys.readouterr().out
    prints = {one.name for one in (tmp_path / "prints").iterdir()}
    assert prints == {scene.name for scene in SCENES} - {made[0].name}
