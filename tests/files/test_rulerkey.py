"""Ruler and key: exact to the pixel, known device values, inside the printable border."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.records import MarginsMm
from firstsheet.engine.records.plan import SheetPlan
from firstsheet.files.writing.glyphs import GLYPHS, draw_text
from firstsheet.files.writing.ruler_key import BorderMarks, border_marks, key_patches

PPIS = (240.0, 299.7, 300.0, 360.0, 600.0, 720.0)


def sheet(
    *, width_mm: float = 329, height_mm: float = 483, border_mm: float = 40, ppi: float = 360
) -> tuple[SheetPlan, int, int]:
    """A sheet with an even border, and the picture's pixels."""
    width, height = round(width_mm / 25.4 * ppi), round(height_mm / 25.4 * ppi)
    border = round(border_mm / 25.4 * ppi)
    exact = border / ppi * 25.4
    plan = SheetPlan(
        name="A3+",
        width_px=width,
        height_px=height,
        width_mm=width / ppi * 25.4,
        height_mm=height / ppi * 25.4,
        asked_width_mm=width_mm,
        asked_height_mm=height_mm,
        picture_left_px=border,
        picture_top_px=border,
        border_mm=(exact, exact, exact, exact),
        margins=MarginsMm(top=5, right=4, bottom=17, left=3),
        fits_printable=True,
    )
    return plan, width - 2 * border, height - 2 * border


def marks(*, ppi: float = 360, channels: int = 3, **options: Any) -> tuple[BorderMarks, SheetPlan]:
    shape = {k: options.pop(k) for k in ("width_mm", "height_mm", "border_mm") if k in options}
    plan, width, height = sheet(ppi=ppi, **shape)
    made = border_marks(
        plan,
        picture_width_px=width,
        picture_height_px=height,
        ppi=ppi,
        channels=channels,
        ruler=options.get("ruler", True),
        key=options.get("key", True),
        identifier=options.get("identifier", "C3D1F7A2B4E5"),
        lab=options.get("lab", False),
    )
    return made, plan


def inked_starts(line: np.ndarray[Any, np.dtype[Any]]) -> np.ndarray[Any, np.dtype[Any]]:
    """Where dark runs begin along a line of codes."""
    dark = line[:, 0] < 32768
    starts: np.ndarray[Any, np.dtype[Any]] = np.flatnonzero(dark & ~np.r_[False, dark[:-1]])
    return starts


@pytest.mark.parametrize("ppi", PPIS)
def test_the_ruler_is_100_mm_long_to_the_pixel(ppi: float) -> None:
    """1 in = 25.4 mm exactly, so 100 mm is 100 / 25.4 · ppi pixels."""
    made, _ = marks(ppi=ppi, key=False)

    codes = made.overlays[0].codes
    long_ticks = inked_starts(codes[round(3.0 / 25.4 * ppi)])
    assert len(long_ticks) == 11
    assert long_ticks[-1] - long_ticks[0] == int(100 / 25.4 * ppi + 0.5)


@pytest.mark.parametrize("ppi", PPIS)
def test_every_millimetre_stands_within_half_a_pixel_of_its_place(ppi: float) -> None:
    made, _ = marks(ppi=ppi, key=False)

    ticks = inked_starts(made.overlays[0].codes[round(1.2 / 25.4 * ppi)])
    assert len(ticks) == 101
    wanted = np.arange(101) / 25.4 * ppi
    assert np.abs(ticks - ticks[0] - wanted).max() <= 0.5


def test_the_ruler_is_bare_paper_and_black_only() -> None:
    made, _ = marks(key=False)

    assert set(np.unique(made.overlays[0].codes)) == {0, 65535}


