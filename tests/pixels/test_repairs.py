"""Repairs in pixels against an independent reading of shift and mask, whatever is turned or cut."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from sheet_makers import ArraySource, job_for, picture_of, plan_with, sheet_of  # type: ignore[import-not-found]  # found by pytest

from firstsheet.cms.chain import Chain
from firstsheet.cms.link import PaperLink, SourceColour, proof_link
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.errors import RefusedPictureError
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.pixels import render as render_module
from firstsheet.pixels.colours import PrintColours
from firstsheet.pixels.repairs import place_repairs
from firstsheet.pixels.window import Windows

WHOLE = (0.0, 0.0, 1.0, 1.0)


def random_field(seed: int, *, nodes: int = 9, mask: tuple[int, int] | None = (7, 11)) -> Any:
    random = np.random.default_rng(seed)
    shift = random.normal(0, 4, (nodes, nodes, nodes, 3)).astype(np.float32)
    soft = None if mask is None else random.uniform(0, 1, mask).astype(np.float32)
    return RepairField(shift=shift, mask=soft)


def by_scipy(lab: NDArray[Any], field: RepairField, lies: Any = WHOLE) -> NDArray[Any]:
    """The same with scipy's linear interpolation, in double precision."""
    last = field.shift.shape[0] - 1
    at = np.stack(
        [
            lab[..., 0] / 100 * last,
            (lab[..., 1] + 128) / 256 * last,
            (lab[..., 2] + 128) / 256 * last,
        ]
    )
    at = at.clip(0, last)
    shift = np.stack(
        [map_coordinates(field.shift[..., c].astype(float), at, order=1) for c in range(3)], axis=-1
    )
    if field.mask is None:
        return np.asarray(lab + shift)
    height, width = lab.shape[:2]
    y = (lies[1] + (np.arange(height) + 0.5) / height * lies[3]) * field.mask.shape[0] - 0.5
    x = (lies[0] + (np.arange(width) + 0.5) / width * lies[2]) * field.mask.shape[1] - 0.5
    places = np.stack(np.meshgrid(y, x, indexing="ij"))
    weight = map_coordinates(field.mask.astype(float), places, order=1, mode="nearest")
    return np.asarray(lab + weight[..., None] * shift)


def some_lab(height: int, width: int) -> NDArray[np.float32]:
    random = np.random.default_rng(5)
    lab = random.uniform([0, -127, -127], [100, 127, 127], (height, width, 3))
    return lab.astype(np.float32)


@pytest.mark.parametrize("mask", [None, (7, 11), (1, 9), (1, 1), (300, 2)])
def test_the_kernel_agrees_with_scipy(mask: Any) -> None:
    # source of the independent reading: scipy.ndimage.map_coordinates, order 1
    lab, lies = some_lab(37, 531), (0.1, 0.23, 0.61, 0.7)
    field = random_field(1, mask=mask)
    planes = np.ascontiguousarray(np.moveaxis(lab, -1, 0))
    placed = place_repairs([field], size_px=(531, 37), lies=lies)
    rows = np.arange(37, dtype=np.int64)
    placed.apply(planes, rows, rows)

    assert (
        np.abs(np.moveaxis(planes, 0, -1) - by_scipy(lab.astype(float), field, lies)).max() < 2e-4
    )


def test_repairs_act_one_after_the_other() -> None:
    lab = some_lab(20, 300)
    first, second = random_field(1), random_field(2, nodes=17, mask=(3, 4))
    planes = np.ascontiguousarray(np.moveaxis(lab, -1, 0))
    rows = np.arange(20, dtype=np.int64)
    place_repairs([first, second], size_px=(300, 20), lies=WHOLE).apply(planes, rows, rows)
    got = np.moveaxis(planes, 0, -1)

    assert np.abs(got - by_scipy(by_scipy(lab.astype(float), first), second)).max() < 5e-4
    other = by_scipy(by_scipy(lab.astype(float), second), first)
    assert np.abs(got - other).max() > 0.1


