"""A ladder holds the print's own pixels at five strengths, and the look shows ink and eye."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pytest
import tifffile

from firstsheet.engine.errors import TicketError
from firstsheet.files.hashing import sha256_of
from firstsheet.jobs.answers import LadderAnswer
from firstsheet.jobs.ladder import make_ladder
from firstsheet.jobs.make import make_print
from firstsheet.jobs.planning.begin import wish_on_table
from firstsheet.jobs.proof import proof_print
from firstsheet.jobs.viewing import seen_picture

WISH = {"stock": "chalk-matte", "width": "80mm", "sheet": "A6", "distance": "40cm"}


def quiet(_doing: str, _share: float) -> None:
    """Progress nobody listens to."""


def never() -> None:
    """Nobody stops."""


def laddered(scan: Path, out: Path, at: str | None = None, on: str = "A5") -> LadderAnswer:
    return make_ladder(
        scan, WISH, out=out, on=on, at=at, replace=False, stocks_dir=None,
        progress=quiet, stop=never,
    )  # fmt: skip


def test_the_middle_rung_is_the_print_file_pixel_for_pixel(scan: Path, tmp_path: Path) -> None:
    before = sha256_of(scan)
    answer = laddered(scan, tmp_path / "ladder", at="40mm,25mm")
    make_print(
        scan, WISH, out=tmp_path / "print", replace=False, stocks_dir=None,
        progress=quiet, stop=never,
    )  # fmt: skip
    ladder = tifffile.imread(tmp_path / "ladder" / "ladder.tif")
    sheet = tifffile.imread(tmp_path / "print" / "print.tif")
    with tifffile.TiffFile(tmp_path / "ladder" / "ladder.tif") as file:
        x, y = file.pages[0].tags["XResolution"].value
    per_mm = x / y / 25.4

    starts, top = _rungs(ladder)
    width, height = round(answer.width_mm * per_mm), round(answer.height_mm * per_mm)
    middle = ladder[top + 40 : top + height - 40, starts[2] + 40 : starts[2] + width - 40]
    plan = json.loads((tmp_path / "print" / "plan.json").read_text(encoding="utf-8"))
    y0 = plan["sheet"]["picture_top_px"] + round(answer.top_mm * per_mm) + 40
    x0 = plan["sheet"]["picture_left_px"] + round(answer.left_mm * per_mm) + 40
    there = [
        sheet[y0 + y : y0 + y + middle.shape[0], x0 + x : x0 + x + middle.shape[1]]
        for y in range(-2, 3)  # the answer's millimetres are rounded
        for x in range(-2, 3)
    ]
    assert any(np.array_equal(part, middle) for part in there)
    assert [rung.taken for rung in answer.rungs] == [False, False, True, False, False]
    assert sha256_of(scan) == before


def _rungs(ladder: np.ndarray[Any, Any]) -> tuple[list[int], int]:
    """Left edges of the five pictures, and their top, px."""
    inked = ladder[:, :, 1] < 65000
    top = int(np.flatnonzero(inked.any(axis=1))[0])
    columns = np.flatnonzero(inked[top : top + 300].any(axis=0))
    starts = columns[np.flatnonzero(np.diff(columns, prepend=-100) > 20)]
    assert len(starts) == 5
    return [int(start) for start in starts], top


def test_each_rung_is_sharper_than_the_one_before(scan: Path, tmp_path: Path) -> None:
    answer = laddered(scan, tmp_path / "ladder")
    ladder = tifffile.imread(tmp_path / "ladder" / "ladder.tif").astype(float)[..., 1]
    starts, top = _rungs(ladder[..., None].repeat(3, axis=2))
    steps = []
    for start in starts:
        part = ladder[top + 10 : top + 300, start + 10 : start + 350]
        steps.append(float(np.abs(np.diff(part, axis=1)).mean()))

    assert [rung.strength for rung in answer.rungs] == [0.0, 0.5, 1.0, 1.5, 2.0]
    assert steps == sorted(steps)
    assert steps[-1] > 1.02 * steps[0]


def test_the_words_say_how_to_print_and_what_to_write_into_the_ticket(
    scan: Path, tmp_path: Path
) -> None:
    laddered(scan, tmp_path / "ladder")
    words = (tmp_path / "ladder" / "ladder.txt").read_text(encoding="utf-8")
    assert "Print ladder.tif on A5, landscape, at 100 %, colour management off" in words
    assert "Strengths from the left: 0, 0.5, 1, 1.5, 2; radius 0.16 mm." in words
    assert "--sharpen 1" in words


def test_a_place_that_cannot_be_read_and_a_sheet_too_small_are_told(
    scan: Path, tmp_path: Path
) -> None:
    with pytest.raises(TicketError) as slip:
        laddered(scan, tmp_path / "a", at="in the middle")
    assert slip.value.choice == ("Write two lengths, from the picture's left and top.")
    with pytest.raises(TicketError) as far:
        laddered(scan, tmp_path / "a", at="900mm,10mm")
    assert "outside the picture" in far.value.found
    with pytest.raises(TicketError) as small:
        laddered(scan, tmp_path / "a", on="80x60mm")
    assert small.value.choice == "Use a larger sheet for the ladder, such as A5 or A4."
    assert not (tmp_path / "a").exists()


def test_the_look_is_softer_from_farther_away_and_keeps_its_mean(scan: Path) -> None:
    total, means = [], []
    for distance in ("30cm", "3m"):
        with wish_on_table(
            scan, {**WISH, "distance": distance, "sharpen": "off"}, stocks_dir=None,
            progress=quiet, stop=never,
        ) as (_, _, prepared):  # fmt: skip
            lightness = seen_picture(prepared, quiet, never)[..., 0]
        total.append(float(np.abs(np.diff(lightness, axis=1)).sum(axis=1).mean()))
        means.append(float(lightness.mean()))
    assert total[1] < 0.8 * total[0]
    assert means[1] == pytest.approx(means[0], abs=0.5)


def test_the_proof_adds_the_two_looks_when_asked(scan: Path, tmp_path: Path) -> None:
    answer = proof_print(
        scan, WISH, out=tmp_path / "proof", replace=False, stocks_dir=None,
        progress=quiet, stop=never, seen=True,
    )  # fmt: skip
    assert answer.files == ("close-up.png", "loss-map.png", "proof.png", "seen.png")
    for name in ("close-up.png", "seen.png"):
        picture = imagecodecs.png_decode((tmp_path / "proof" / name).read_bytes())
        assert picture.dtype == np.uint16
        assert picture.std() > 500
