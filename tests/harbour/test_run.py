"""The demo's script: tickets and prints of every picture, and what was found in words."""

import shutil
from pathlib import Path

import pytest
import tifffile

import run
from firstsheet.engine.errors import StoppedError
from harbour.beside import pictures_beside
from harbour.pictures import make_pictures
from harbour.scenes import SCENES

pytestmark = pytest.mark.slow
SMALL = 8


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of the pictures, each side eight times smaller."""
    folder = tmp_path_factory.mktemp("demo") / "pictures"
    make_pictures(folder, lambda _doing, _share: None, lambda: None, divisor=SMALL)
    return folder


def told_of(out: Path, capsys: pytest.CaptureFixture[str]) -> str:
    assert run.main(["--out", str(out), "--divisor", str(SMALL)]) == 0
    return capsys.readouterr().out


def test_every_picture_gets_its_ticket_its_print_and_its_words(
    tmp_path: Path, small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = told_of(tmp_path, capsys)

    for scene in SCENES:
        name = f"{scene.name}.tif"
        assert (tmp_path / "pictures" / name).read_bytes() == (small / name).read_bytes()
        assert scene.words in told
        assert (tmp_path / "tickets" / f"{scene.name}.toml").is_file()
        with tifffile.TiffFile(tmp_path / "prints" / scene.name / "print.tif") as sheet:
            assert sheet.pages[0].tags["InterColorProfile"].value
    assert told.count("Too soft for close viewing") == len(SCENES)  # so small, none is


def test_a_picture_that_cannot_be_printed_does_not_stop_the_others(
    small: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shutil.copytree(small, tmp_path / "pictures")
    tickets = shutil.copytree(run.TICKETS, tmp_path / "wanted")
    (tickets / "boat-shed.toml").write_text('picture = "nowhere.tif"\nstock = "chalk-matte"\n')
    monkeypatch.setattr(run, "TICKETS", tickets)

    told = told_of(tmp_path, capsys)

    assert "nowhere.tif" in told
    prints = {one.name for one in (tmp_path / "prints").iterdir()}
    assert prints == {scene.name for scene in SCENES} - {"boat-shed"}


def test_stopping_ends_the_painter_and_leaves_nothing_half_painted(tmp_path: Path) -> None:
    asked: list[float] = []

    def stop() -> None:
        if asked and asked[-1] > 0:  # something is being painted
            raise StoppedError("Stopped.", "", "")

    with (
        pytest.raises(StoppedError),
        pictures_beside(tmp_path, lambda _, share: asked.append(share), stop) as pictures,
    ):
        next(pictures)

    assert list(tmp_path.glob("*.part")) == []
    assert list(tmp_path.glob("*.tif")) == []


def test_an_error_of_the_painter_is_raised_where_the_pictures_are_awaited(tmp_path: Path) -> None:
    (tmp_path / "pictures").write_text("a file where the folder should be")

    with (
        pytest.raises(FileExistsError),
        pictures_beside(tmp_path / "pictures", lambda _doing, _share: None, lambda: None) as one,
    ):
        next(one)
