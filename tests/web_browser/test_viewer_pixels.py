"""Every pixel sent is every pixel shown, at four device ratios, and tiles leave no seam."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from mock_server import MockBench, Pixels, running  # type: ignore[import-not-found]
from PIL import Image

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

RATIOS = (1.0, 1.25, 1.5, 2.0)
HEIGHT, WIDTH = 1500, 2300
INSIDE = """() => {
  const stage = firstsheet.draftPage.looking.stage;
  const { left, top, width, height } = stage.sheet.picture, { x, y, k } = stage.camera;
  const world = stage.world.getBoundingClientRect(), host = stage.host.getBoundingClientRect();
  const x1 = Math.max(host.left, world.left + x + left * k) + 3;
  const y1 = Math.max(host.top, world.top + y + top * k) + 3;
  const x2 = Math.min(host.right, world.left + x + (left + width) * k) - 3;
  const y2 = Math.min(host.bottom, world.top + y + (top + height) * k) - 3;
  return { x: x1, y: y1, width: x2 - x1, height: y2 - y1 };
}"""


def _noise() -> Pixels:
    return np.random.default_rng(11).integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)


@pytest.fixture(scope="module")
def noisy() -> Iterator[str]:
    """A bench whose picture is noise: any shift or blend of a pixel shows."""
    with running(MockBench(_noise())) as address:
        yield address


@pytest.fixture(scope="module")
def flat() -> Iterator[str]:
    """A bench whose picture is one grey: any seam shows."""
    with running(MockBench(np.full((HEIGHT, WIDTH, 3), 90, dtype=np.uint8))) as address:
        yield address


def _page(browser: Browser, address: str, ratio: float) -> Page:
    context = browser.new_context(viewport={"width": 921, "height": 611}, device_scale_factor=ratio)
    page = context.new_page()
    page.goto(f"{address}/#/0badcafe")
    page.wait_for_selector("body.there")
    return page


def _ready(page: Page, way: str = "look") -> None:
    page.locator(f".stage[data-shows={way}][data-settled=true]").wait_for()
    page.evaluate("new Promise(d => requestAnimationFrame(() => requestAnimationFrame(d)))")


def _shown(page: Page, box: Any, ratio: float) -> Pixels:
    """What stands on the screen inside a box of CSS px, without what is drawn over it."""
    page.add_style_tag(content=".overlay, .spot { visibility: hidden }")
    shot = np.asarray(Image.open(io.BytesIO(page.screenshot())).convert("RGB"))
    left, top = (round(box[key] * ratio) for key in ("x", "y"))
    right, bottom = (round((box[a] + box[b]) * ratio) for a, b in (("x", "width"), ("y", "height")))
    return shot[top:bottom, left:right]


@pytest.mark.parametrize("ratio", RATIOS)
def test_up_close_shows_each_pixel_of_the_print_file_on_one_of_the_screen(
    browser: Browser, noisy: str, ratio: float
) -> None:
    page = _page(browser, noisy, ratio)
    page.get_by_role("tab", name="Up close").click()
    _ready(page, "close")
    stage = page.locator(".stage").bounding_box()
    shown = _shown(page, stage, ratio)[8:-8, 8:-8]
    page.context.close()
    noise = _noise()
    # The camera stands over the picture's middle: find where, by the one place that fits.
    patch = shown[:6, :6].astype(int)
    guess_y, guess_x = (HEIGHT - shown.shape[0]) // 2, (WIDTH - shown.shape[1]) // 2
    places = [
        (y, x)
        for y in range(guess_y - 40, guess_y + 41)
        for x in range(guess_x - 40, guess_x + 41)
        if np.abs(noise[y : y + 6, x : x + 6].astype(int) - patch).max() <= 1
    ]
    assert len(places) == 1, f"not one place fits at ratio {ratio}: {places}"
    y, x = places[0]
    wanted = noise[y : y + shown.shape[0], x : x + shown.shape[1]]
    assert int(np.abs(wanted.astype(int) - shown.astype(int)).max()) == 0


@pytest.mark.parametrize("ratio", RATIOS)
def test_tiles_leave_no_seam_at_any_nearness(browser: Browser, flat: str, ratio: float) -> None:
    page = _page(browser, flat, ratio)
    for step in range(3):
        if step:
            page.evaluate("f => { firstsheet.draftPage.looking.stage.nearer(f) }", 1.37)
        _ready(page)
        clip = page.evaluate(INSIDE)
        shown = _shown(page, clip, ratio)
        assert shown.size > 100_000
        assert int(shown.min()) == int(shown.max()) == 90, f"ratio {ratio}, step {step}"
    page.context.close()
