"""Repairs from proposal to print file, read back with another reader and another colour engine."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image, ImageCms
from planted import BOTTOM, LEFT, RIGHT, TOP  # type: ignore[import-not-found]  # found by pytest
from skimage.color import deltaE_ciede2000

from firstsheet.engine.errors import (
    ChangedOriginalError,
    PlanStopError,
    StoppedError,
    TicketError,
)
from firstsheet.engine.records.plan import Plan
from firstsheet.jobs.losses import losses_by_region
from firstsheet.jobs.make import make_print
from firstsheet.jobs.plan import plan_print
from firstsheet.store.tickets import read_ticket

STOCKS = ("harbour-gloss", "chalk-matte", "tidings-newsprint")
QUIET: Any = {"progress": lambda *_: None, "stop": lambda: None, "stocks_dir": None}
WISH = {"width": "100mm", "sharpen": "off"}


def shown_by_little_cms(folder: Path) -> NDArray[np.float64]:
    """The picture's part of a print file, Lab relative to the paper (8 bit), by Little CMS."""
    with tifffile.TiffFile(folder / "print.tif") as file:
        codes = file.asarray()
        profile = file.pages[0].tags[34675].value
    plan = Plan.model_validate_json((folder / "plan.json").read_text())
    top, left = plan.sheet.picture_top_px, plan.sheet.picture_left_px
    part = codes[top : top + plan.size.height_px, left : left + plan.size.width_px]
    image = Image.fromarray((part / 257.0 + 0.5).astype(np.uint8))
    way = ImageCms.buildTransform(
        ImageCms.ImageCmsProfile(io.BytesIO(profile)),
        ImageCms.createProfile("LAB"),
        "RGB",
        "LAB",
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )
    lab = ImageCms.applyTransform(image, way)
    assert lab is not None
    bands = [np.asarray(one).astype(np.float64) for one in lab.split()]
    return np.stack([bands[0] / 2.55, bands[1] - 128.0, bands[2] - 128.0], axis=-1)


@pytest.mark.slow
@pytest.mark.parametrize("stock", STOCKS)
def test_the_print_file_shows_what_the_plan_says_of_its_repair(
    stock: str, buoy: Path, tmp_path: Path
) -> None:
    # second opinion: tifffile, Little CMS through Pillow, CIEDE2000 of scikit-image
    before_bytes = buoy.read_bytes()
    wish = {**WISH, "stock": stock}
    make_print(buoy, wish, out=tmp_path / "plain", replace=False, **QUIET)
    make_print(buoy, {**wish, "repair": "1"}, out=tmp_path / "mended", replace=False, **QUIET)
    plain, mended = (shown_by_little_cms(tmp_path / one) for one in ("plain", "mended"))
    plan = Plan.model_validate_json((tmp_path / "mended" / "plan.json").read_text())
    (told,) = plan.repairs
    assert told.turn_before_degrees is not None
    assert told.turn_after_degrees is not None
    scale = plain.shape[0] / 240.0
    core = tuple(
        slice(round((low + 12) * scale), round((high - 12) * scale))
        for low, high in ((TOP, BOTTOM), (LEFT, RIGHT))
    )

    for shown, promised in ((plain, told.before_lab), (mended, told.after_lab)):
        assert np.linalg.norm(shown[core].mean(axis=(0, 1)) - promised) < 3.0
    assert abs(told.turn_after_degrees) < abs(told.turn_before_degrees) - 3.0
    moved = deltaE_ciede2000(plain, mended)
    assert moved[core].mean() > 1.5
    outside = np.ones(moved.shape, bool)
    margin = 20
    outside[
        round((TOP - margin) * scale) : round((BOTTOM + margin) * scale),
        round((LEFT - margin) * scale) : round((RIGHT + margin) * scale),
    ] = False
    assert told.outside_mean_de00 <= 0.5
    assert told.outside_max_de00 <= 1.5
    assert moved[outside].mean() <= told.outside_mean_de00 + 0.1  # rounding to 8 bits
    assert moved[outside].max() <= told.outside_max_de00 + 1.5  # a step of 8-bit a* near grey
    assert buoy.read_bytes() == before_bytes


