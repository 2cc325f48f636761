"""The page against canned answers: geometry, colour of a tagged tile, the table's grey."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from chromium import BROWSER, FLAGS  # type: ignore[import-not-found]
from mock_server import MockBench, running  # type: ignore[import-not-found]
from PIL import Image, ImageCms

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PATCHES = ((200, 60, 40), (60, 160, 70), (40, 70, 160), (120, 120, 120), (230, 220, 90))

# The picture's box on the screen.
PLACE = """() => {
  const stage = firstsheet.draftPage.looking.stage, { picture } = stage.sheet;
  const { x, y, k } = stage.camera, world = stage.world.getBoundingClientRect();
  return [world.left + x + picture.left * k, world.top + y + picture.top * k,
    picture.width * k, picture.height * k];
}"""
# A screen as wide as Display-P3, drawn without losing it on the way.
WIDE_FLAGS = [
    "--force-color-profile=display-p3-d65",
    "--use-angle=swiftshader",
    "--enable-gpu-rasterization",
    "--ignore-gpu-blocklist",
    "--enable-unsafe-swiftshader",
]


@pytest.fixture(scope="module")
def patched() -> MockBench:
    """A bench whose picture is five flat patches, tagged Display-P3."""
    from firstsheet.cms.build import space_profile

    pixels = np.zeros((400, 500, 3), dtype=np.uint8)
    for n, patch in enumerate(PATCHES):
        pixels[:, n * 100 : (n + 1) * 100] = patch
    bench = MockBench(pixels)
    bench.tag = space_profile("display-p3")
    return bench


@pytest.fixture(scope="module")
def address(patched: MockBench) -> Iterator[str]:
    """Its address."""
    with running(patched) as where:
        yield where


@pytest.fixture(scope="module")
def page(browser: Browser, address: str) -> Iterator[Page]:
    """One page on it."""
    context = browser.new_context(viewport={"width": 1000, "height": 720})
    page = context.new_page()
    page.goto(f"{address}/#/0badcafe")
    page.wait_for_selector("body.there")
    yield page
    context.close()


def _call(page: Page, expression: str) -> Any:
    return page.evaluate(
        f"import('/static/viewer/geometry.js').then(g => {{ return {expression}; }})"
    )


@pytest.mark.parametrize("ratio", [1, 1.25, 1.5, 2])
def test_a_snapped_tile_covers_whole_device_pixels(page: Page, ratio: float) -> None:
    for wish in (0.031, 0.27, 0.5, 0.777, 1.3):
        scale = _call(page, f"g.snapScale({wish}, {ratio}, 4)")
        level = _call(page, f"g.levelFor({wish}, {ratio}, 4)")
        side = 512 * scale * ratio * 2 ** (4 - level)
        assert side == pytest.approx(round(side), abs=1e-9)
        assert scale == pytest.approx(wish, rel=1 / 256)


def test_a_whole_pixel_of_the_file_is_never_taken_from_a_coarser_level(page: Page) -> None:
    assert _call(page, "g.levelFor(1, 1, 5)") == 5
    assert _call(page, "g.levelFor(0.5, 1, 5)") == 4
    assert _call(page, "g.levelFor(0.51, 1, 5)") == 5
    assert _call(page, "g.levelFor(0.5, 2, 5)") == 5
    assert _call(page, "g.levelFor(0.001, 1, 5)") == 0


def test_a_cut_and_its_offset_lead_to_each_other(page: Page) -> None:
    assert _call(page, "g.cutBegin(0.8, -1)") == 0
    assert _call(page, "g.cutBegin(0.8, 1)") == pytest.approx(0.2)
    assert _call(page, "g.cutOffset(0.8, 0.15)") == pytest.approx(0.5)
    assert _call(page, "g.cutOffset(1, 0)") == 0


@pytest.mark.parametrize(
    ("text", "up", "big", "stepped"),
    [
        ("-6 mm", True, False, "-5 mm"),  # a shift to the left
        ("-6 mm", False, True, "-16 mm"),
        ("4 mm", False, True, "0 mm"),  # a size is never below zero
        ("1,5 m", True, False, "1.6 m"),
        ("6 ft", True, False, "7 ft"),
    ],
)
def test_a_number_is_stepped_in_its_own_unit(
    page: Page, text: str, up: bool, big: bool, stepped: str
) -> None:
    found = page.evaluate(
        "([text, up, big]) => import('/static/field.js').then(f => f.stepped(text, '', up, big))",
        [text, up, big],
    )
    assert found == stepped


@pytest.mark.parametrize(
    ("typed", "before", "taken"),
    [
        ("400", "263 mm wide", "400 mm"),
        ("16", "15 in", "16 in"),
        ("2,5", "1.5 m", "2,5 m"),
        ("16 in", "263 mm", "16 in"),
        ("wide", "263 mm", "wide"),
        ("3", "any width", "3"),  # nothing stands there to go by
    ],
)
def test_a_bare_number_takes_the_unit_that_stood_there(
    page: Page, typed: str, before: str, taken: str
) -> None:
    found = page.evaluate(
        "given => import('/static/field.js').then(f => f.withUnit(given[0], given[1]))",
        [typed, before],
    )
    assert found == taken


def test_a_bank_card_held_to_the_screen_gives_its_pixels_per_millimetre(page: Page) -> None:
    # ISO/IEC 7810 ID-1 is 85.60 mm wide: 323.528 px at 96 px to the inch of 25.4 mm.
    assert _call(page, "g.pxPerMm(85.60 / 25.4 * 96)") * 25.4 == pytest.approx(96.0)


def test_a_length_on_the_drawing_is_said_in_both_units(page: Page) -> None:
    # 1 in = 25.4 mm, exact (NIST SP 811).
    assert _call(page, "g.bothWords(381)") == "381 mm (15.0 in)"
    assert _call(page, "g.bothWords(400.04)") == "400 mm (15.7 in)"


def test_a_tagged_tile_shows_the_colours_a_second_engine_works_out(page: Page) -> None:
    page.get_by_role("tab", name="Up close").click()
    page.locator(".stage[data-shows=close][data-settled=true]").wait_for()
    page.add_style_tag(content=".overlay { visibility: hidden }")
    source = ImageCms.ImageCmsProfile(io.BytesIO(_p3()))
    intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
    to_srgb = ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), "RGB", "RGB", intent)
    shot = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB"))
    where = page.evaluate(PLACE)
    for n, patch in enumerate(PATCHES):
        one = ImageCms.applyTransform(Image.new("RGB", (1, 1), patch), to_srgb)
        assert one is not None
        wanted = np.array(one.getpixel((0, 0)), dtype=int)
        x, y = int(where[0] + where[2] * (n + 0.5) / 5), int(where[1] + where[3] / 2)
        assert np.abs(shot[y, x].astype(int) - wanted).max() <= 1, (patch, shot[y, x], wanted)


def test_colours_beyond_srgb_reach_a_wide_screen_whole(browser: Browser, address: str) -> None:
    """On a Display-P3 screen the codes of a Display-P3 tile must come out as they went in."""
    flags = [one for one in FLAGS if one != "--disable-gpu"] + WIDE_FLAGS
    wide = browser.browser_type.launch(executable_path=BROWSER, args=flags)
    page = wide.new_page(viewport={"width": 1000, "height": 720})
    page.goto(f"{address}/#/0badcafe")
    page.wait_for_selector("body.there")
    page.locator(".stage[data-settled=true]").wait_for()
    page.add_style_tag(content=".overlay { visibility: hidden }")
    shot = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB"))
    box = page.evaluate(PLACE)
    wide.close()
    for n, patch in enumerate(PATCHES):
        x, y = int(box[0] + box[2] * (n + 0.5) / 5), int(box[1] + box[3] / 2)
        assert np.abs(shot[y, x].astype(int) - patch).max() <= 1, (patch, shot[y, x])


def _p3() -> bytes:
    from firstsheet.cms.build import space_profile

    return space_profile("display-p3")


@pytest.mark.parametrize("lightness", [16, 52, 118, 119, 196, 240])
def test_the_table_is_exactly_grey_and_its_inks_can_be_read(page: Page, lightness: int) -> None:
    page.evaluate("v => firstsheetLight.keep('table-light', v)", lightness)
    shot = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    width, height = shot.size
    for at in ((3, 3), (width - 30, height // 2), (3, height - 3)):
        assert shot.getpixel(at) == (lightness,) * 3
    style = "getComputedStyle(document.documentElement).getPropertyValue"
    for name in ("--ink", "--quiet"):
        ink = page.evaluate(f"{style}('{name}')")
        red, green, blue = (int(one) for one in ink[4:-1].split(","))
        assert red == green == blue
        assert _contrast(red, lightness) >= 4.5, name


def _contrast(one: int, other: int) -> float:
    """WCAG 2.2, contrast ratio; relative luminance as defined there."""
    a, b = (_luminance(code / 255) + 0.05 for code in (one, other))
    return max(a, b) / min(a, b)


def _luminance(code: float) -> float:
    return code / 12.92 if code <= 0.04045 else float(((code + 0.055) / 1.055) ** 2.4)