def stored(upright: NDArray[Any], orientation: int) -> NDArray[Any]:
    """How a picture lies in the file for each flag (TIFF 6.0, Orientation)."""
    turned = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.swapaxes(0, 1),
        6: upright.swapaxes(0, 1)[::-1],
        7: upright[::-1, ::-1].swapaxes(0, 1),
        8: upright.swapaxes(0, 1)[:, ::-1],
    }[orientation]
    return np.ascontiguousarray(turned)


def lightness_of(codes: NDArray[Any]) -> NDArray[Any]:
    """L* of neutral 16-bit sRGB (IEC 61966-2-1, CIE 15)."""
    share = codes / 65535.0
    y = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return np.where(y > 216 / 24389, 116 * np.cbrt(y) - 16, y * 24389 / 27)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize("size", [(70, 52), (31, 23)])
def test_a_mask_lies_where_it_belongs_to_a_hundredth_of_a_pixel(
    orientation: int, axis: str, size: tuple[int, int], colour: SourceColour
) -> None:
    # A mask that rises evenly over the upright file, times 60 L*: lightness tells the place.
    upright = np.full((60, 80, 3), 12000, np.uint16)
    ramp = (np.arange(160) + 0.5) / 160
    mask = np.tile(ramp, (3, 1)) if axis == "x" else np.tile(ramp[:, None], (1, 3))
    shift = np.zeros((2, 2, 2, 3), np.float32)
    shift[..., 0] = 60.0
    crop = (5.3, 4.1, 70.2, 52.65)
    job = job_for(
        stored(upright, orientation),
        width_px=size[0], height_px=size[1], crop=crop, orientation=orientation,
        repairs=(RepairField(shift=shift, mask=mask.astype(np.float32)),),
    )  # fmt: skip
    got = picture_of(job, sheet_of(stored(upright, orientation), job, colour))[..., 1]
    at = 0 if axis == "x" else 1
    share = (lightness_of(got) - lightness_of(np.array(12000))) / 60.0
    place_px = (share * (80, 60)[at] - crop[at]) * size[at] / crop[2 + at] - 0.5
    wanted = np.arange(size[at])[(None, slice(None)) if axis == "x" else (slice(None), None)]

    assert np.abs(place_px - wanted).max() < 0.01


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("mode", ["paper", "keep"])
def test_bytes_are_the_same_for_any_threads_and_any_rectangle(
    orientation: int, mode: str, colour: SourceColour, link: PaperLink
) -> None:
    random = np.random.default_rng(3)
    upright = random.integers(0, 65536, (110, 90, 3)).astype(np.uint16)
    picture = stored(upright, orientation)
    job = job_for(
        picture, width_px=61, height_px=74, crop=(3.0, 5.5, 80.0, 97.0), orientation=orientation,
        mode=mode, bits=8, sharpen=plan_with(), repairs=(random_field(4), random_field(6)),
    )  # fmt: skip
    sheets = [sheet_of(picture, job, colour, link, threads=n) for n in (1, 2, 3)]

    class Held(ArraySource):  # type: ignore[misc]  # an untyped module's
        def block(self, top: int, bottom: int, left: int, right: int) -> NDArray[Any]:
            part: NDArray[Any] = self.picture[top:bottom, left:right]
            return part

    part = Windows(Held(picture), job, colour, link).make(17, 22, 30, 40)

    assert (sheets[0] == sheets[1]).all()
    assert (sheets[0] == sheets[2]).all()
    assert (picture_of(job, sheets[0])[22:62, 17:47] == part).all()