@pytest.mark.slow
def test_a_proposal_taken_by_number_stands_in_ticket_and_plan(buoy: Path, tmp_path: Path) -> None:
    wish = {**WISH, "stock": "harbour-gloss"}
    offered = losses_by_region(buoy, wish, **QUIET)
    taken = plan_print(
        buoy, {**wish, "repair": "1"}, out=tmp_path / "plan.json", ticket_out=tmp_path / "t.toml",
        **QUIET,
    ).plan  # fmt: skip
    plain = plan_print(buoy, wish, out=None, ticket_out=None, **QUIET).plan
    ticket = read_ticket(tmp_path / "t.toml")

    assert taken.repairs[0] == offered.proposals[0]
    assert ticket.repairs == taken.ticket.repairs == (offered.proposals[0].wish,)
    assert taken.digest != plain.digest
    assert any(one.code == "repair-1" for one in taken.findings)
    again = losses_by_region(tmp_path / "t.toml", {}, **QUIET)
    assert again.proposals == offered.proposals
    assert again.repairs == taken.repairs
    assert again.losses is not None
    assert offered.losses is not None
    assert again.losses.lost_total < offered.losses.lost_total
    none = plan_print(
        tmp_path / "t.toml", {"repair": "none"}, out=None, ticket_out=None, **QUIET
    ).plan
    assert (
        none.digest
        == plan_print(buoy.resolve(), wish, out=None, ticket_out=None, **QUIET).plan.digest
    )


@pytest.mark.slow
def test_making_a_plan_later_stops_where_its_repair_would_be_another(
    buoy: Path, tmp_path: Path
) -> None:
    wish = {**WISH, "stock": "harbour-gloss", "repair": "1"}
    plan = plan_print(buoy, wish, out=tmp_path / "p.json", ticket_out=None, **QUIET).plan
    make_print(tmp_path / "p.json", {}, out=tmp_path / "same", replace=False, **QUIET)
    first = plan.repairs[0]
    other = first.model_copy(update={"after_lab": (1.0, 2.0, 3.0)})
    changed = plan.model_copy(update={"repairs": (other,), "digest": "0" * 64})
    (tmp_path / "p.json").write_text(changed.model_dump_json(), encoding="utf-8")

    with pytest.raises(ChangedOriginalError, match="repairs differ"):
        make_print(tmp_path / "p.json", {}, out=tmp_path / "other", replace=False, **QUIET)
    with pytest.raises(TicketError, match="--repair"):
        make_print(tmp_path / "p.json", {"repair": "1"}, out=None, replace=False, **QUIET)


@pytest.mark.slow
@pytest.mark.parametrize("words", ["2", "0", "one", "1,9", ""])
def test_a_number_nobody_proposed_is_a_slip(words: str, buoy: Path) -> None:
    with pytest.raises(TicketError) as slip:
        plan_print(
            buoy, {**WISH, "stock": "harbour-gloss", "repair": words}, out=None, ticket_out=None,
            **QUIET,
        )  # fmt: skip

    assert slip.value.code == "no-such-repair"
    assert "1 repair is proposed" in slip.value.found
    assert "--repair none" in slip.value.option


@pytest.mark.slow
def test_repairs_of_a_file_that_goes_out_as_it_is_stop_the_print(
    buoy: Path, tmp_path: Path
) -> None:
    wish = {**WISH, "stock": "harbour-gloss", "repair": "1"}
    plan_print(buoy, wish, out=None, ticket_out=tmp_path / "t.toml", **QUIET)
    make_print(buoy, {**WISH, "stock": "harbour-gloss"}, out=tmp_path / "made", replace=False,
               **QUIET)  # fmt: skip
    text = (tmp_path / "t.toml").read_text()
    printed = tmp_path / "made" / "print.tif"
    (tmp_path / "u.toml").write_text(text.replace(str(buoy.resolve()), str(printed)))

    with pytest.raises(PlanStopError) as stopped:
        make_print(tmp_path / "u.toml", {"keep_colour": True}, out=tmp_path / "no", replace=False,
                   **QUIET)  # fmt: skip

    assert "repairs" in str(stopped.value)
    assert not (tmp_path / "no").exists()


@pytest.mark.slow
def test_looking_for_repairs_says_so_and_can_be_stopped(buoy: Path) -> None:
    heard: list[str] = []

    def stop() -> None:
        if "Looking for repairs" in heard:
            raise StoppedError("Stopped by you.", "Nothing is left.", "", "stopped")

    with pytest.raises(StoppedError):
        losses_by_region(
            buoy, {**WISH, "stock": "harbour-gloss"}, stocks_dir=None,
            progress=lambda words, _share: heard.append(words), stop=stop,
        )  # fmt: skip

    assert heard[-1] == "Looking for repairs"
