"""A rectangle of the print is the print's own pixels, whatever was turned, cut or dithered."""

from __future__ import annotations

import gc
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.cms.link import paper_link, source_colour
from firstsheet.pixels.bands import BandWork
from firstsheet.pixels.job import RenderJob
from firstsheet.pixels.render import render
from firstsheet.pixels.window import Windows
from firstsheet.store.stocks import get_stock, stock_profile_bytes

CHAIN = build_chain(
    source_profile=space_profile("srgb"),
    colour_model="rgb",
    paper_profile=stock_profile_bytes(get_stock("chalk-matte")),
    intent="relative",
    black_point=True,
)
COLOUR, LINK = source_colour(CHAIN), paper_link(CHAIN)


class Sharp:
    """A sharpening that reaches ten pixels."""

    gain, radius_px, overshoot_limit_l, edge_low_l, edge_high_l = 1.2, 2.2, 5.0, 3.0, 9.0


class Held:
    """A picture in memory that also gives columns."""

    def __init__(self, codes: NDArray[Any]) -> None:
        self._codes = codes
        self.height_px, self.width_px, self.channels = codes.shape
        self.dtype = codes.dtype

    def rows(self, top: int, bottom: int) -> NDArray[Any]:
        return self._codes[top:bottom]

    def block(self, top: int, bottom: int, left: int, right: int) -> NDArray[Any]:
        return self._codes[top:bottom, left:right]

    def close(self) -> None:
        """Nothing to close."""


class Whole:
    """Keeps the sheet."""

    def __init__(self, job: RenderJob) -> None:
        kind = np.uint8 if job.bits == 8 else np.uint16
        self.codes = np.empty((job.sheet_height_px, job.sheet_width_px, 3), kind)

    def write(self, top: int, rows: NDArray[Any]) -> None:
        self.codes[top : top + len(rows)] = rows


def picture(width_px: int, height_px: int) -> NDArray[np.uint16]:
    rng = np.random.default_rng(3)
    codes = rng.integers(0, 65536, (height_px, width_px, 3))
    codes[:, width_px // 3 : width_px // 2] = 50_000  # a flat bar with hard edges
    return codes.astype(np.uint16)


def compare(source: Held, job: RenderJob, boxes: list[tuple[int, int, int, int]]) -> None:
    sink = Whole(job)
    render(source, job, COLOUR, LINK, sink, threads=2)
    whole = sink.codes[job.picture_top_px :, job.picture_left_px :]
    windows = Windows(source, job, COLOUR, LINK)
    for left, top, width, height in boxes:
        part = windows.make(left, top, width, height)
        np.testing.assert_array_equal(part, whole[top : top + height, left : left + width])


def wish(width_px: int, height_px: int, crop: tuple[float, ...], **more: Any) -> RenderJob:
    return RenderJob(
        sheet_width_px=width_px + 37,
        sheet_height_px=height_px + 53,
        picture_left_px=21,
        picture_top_px=30,
        width_px=width_px,
        height_px=height_px,
        crop=(crop[0], crop[1], crop[2], crop[3]),
        **{"sharpen": Sharp(), **more},
    )


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_agrees_to_the_code(orientation: int) -> None:
    source = Held(picture(230, 170))
    width, height = (121, 163) if orientation >= 5 else (163, 121)
    crop = (2.3, 1.1, 160.7, 218.2) if orientation >= 5 else (1.1, 2.3, 218.2, 160.7)
    job = wish(width, height, crop, orientation=orientation)
    boxes = [(0, 0, 40, 30), (50, 41, 33, 29), (width - 31, height - 17, 31, 17)]
    compare(source, job, boxes)


def test_an_enlarged_picture_agrees_to_the_code() -> None:
    source = Held(picture(90, 70))
    job = wish(233, 180, (3.5, 2.25, 84.0, 65.0))
    compare(source, job, [(0, 0, 64, 64), (100, 60, 64, 64), (169, 116, 64, 64)])


def test_eight_bits_carry_the_same_dither() -> None:
    source = Held(picture(230, 170))
    job = wish(140, 104, (0.0, 0.0, 230.0, 170.0), bits=8)
    compare(source, job, [(0, 0, 64, 64), (61, 33, 64, 64)])


def test_without_sharpening_there_is_no_margin() -> None:
    source = Held(picture(230, 170))
    job = wish(230, 170, (0.0, 0.0, 230.0, 170.0), sharpen=None)
    compare(source, job, [(0, 0, 64, 64), (160, 100, 70, 70)])


def test_the_windows_differ_from_each_other() -> None:
    """The comparison above would also pass for a print of one colour; this one is not."""
    windows = Windows(
        Held(picture(230, 170)), wish(163, 121, (1.1, 2.3, 218.2, 160.7)), COLOUR, LINK
    )
    assert (windows.make(0, 0, 40, 40) != windows.make(40, 0, 40, 40)).any()


def test_a_window_leaves_no_buffers_for_the_collector() -> None:
    """Each holds megabytes; a collector that counts objects would let hundreds pile up."""
    source = Held(picture(90, 60))
    windows = Windows(source, wish(60, 40, (0.0, 0.0, 90.0, 60.0)), COLOUR, LINK)

    def alive() -> int:
        return sum(type(one) is BandWork for one in gc.get_objects())

    gc.collect()
    gc.disable()
    try:
        before = alive()  # what other tests still hold
        for left in range(3):
            windows.make(left, 0, 40, 30)
        assert alive() == before
    finally:
        gc.enable()