@pytest.mark.parametrize("light", ["linear", "encoded"])
def test_the_print_file_holds_repaired_colour_before_the_black_point(
    light: str, chain: Chain, colour: SourceColour, link: PaperLink
) -> None:
    # truth: scipy for the repair, Little CMS in floating point for everything else
    random = np.random.default_rng(7)
    picture = random.integers(8000, 60000, (40, 50, 3)).astype(np.uint16)
    field = random_field(8, mask=(5, 6))
    job = job_for(picture, mode="paper", repairs=(field,), light=light)
    got = chain.printed_lab(picture_of(job, sheet_of(picture, job, colour, link)) / 65535)
    wanted = np.asarray(chain.wanted_lab(picture / 65535))
    asked = chain.aim_from_wanted(by_scipy(wanted, field))
    gap = np.asarray(delta_e_2000(got, chain.printed_lab(chain.device_from_lab(asked))))

    assert np.percentile(gap, 99) <= 0.05
    assert gap.max() <= 0.3
    plain = job_for(picture, mode="paper", light=light)
    bare = chain.printed_lab(picture_of(plain, sheet_of(picture, plain, colour, link)) / 65535)
    assert np.asarray(delta_e_2000(got, bare)).mean() > 1.0


def test_a_proof_is_of_the_very_numbers_that_are_printed(
    chain: Chain, colour: SourceColour, link: PaperLink
) -> None:
    random = np.random.default_rng(9)
    picture = random.integers(0, 65536, (40, 50, 3)).astype(np.uint16)
    fields = (random_field(10), random_field(11, mask=None))
    job = job_for(picture, mode="paper", repairs=fields)
    printed = picture_of(job, sheet_of(picture, job, colour, link))
    colours = PrintColours(colour, link, proof_link(chain))
    placed = place_repairs(fields, size_px=(50, 40), lies=WHOLE)
    device = colours.device(picture / 65535, placed)

    assert np.abs(device.astype(int) - printed).max() <= 2


def test_a_repair_of_nothing_changes_no_byte_of_a_kept_picture(colour: SourceColour) -> None:
    random = np.random.default_rng(12)
    picture = random.integers(0, 65536, (40, 50, 3)).astype(np.uint16)
    nothing = RepairField(np.zeros((3, 3, 3, 3), np.float32), None)
    job, plain = job_for(picture, repairs=(nothing,)), job_for(picture)

    assert (sheet_of(picture, job, colour) == sheet_of(picture, plain, colour)).all()


@pytest.mark.parametrize("light", ["linear", "encoded"])
def test_a_kept_file_carries_the_repair(light: str, chain: Chain, colour: SourceColour) -> None:
    # truth: scipy for the repair; Little CMS reads the file's own colours back
    random = np.random.default_rng(13)
    picture = random.integers(20000, 45000, (40, 50, 3)).astype(np.uint16)
    shift = random.normal(0, 1, (5, 5, 5, 3)).astype(np.float32)
    field = RepairField(shift, random.uniform(0, 1, (4, 4)).astype(np.float32))
    job = job_for(picture, repairs=(field,), light=light)
    got = chain.wanted_lab(picture_of(job, sheet_of(picture, job, colour)) / 65535)
    wanted = by_scipy(np.asarray(chain.wanted_lab(picture / 65535)), field)

    assert np.asarray(delta_e_2000(got, wanted)).max() < 0.03


def test_repairs_in_colours_nobody_knows_are_refused() -> None:
    picture = np.zeros((8, 8, 3), np.uint16)
    job = job_for(picture, mode="as-is", repairs=(random_field(1),))

    with pytest.raises(RefusedPictureError) as refused:
        sheet_of(picture, job)

    assert refused.value.code == "repairs-need-colour"
    assert "Undo the repairs" in str(refused.value)


def test_kernels_of_repairs_are_not_asked_for_where_there_are_none(
    monkeypatch: pytest.MonkeyPatch, colour: SourceColour, link: PaperLink
) -> None:
    asked: list[str] = []
    monkeypatch.setattr(render_module, "prepare", lambda names, _tell: asked.extend(names))
    picture = np.zeros((8, 8, 3), np.uint16)
    job = job_for(picture, mode="paper")
    sheet_of(picture, job, colour, link)

    assert asked
    assert not {"repair", "aim", "recode"} & set(asked)
    asked.clear()
    sheet_of(picture, job_for(picture, mode="paper", repairs=(random_field(1),)), colour, link)
    assert {"repair", "aim"} <= set(asked)
