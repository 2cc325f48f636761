"""The whole main job: from a scan to a folder with a print file that is right."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pytest
import tifffile

from firstsheet.cms.build import space_profile
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.errors import ChangedOriginalError, PlanStopError
from firstsheet.engine.records.plan import Plan
from firstsheet.files.hashing import sha256_of
from firstsheet.jobs import make
from firstsheet.jobs.answers import MadeAnswer
from firstsheet.jobs.make import make_print
from firstsheet.jobs.plan import plan_print
from firstsheet.store.stocks import get_stock, stock_profile_bytes

PAPER = stock_profile_bytes(get_stock("chalk-matte"))
WISH = {"stock": "chalk-matte", "width": "80mm", "sheet": "A6", "distance": "40cm"}


def quiet(_doing: str, _share: float) -> None:
    """Progress nobody listens to."""


def never() -> None:
    """Nobody stops."""


def made(source: Path, out: Path, **options: Any) -> tuple[MadeAnswer, Plan]:
    answer = make_print(
        source, options, out=out, replace=False, stocks_dir=None, progress=quiet, stop=never
    )
    plan = Plan.model_validate(json.loads((out / "plan.json").read_text(encoding="utf-8")))
    return answer, plan


def picture_part(sheet: np.ndarray[Any, Any], plan: Plan) -> np.ndarray[Any, Any]:
    top, left = plan.sheet.picture_top_px, plan.sheet.picture_left_px
    return sheet[top : top + plan.size.height_px, left : left + plan.size.width_px]


def test_one_folder_holds_everything_the_print_needs(scan: Path, tmp_path: Path) -> None:
    answer, _ = made(scan, tmp_path / "print", **WISH)

    assert answer.files == ("job-sheet.pdf", "loss-map.png", "plan.json", "print.tif", "proof.png")
    assert sorted(p.name for p in (tmp_path / "print").iterdir() if p.name[0] != ".") == list(
        answer.files
    )


def test_sheet_and_picture_are_right_to_the_pixel(scan: Path, tmp_path: Path) -> None:
    _, plan = made(scan, tmp_path / "print", **WISH)

    with tifffile.TiffFile(tmp_path / "print/print.tif") as file:
        page = file.pages[0]
        sheet = page.asarray()
        numerator, denominator = page.tags["XResolution"].value
        profile = page.tags["InterColorProfile"].value
    ppi = numerator / denominator
    assert ppi == plan.size.ppi == 360
    assert sheet.dtype == np.uint16
    # A6 as ISO 216 says, 148 × 105 mm, turned with the picture
    assert sheet.shape == (round(105 / 25.4 * 360), round(148 / 25.4 * 360), 3)
    assert picture_part(sheet, plan).shape[1] == round(80 / 25.4 * 360)
    assert bytes(profile) == PAPER


def test_bare_paper_stays_bare(scan: Path, tmp_path: Path) -> None:
    _, plan = made(scan, tmp_path / "print", **WISH)

    sheet = tifffile.imread(tmp_path / "print/print.tif")
    border = np.ones(sheet.shape[:2], dtype=bool)
    top, left = plan.sheet.picture_top_px, plan.sheet.picture_left_px
    border[top : top + plan.size.height_px, left : left + plan.size.width_px] = False
    assert border.any()
    assert (sheet[border] == 65535).all()
    assert (picture_part(sheet, plan) != 65535).any()


def test_flat_colours_are_what_the_icc_engine_prints(tmp_path: Path) -> None:
    """Little CMS in double precision, unoptimised, one call picture → paper → Lab."""
    path = tmp_path / "patches.tif"
    colours = np.array(
        [(30, 60, 170), (220, 90, 30), (128, 128, 128), (240, 238, 230), (20, 18, 25)]
    )
    codes = np.repeat(np.repeat((colours * 257).astype(np.uint16)[None], 400, 0), 200, axis=1)
    tifffile.imwrite(
        path, codes, photometric="rgb", extratags=[(34675, "B", None, space_profile("srgb"), True)]
    )
    _, plan = made(path, tmp_path / "print", **WISH, black_point=False)

    printed = picture_part(tifffile.imread(tmp_path / "print/print.tif"), plan)
    step = printed.shape[1] // len(colours)
    middles = printed[printed.shape[0] // 2, step // 2 :: step][: len(colours)] / 65535.0

    def engine(
        values: np.ndarray[Any, Any], source: bytes, target: bytes, space: str = "rgb"
    ) -> np.ndarray[Any, Any]:
        got: np.ndarray[Any, Any] = imagecodecs.cms_transform(
            np.ascontiguousarray(values[None], dtype=np.float64),
            source,
            target,
            colorspace="rgb",
            outcolorspace=space,
            intent=1,
            flags=0x100,
            outdtype="f8",
        )
        lab: np.ndarray[Any, Any] = got[0]
        return lab

    lab = imagecodecs.cms_profile("lab2")
    wanted = engine(colours / 255.0, space_profile("srgb"), PAPER)
    gap = delta_e_2000(engine(middles, PAPER, lab, "lab"), engine(wanted, PAPER, lab, "lab"))
    assert gap.max() < 0.1


def test_the_same_wish_gives_the_same_bytes(scan: Path, tmp_path: Path) -> None:
    made(scan, tmp_path / "one", **WISH)
    made(scan, tmp_path / "two", **WISH)

    for name in ("print.tif", "proof.png", "loss-map.png", "job-sheet.pdf", "plan.json"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), (
            name
        )


def test_the_original_is_never_written_to(scan: Path, tmp_path: Path) -> None:
    before, when = scan.read_bytes(), scan.stat().st_mtime_ns
    scan.chmod(0o444)

    made(scan, tmp_path / "print", **WISH)

    assert scan.read_bytes() == before
    assert scan.stat().st_mtime_ns == when


def test_a_picture_that_changes_on_the_way_stops_the_job(
    scan: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really = make.write_print_file

    def meddle(path: Path, *rest: Any) -> None:
        really(path, *rest)
        with scan.open("r+b") as file:
            file.seek(50_000)
            file.write(b"\x00\xff\x00\xff")

    monkeypatch.setattr(make, "write_print_file", meddle)
    with pytest.raises(ChangedOriginalError, match="changed while"):
        made(scan, tmp_path / "print", **WISH)
    assert not (tmp_path / "print").exists()


def test_a_picture_only_touched_is_still_the_same(
    scan: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    really = make.write_print_file

    def touch(path: Path, *rest: Any) -> None:
        really(path, *rest)
        os.utime(scan)

    monkeypatch.setattr(make, "write_print_file", touch)
    answer, _ = made(scan, tmp_path / "print", **WISH)
    assert "print.tif" in answer.files


def _planned(source: Path, out: Path, **options: Any) -> Plan:
    return plan_print(
        source,
        options,
        stocks_dir=None,
        out=out,
        ticket_out=None,
        progress=quiet,
        stop=never,
    ).plan


def test_a_plan_can_be_made_later_and_gives_the_same_plan(scan: Path, tmp_path: Path) -> None:
    agreed = _planned(scan, tmp_path / "agreed.json", **WISH)

    answer, _ = made(tmp_path / "agreed.json", tmp_path / "print")

    assert answer.plan_digest == agreed.digest


def test_a_plan_of_a_changed_picture_is_not_made(
    scan: Path, make_scan: Callable[..., Path], tmp_path: Path
) -> None:
    _planned(scan, tmp_path / "agreed.json", **WISH)
    other = make_scan("other.tif", 1200, 899)
    scan.write_bytes(other.read_bytes())

    with pytest.raises(ChangedOriginalError, match="SHA-256"):
        made(tmp_path / "agreed.json", tmp_path / "print")
    assert not (tmp_path / "print").exists()


def test_a_ticket_and_the_same_options_make_the_same_plan(scan: Path, tmp_path: Path) -> None:
    options = _planned(scan, tmp_path / "plan.json", **WISH)
    plan_print(
        scan,
        WISH,
        stocks_dir=None,
        out=None,
        ticket_out=tmp_path / "wish.toml",
        progress=quiet,
        stop=never,
    )

    ticket = _planned(tmp_path / "wish.toml", tmp_path / "again.json")

    assert ticket.digest == options.digest


def _already_printed(path: Path, profile: bytes) -> Path:
    codes = np.full((600, 800, 3), 30000, dtype=np.uint16)
    tifffile.imwrite(path, codes, photometric="rgb", extratags=[(34675, "B", None, profile, True)])
    return path


def test_a_file_in_this_papers_own_colours_goes_out_as_it_is(tmp_path: Path) -> None:
    path = _already_printed(tmp_path / "mine.tif", PAPER)

    _, plan = made(path, tmp_path / "print", **WISH)

    sheet = picture_part(tifffile.imread(tmp_path / "print/print.tif"), plan)
    assert plan.colour.mode == "as-is"
    assert (sheet == 30000).all()


def test_a_file_for_another_paper_is_not_converted_again(tmp_path: Path) -> None:
    gloss = stock_profile_bytes(get_stock("harbour-gloss"))
    path = _already_printed(tmp_path / "printed.tif", gloss)

    with pytest.raises(PlanStopError) as stopped:
        made(path, tmp_path / "print", **WISH)

    assert stopped.value.code == "output-profile"
    assert not (tmp_path / "print").exists()


def test_a_lab_file_that_is_not_resized_keeps_every_pixel(scan: Path, tmp_path: Path) -> None:
    """1200 pixels at 300 ppi are 101.6 mm: nothing to resample, nothing to convert."""
    wish = {**WISH, "width": "101.6mm", "ppi": "300", "sheet": "A5"}
    _, plan = made(scan, tmp_path / "print", **wish, keep_colour=True, sharpen="off")

    with tifffile.TiffFile(tmp_path / "print/print.tif") as file:
        sheet = file.pages[0].asarray()
        profile = bytes(file.pages[0].tags["InterColorProfile"].value)
    assert plan.size.resample == "none"
    np.testing.assert_array_equal(picture_part(sheet, plan), tifffile.imread(scan))
    assert profile == space_profile("srgb")


def test_the_plan_remembers_the_picture_it_was_made_for(scan: Path, tmp_path: Path) -> None:
    _, plan = made(scan, tmp_path / "print", **WISH)

    import hashlib

    assert plan.picture.sha256 == hashlib.sha256(scan.read_bytes()).hexdigest()
    assert sha256_of(scan) == plan.picture.sha256
