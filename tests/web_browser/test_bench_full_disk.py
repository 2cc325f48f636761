"""A full disk on the page: a clear sentence, nothing lost, nothing half written left."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from bench_process import make_picture, serving  # type: ignore[import-not-found]
from on_the_page import lay_out, ready, view_of, wish  # type: ignore[import-not-found]
from playwright.sync_api import expect

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.skipif(os.name != "posix", reason="limits and mounts of POSIX")
Visit = Callable[..., AbstractContextManager["Page"]]
MB = 10**6
_DISK_MB = 40


@pytest.fixture
def visit(browser: Browser, tmp_path: Path) -> Visit:
    """A page at a bench of its own on some folder."""

    @contextmanager
    def begin(harbour: Path, state: Path, largest_file_bytes: int = 0) -> Iterator[Page]:
        problems: list[str] = []
        stocks = tmp_path / "stocks"
        with serving(harbour, state, stocks, largest_file_bytes=largest_file_bytes) as bench:
            context = browser.new_context(viewport={"width": 1024, "height": 700})
            page = context.new_page()
            page.set_default_timeout(30_000)
            page.on("pageerror", lambda error: problems.append(str(error)))
            page.goto(bench.address)
            page.wait_for_selector("body.there")
            yield page
            context.close()
        assert problems == []

    return begin


def all_in(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, hidden ones too."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def fill(ballast: Path) -> None:
    """Take all the room there is."""
    with contextlib.suppress(OSError), ballast.open("wb", buffering=0) as file:
        while True:
            file.write(bytes(4096))


def drop(page: Page, name: str, size_bytes: int) -> None:
    """Let go of a file over the page."""
    held = page.evaluate_handle(
        """([name, size]) => {
          const held = new DataTransfer();
          held.items.add(new File([new Uint8Array(size)], name));
          return held;
        }""",
        [name, size_bytes],
    )
    page.dispatch_event("body", "drop", {"dataTransfer": held})


def on_sheet(page: Page, sheet: str) -> None:
    """Take another sheet and wait for its plan."""
    before = view_of(page)["revision"]
    lines = {"print.width": "80 mm", "print.sheet": sheet}
    page.evaluate("lines => { firstsheet.set(lines) }", lines)
    ready(page, before, f"view.sheet.name === {sheet!r}")


def make(page: Page) -> None:
    page.locator("button.main").click()


# ---- the system takes no more while it is written ---------------------------------------------


def test_a_print_that_breaks_off_is_told_and_the_earlier_one_stands(
    visit: Visit, tmp_path: Path
) -> None:
    harbour = tmp_path / "harbour"
    harbour.mkdir()
    make_picture(harbour / "ferry-stairs.tif", 400, 300)
    with visit(harbour, tmp_path / "state", largest_file_bytes=7 * MB) as page:
        lay_out(page, "ferry-stairs.tif")
        on_sheet(page, "A6")  # its print file is smaller than that
        make(page)
        page.locator(".result:not([hidden])").wait_for(timeout=90_000)
        before = all_in(harbour)
        assert any(name.endswith("/print.tif") for name in before)
        on_sheet(page, "A4")  # and this one larger
        make(page)
        page.get_by_role("button", name="Replace what was made before").click()
        slip = page.locator(".making .slip:not([hidden])")
        expect(slip).to_contain_text("is full, or does not take a file this large", timeout=90_000)
        expect(slip).to_contain_text("an earlier folder still stands as it was")
        expect(slip.locator("em")).to_contain_text("Free some room")
        assert all_in(harbour) == before
        on_sheet(page, "A6")  # and goes on
        expect(page.locator("button.main")).to_be_enabled()
        make(page)
        page.locator(".result:not([hidden])").wait_for(timeout=90_000)
        assert all_in(harbour).keys() == before.keys()


@pytest.mark.parametrize("size_bytes", [9 * MB, 120 * MB])
def test_a_dropped_picture_that_breaks_off_is_told_and_nothing_of_it_is_kept(
    visit: Visit, tmp_path: Path, size_bytes: int
) -> None:
    """Told, too, while the browser still has much to send."""
    harbour = tmp_path / "harbour"
    harbour.mkdir()
    make_picture(harbour / "pier-light.tif", 240, 160)
    with visit(harbour, tmp_path / "state", largest_file_bytes=4 * MB) as page:
        lay_out(page, "pier-light.tif")
        drop(page, "long-quay.tif", size_bytes)
        slip = page.locator(".start .slip:not([hidden])")
        expect(slip).to_contain_text("long-quay.tif could not be stored", timeout=60_000)
        expect(slip).to_contain_text("Nothing of it was kept.")
        expect(slip.locator("em")).to_contain_text("Make room")
        expect(page.locator(".bare-sheet")).to_contain_text("Drop a picture on the sheet")
        assert all_in(tmp_path / "state" / "bench" / "uploads") == {}
        expect(page.locator(".recent li")).to_have_count(1)
        page.get_by_role("link", name="pier-light").click()
        ready(page, also="view.name === 'pier-light'")


# ---- a disk that is small, and then full -------------------------------------------------------


def test_a_print_for_which_there_is_no_room_is_not_begun(
    visit: Visit, small_disk: Callable[[int], Path], tmp_path: Path
) -> None:
    harbour = small_disk(_DISK_MB)
    make_picture(harbour / "ferry-stairs.tif", 400, 300)
    with visit(harbour, tmp_path / "state") as page:
        lay_out(page, "ferry-stairs.tif")
        on_sheet(page, "A4")
        before = all_in(harbour)
        make(page)
        slip = page.locator(".making .slip:not([hidden])")
        expect(slip).to_contain_text("this folder needs", timeout=60_000)
        expect(slip).to_contain_text("so nothing was begun")
        assert all_in(harbour) == before


def test_a_picture_dropped_on_a_small_disk_is_refused_with_its_sizes(
    visit: Visit, small_disk: Callable[[int], Path], tmp_path: Path
) -> None:
    harbour = tmp_path / "harbour"
    harbour.mkdir()
    state = small_disk(_DISK_MB) / "state"
    with visit(harbour, state) as page:
        drop(page, "long-quay.tif", 60 * MB)
        slip = page.locator(".start .slip:not([hidden])")
        expect(slip).to_contain_text("long-quay.tif has 60.0 MB; the disk has", timeout=60_000)
        expect(slip).to_contain_text("Nothing of it was kept.")
        assert all_in(state / "bench" / "uploads") == {}


def test_wishes_on_a_full_disk_stand_on_the_page_and_are_kept_once_there_is_room(
    visit: Visit, small_disk: Callable[[int], Path], tmp_path: Path
) -> None:
    harbour = tmp_path / "harbour"
    harbour.mkdir()
    make_picture(harbour / "ferry-stairs.tif", 400, 300)
    disk = small_disk(_DISK_MB)
    state = disk / "state"
    with visit(harbour, state) as page:
        lay_out(page, "ferry-stairs.tif")
        wish(page, "print.width", "70 mm")
        ready(page, also="Math.abs(view.sheet.picture.width - 70) < 0.2")
        draft = state / "bench" / "drafts" / view_of(page)["id"]
        kept = (draft / "ticket.toml").read_bytes()
        fill(disk / "ballast")
        wish(page, "print.width", "60 mm")
        ready(page, also="Math.abs(view.sheet.picture.width - 60) < 0.2")
        told = page.locator("#notes [role=alert]")
        expect(told).to_contain_text("The ticket could not be kept")
        expect(told).to_contain_text("lost when the bench ends")
        assert (draft / "ticket.toml").read_bytes() == kept
        assert sorted(path.name for path in draft.iterdir()) == ["draft.json", "ticket.toml"]
        page.get_by_role("tab", name="From where you stand").click()
        expect(page.locator(".caption")).to_contain_text("could not be kept in")
        expect(page.locator(".caption")).to_contain_text("Nothing is lost.")
        (disk / "ballast").unlink()
        page.get_by_role("tab", name="As it will look").click()
        page.get_by_role("tab", name="From where you stand").click()
        page.locator(".stage[data-kind=seen][data-settled=true]").wait_for()
        wish(page, "print.width", "65 mm")
        ready(page, also="Math.abs(view.sheet.picture.width - 65) < 0.2")
        expect(page.locator(".slips .slip")).to_have_count(0)
        assert "65" in (draft / "ticket.toml").read_text(encoding="utf-8")