@pytest.mark.parametrize("channels", [1, 3, 4])
def test_each_patch_of_the_key_holds_its_device_value(channels: int) -> None:
    made, _ = marks(channels=channels, ruler=False)

    codes = made.overlays[0].codes
    patches = key_patches(channels)
    side = codes.shape[1] // len(patches)
    for index, patch in enumerate(patches):
        middle = codes[side // 2, index * side + side // 2]
        assert middle.tolist() == [round(value * 65535) for value in patch.device]


@pytest.mark.parametrize("channels", [1, 3, 4])
def test_the_ramp_has_eight_even_neutral_steps_from_black_to_bare_paper(channels: int) -> None:
    ramp = [patch.device for patch in key_patches(channels)[:8]]

    shown = [1 - device[3] if channels == 4 else device[0] for device in ramp]
    np.testing.assert_allclose(np.diff(shown), 1 / 7)
    assert (shown[0], shown[-1]) == (0, 1)
    if channels == 3:
        assert all(len(set(device)) == 1 for device in ramp)


@pytest.mark.parametrize("turned", [False, True])
def test_marks_stand_in_the_printable_border_and_apart(turned: bool) -> None:
    size = {"width_mm": 483, "height_mm": 329} if turned else {}
    made, plan = marks(**size)

    assert made.names == ("ruler", "key")
    assert made.findings == ()
    taken = np.zeros((plan.height_px, plan.width_px), np.bool_)
    border = plan.picture_left_px
    taken[border:-border, border:-border] = True  # the picture
    for mark in made.overlays:
        height, width = mark.codes.shape[:2]
        for near, far, low_mm, high_mm, length in (
            (mark.left_px, mark.left_px + width, 3, 4, plan.width_px),
            (mark.top_px, mark.top_px + height, 5, 17, plan.height_px),
        ):
            assert near / 360 * 25.4 >= low_mm
            assert (length - far) / 360 * 25.4 >= high_mm
        place = taken[mark.top_px : mark.top_px + height, mark.left_px : mark.left_px + width]
        assert not place.any()
        place[:] = True


def test_in_a_lab_file_bare_paper_is_l_100_and_the_ramp_has_no_hue() -> None:
    made, _ = marks(lab=True)

    ruler, key = (mark.codes for mark in made.overlays)
    assert sorted(map(tuple, np.unique(ruler.reshape(-1, 3), axis=0).tolist())) == [
        (0, 32896, 32896),
        (65535, 32896, 32896),
    ]
    assert set(np.unique(key[..., 1:])) == {32896}  # 128 / 255 of the range


def test_on_a_narrow_sheet_the_ruler_runs_along_the_side() -> None:
    made, plan = marks(width_mm=100, height_mm=300, border_mm=25, key=False)

    codes = made.overlays[0].codes
    assert codes.shape[0] > codes.shape[1]
    assert made.overlays[0].left_px + codes.shape[1] <= plan.picture_left_px


def test_no_room_is_a_finding_with_the_room_needed() -> None:
    made, _ = marks(border_mm=6)

    assert made.overlays == ()
    assert [finding.code for finding in made.findings] == ["no-room-for-ruler", "no-room-for-key"]
    first = made.findings[0]
    assert first.weight == "caution"
    assert first.found.startswith("The ruler needs 10")
    assert first.consequence == "The sheet is made without the ruler."


def test_the_key_becomes_smaller_before_it_is_left_out() -> None:
    roomy, _ = marks(ruler=False)
    tight, _ = marks(width_mm=90, height_mm=100, border_mm=24, ruler=False)

    assert tight.overlays[0].codes.shape[1] < roomy.overlays[0].codes.shape[1]


def test_the_identifier_is_drawn_in_our_letters() -> None:
    made, _ = marks(ruler=False, identifier="C3")
    blank, _ = marks(ruler=False, identifier="")

    codes, bare = made.overlays[0].codes, blank.overlays[0].codes
    drawn = codes.copy()
    drawn[codes == bare] = 65535
    ys, xs = np.nonzero(drawn[..., 0] == 0)
    scale = (xs.max() + 1 - xs.min()) // 11  # two letters: eleven dots
    dots = (drawn[ys.min() : ys.max() + 1 : scale, xs.min() : xs.max() + 1 : scale, 0] == 0) * 1
    letters = np.hstack(
        [
            np.array([[row >> (4 - x) & 1 for x in range(5)] for row in GLYPHS[letter]])
            for letter in "C3"
        ]
    )
    np.testing.assert_array_equal(np.delete(dots, 5, axis=1), letters)


def test_every_letter_differs_from_every_other() -> None:
    assert len(set(GLYPHS.values())) == len(GLYPHS)
    assert all(0 <= row < 32 for rows in GLYPHS.values() for row in rows)


@given(st.text(max_size=20), st.integers(1, 4))
def test_any_text_stays_inside_its_array(text: str, scale: int) -> None:
    codes = np.full((20, 60, 3), 65535, np.uint16)

    draw_text(codes, text, left_px=2, top_px=3, scale=scale, ink=np.zeros(3, np.uint16))

    assert codes[:3].min() == 65535
    assert codes[:, :2].min() == 65535
