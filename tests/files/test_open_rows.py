"""Rows from any thread, in any order; the original stays untouched; nothing is left behind."""

from __future__ import annotations

import os
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import makers  # type: ignore[import-not-found]
import numpy as np
import pytest
from PIL import Image

from firstsheet.engine.errors import ChangedOriginalError, RefusedPictureError, StoppedError
from firstsheet.files.reading import raw_rows as source_raw
from firstsheet.files.reading.opening import open_picture

KINDS = ["flat", "planar", "tiles", "strips", "jpeg-tiles", "png", "jpeg", "webp"]


def written(folder: Path, kind: str) -> Path:
    """A picture of 400 rows of every way of reading."""
    pixels = makers.noise(np.uint16, height=400)
    path = folder / f"a.{kind}"
    options: dict[str, dict[str, Any]] = {
        "flat": {},
        "planar": {"planarconfig": "separate"},
        "tiles": {"tile": (64, 32), "compression": "deflate"},
        "strips": {"compression": "lzw", "predictor": True},
        "jpeg-tiles": {"tile": (64, 32), "compression": "jpeg"},
    }
    if kind in options:
        if kind == "jpeg-tiles":
            pixels = makers.slope(height=400)
        makers.write_tiff(path, pixels, **options[kind])
    elif kind == "png":
        makers.write_png(path, pixels)
    else:
        Image.fromarray(makers.slope(height=400)).save(path, kind)
    return path


@pytest.mark.parametrize("kind", KINDS)
def test_six_threads_see_what_one_sees(
    tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(source_raw, "CACHE_BYTES", 60_000)  # two tiles: much is decoded again
    random = np.random.default_rng(4)
    with open_picture(written(tmp_path, kind)) as opened:
        whole = opened.source.rows(0, 400)
        tops = random.integers(0, 390, 200)
        pairs = [(int(t), int(min(400, t + random.integers(1, 70)))) for t in tops]

        def agrees(pair: tuple[int, int]) -> bool:
            return bool(np.array_equal(opened.source.rows(*pair), whole[pair[0] : pair[1]]))

        with ThreadPoolExecutor(6) as pool:
            assert all(pool.map(agrees, pairs))


@pytest.mark.parametrize("kind", KINDS)
def test_rows_belong_to_the_caller(tmp_path: Path, kind: str) -> None:
    with open_picture(written(tmp_path, kind)) as opened:
        before = opened.source.rows(10, 20)
        kept = before.copy()
        before[...] = 0
        np.testing.assert_array_equal(opened.source.rows(10, 20), kept)


def test_rows_outside_the_picture_are_a_programming_mistake(tmp_path: Path) -> None:
    with open_picture(written(tmp_path, "flat")) as opened:
        assert opened.source.rows(5, 5).shape == (0, 83, 3)
        for pair in ((-1, 5), (5, 401), (7, 6)):
            with pytest.raises(ValueError, match="of 400"):
                opened.source.rows(*pair)


@pytest.mark.parametrize("kind", KINDS)
def test_a_read_only_original_opens_and_stays_as_it_was(tmp_path: Path, kind: str) -> None:
    path = written(tmp_path, kind)
    path.chmod(0o444)
    tmp_path.chmod(0o555)
    before, status = path.read_bytes(), path.stat()

    with open_picture(path) as opened:
        opened.source.rows(0, 400)

    assert path.read_bytes() == before
    assert path.stat().st_mtime_ns == status.st_mtime_ns
    assert path.stat().st_mode == status.st_mode
    assert [one.name for one in tmp_path.iterdir()] == [path.name]
    tmp_path.chmod(0o755)


def test_the_original_is_never_opened_for_writing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = written(tmp_path, "tiles")
    seen: list[int] = []
    real = os.open

    def watched(name: Any, flags: int, *rest: Any, **more: Any) -> int:
        if Path(name) == path:
            seen.append(flags)
        return real(name, flags, *rest, **more)

    monkeypatch.setattr(os, "open", watched)
    open_picture(path).close()

    assert seen
    assert all(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC) == 0 for flags in seen)


@pytest.mark.parametrize("kind", KINDS)
def test_closing_gives_descriptors_and_temporary_files_back(tmp_path: Path, kind: str) -> None:
    path = written(tmp_path, kind)
    open_picture(path).close()
    before = len(list(Path("/proc/self/fd").iterdir()))
    left = set(Path(tempfile.gettempdir()).glob("firstsheet-*"))

    for _ in range(3):
        opened = open_picture(path)
        opened.close()
        opened.close()
    makers.cut(path, 0.5)
    for _ in range(3):
        with pytest.raises(RefusedPictureError):
            open_picture(path)

    assert len(list(Path("/proc/self/fd").iterdir())) <= before
    assert set(Path(tempfile.gettempdir()).glob("firstsheet-*")) <= left


def test_a_file_that_changes_while_it_is_read_stops_the_work(tmp_path: Path) -> None:
    path = written(tmp_path, "flat")

    def meddle(_what: str, _share: float) -> None:
        os.utime(path, ns=(1, 1))

    with pytest.raises(ChangedOriginalError, match="changed while"):
        open_picture(path, progress=meddle)


def test_a_file_replaced_while_it_is_read_stops_the_work(tmp_path: Path) -> None:
    path = written(tmp_path, "flat")
    other = makers.write_tiff(tmp_path / "b.tif", makers.noise(height=399))

    def meddle(_what: str, share: float) -> None:
        if share < 1 and other.exists():
            other.replace(path)

    def always(what: str, _share: float) -> None:
        meddle(what, 0.0)

    with pytest.raises(ChangedOriginalError):
        open_picture(path, progress=always)


def test_the_person_can_stop_and_nothing_stays_open(tmp_path: Path) -> None:
    path = written(tmp_path, "tiles")
    before = len(list(Path("/proc/self/fd").iterdir()))

    def stop() -> None:
        raise StoppedError("Stopped.", "Nothing was made.", "Start again.", "stopped")

    with pytest.raises(StoppedError):
        open_picture(path, stop=stop)
    assert len(list(Path("/proc/self/fd").iterdir())) <= before


def test_progress_ends_at_one_and_never_falls(tmp_path: Path) -> None:
    told: list[float] = []
    path = makers.write_tiff(tmp_path / "a.tif", makers.noise(height=3000, width=900))

    open_picture(path, progress=lambda _what, share: told.append(share)).close()

    assert told == sorted(told)
    assert told[-1] == 1
    assert len(told) > 2
