"""Take the bench's screenshots for README and guide: a real bench, real Chromium, made pictures.

Takes an optional folder of the harbour's pictures (made when missing); writes docs/pictures/
bench-*.jpg. Needs Chromium and the `test` extra. Run it when the page's look changed.
"""

from __future__ import annotations

import argparse
import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "demo"))
from harbour.pictures import make_pictures

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

ROOT = Path(__file__).parents[1]
OUT = ROOT / "docs" / "pictures"
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/\?key=\S+")
# The page says by itself what lies on the stage.
READY = """n => {
  const { view } = firstsheet, { dataset } = document.querySelector('.stage') ?? {};
  return view?.state === 'ready' && !view.measuring && !view.dust_pending && view.revision > n
    && dataset?.revision === String(view.revision) && dataset.settled === 'true';
}"""
# The pictures lie wherever this machine keeps them; a reader's lie in a folder of their own.
SHOWN_FOLDER = "/scans/merrowick"
SHOW_AS = """([folder, shown]) => {
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) texts.currentNode.data = texts.currentNode.data.replace(folder, shown);
}"""
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@contextmanager
def serving(folder: Path, state: Path) -> Iterator[str]:
    """Run the bench; gives its address."""
    environment = {
        **os.environ,
        "FIRSTSHEET_STATE": str(state),
        "FIRSTSHEET_LEDGER": str(state / "ledger.sqlite3"),
        "PYTHONUNBUFFERED": "1",
    }
    command = [sys.executable, "-m", "firstsheet", "bench", str(folder), "--no-browser"]
    process = subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    assert process.stdout is not None
    try:
        for line in process.stdout:
            if found := ADDRESS.search(line):
                yield found.group()
                break
    finally:
        process.terminate()
        process.wait(20)


_only: set[str] = set()  # names to write; empty writes all


def keep(page: Page, name: str) -> None:
    """Write one screenshot as a JPEG small enough for a page of text."""
    if _only and name not in _only:
        return
    page.wait_for_timeout(500)
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    path = OUT / f"bench-{name}.jpg"
    picture.save(path, quality=86, subsampling=0, optimize=True)
    print(
        f"{path.relative_to(ROOT)}: {picture.width} × {picture.height}, {path.stat().st_size} bytes"
    )


def lay_out(page: Page, name: str) -> None:
    """Open a picture and wait until everything is there."""
    page.get_by_role("combobox", name="Picture or ticket").fill(f"{name}.tif")
    page.keyboard.press("Enter")
    page.wait_for_function(READY, arg=-1, timeout=120_000)


def wish(page: Page, **lines: str) -> None:
    """Change the ticket and wait for the plan."""
    before = page.evaluate("firstsheet.view.revision")
    page.evaluate(
        "lines => firstsheet.set(lines)", {k.replace("__", "."): v for k, v in lines.items()}
    )
    page.wait_for_function(READY, arg=before, timeout=60_000)


def look(page: Page, name: str, way: str) -> None:
    """Go to one of the four ways to look."""
    page.get_by_role("tab", name=name).click()
    page.locator(f".stage[data-shows='{way}'][data-settled=true]").wait_for(timeout=60_000)


def take(browser: Browser, address: str, folder: Path) -> None:
    """Every screenshot, in the order a person would see them."""
    wide = browser.new_context(viewport={"width": 1440, "height": 900})
    page = wide.new_page()
    page.goto(address)
    page.wait_for_selector("body.there")
    page.evaluate(SHOW_AS, [str(folder), SHOWN_FOLDER])
    keep(page, "opening")
    lay_out(page, "ferry-stairs")
    wish(
        page,
        print__sheet="A3+",
        place__distance="1.5 m",
        place__light="200",
        **{"print__width": "381 mm"},
    )
    page.mouse.move(500, 480)
    keep(page, "look")
    look(page, "What is lost", "loss")
    box = page.locator(".stage").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] * 0.46, box["y"] + box["height"] * 0.62)
    page.locator(".spot:not([hidden]):not(.waiting)").wait_for()
    keep(page, "loss")
    page.evaluate("firstsheetLight.keep('appearance', 'dark')")
    look(page, "Up close", "close")
    page.get_by_role("button", name="Divide").click()
    page.locator(".stage[data-settled=true] [data-layer=over] img").first.wait_for()
    keep(page, "close")
    page.evaluate("firstsheetLight.keep('appearance', 'light')")
    screen = {"px_per_mm": 96 / 25.4, "away_mm": 600}  # a screen of 96 pixels to the inch
    page.evaluate("screen => firstsheet.draftPage.looking.screenSet(screen)", screen)
    look(page, "From where you stand", "stand")
    page.get_by_role("button", name="What the eye takes in").click()
    page.locator(".stage[data-kind=seen][data-settled=true]").wait_for(timeout=60_000)
    keep(page, "stand")
    page.evaluate("firstsheetLight.keep('appearance', 'dark')")
    page.evaluate("location.hash = '#/stocks/harbour-gloss'")
    page.locator(".plot").first.wait_for()
    page.wait_for_timeout(1500)
    keep(page, "stock")
    cookies = wide.storage_state()
    wide.close()
    narrow = browser.new_context(
        viewport={"width": 390, "height": 844}, device_scale_factor=2, storage_state=cookies
    )
    page = narrow.new_page()
    page.goto(address.split("?")[0])
    page.wait_for_selector("body.there")
    lay_out(page, "boat-shed")
    keep(page, "narrow")
    narrow.close()


def main() -> None:
    """Make pictures where there are none, serve them, take the screenshots."""
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pictures", nargs="?", type=Path, help="folder of the harbour's pictures")
    parser.add_argument("--only", nargs="+", default=(), help="names of pictures to write")
    chromium = shutil.which("chromium")
    if chromium is None:
        sys.exit("No Chromium here (Debian: apt-get install chromium).")
    OUT.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        given = parser.parse_args()
        _only.update(given.only)
        folder = given.pictures or Path(made) / "merrowick"
        make_pictures(folder, lambda _doing, _share: None, lambda: None)
        with (
            serving(folder, Path(made) / "state") as address,
            sync_playwright() as play,
        ):
            browser = play.chromium.launch(executable_path=chromium, args=FLAGS)
            take(browser, address, folder.resolve())
            browser.close()


if __name__ == "__main__":
    main()
