"""Making on the page: the numbers of what is made, stopping, several at once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import tifffile
from bench_process import make_picture  # type: ignore[import-not-found]
from on_the_page import Pages, ready, view_of, wish  # type: ignore[import-not-found]
from playwright.sync_api import expect


def test_what_is_made_has_the_numbers_the_page_shows(pages: Pages, folder: Path) -> None:
    make_picture(folder / "harbour-wall.tif", 600, 400)
    page = pages("harbour-wall.tif")
    lines = {"print.width": "90 mm", "print.sheet": "A6"}
    page.evaluate("lines => { firstsheet.set(lines) }", lines)
    ready(page, also="view.sheet.name === 'A6'")
    page.get_by_role("button", name="Make").click()
    page.locator(".result:not([hidden])").wait_for(timeout=60_000)
    view = view_of(page)
    names = page.eval_on_selector_all(".made a", "l => l.map(a => a.getAttribute('href'))")
    assert any(one.endswith("/job-sheet.pdf") for one in names)
    made = Path(view["folder"] if Path(view["folder"]).is_dir() else view["made"])
    assert folder in made.parents
    plan = json.loads((made / "plan.json").read_text(encoding="utf-8"))
    assert plan["digest"] == view["plan_digest"]
    assert plan["verdict"] == view["verdict"]
    sheet = view["sheet"]
    with tifffile.TiffFile(made / "print.tif") as file:
        tags = file.pages[0].tags
        ppi = tags["XResolution"].value[0] / tags["XResolution"].value[1]
        high, wide = file.pages[0].shape[:2]
    assert wide / ppi * 25.4 == pytest.approx(sheet["width_mm"], abs=0.01)
    assert high / ppi * 25.4 == pytest.approx(sheet["height_mm"], abs=0.01)
    said = page.locator("[data-measure=sheet-width] text").text_content() or ""
    assert float(said.split()[0]) == pytest.approx(wide / ppi * 25.4, abs=0.2)
    home = page.url.split("#")[0].rstrip("/")
    link = next(one for one in names if one.endswith("/print.tif"))
    answer = page.request.get(home + link)
    assert answer.body() == (made / "print.tif").read_bytes()
    assert answer.headers["x-frame-options"] == "DENY"
    page.get_by_role("button", name="Look at the job sheet").click()
    frame = page.locator("dialog iframe")
    expect(frame).to_be_visible()
    address = (frame.get_attribute("src") or "").partition("#")[0]
    shown = page.request.get(home + address)
    assert shown.body() == (made / "job-sheet.pdf").read_bytes()
    assert shown.headers["x-frame-options"] == "SAMEORIGIN"
    page.get_by_role("button", name="Close").click()
    expect(frame).to_have_count(0)


def test_making_can_be_stopped_and_leaves_nothing_half_made(pages: Pages, folder: Path) -> None:
    page = pages("pier-light.tif")
    before = view_of(page)
    lines = {"print.width": "", "print.sheet": "A0", "detail.allow-enlarge": "true"}
    page.evaluate("lines => { firstsheet.set(lines) }", lines)
    view = ready(page, before["revision"], "view.sheet.name === 'A0'")
    page.get_by_role("button", name="Make the print file").click()
    page.locator(".making .work:not([hidden])").get_by_role("button", name="Stop").click()
    said = page.locator(".making .slip:not([hidden])")
    expect(said).to_contain_text("Stopped. No file was left half made.")
    expect(page.get_by_role("button", name="Make the print file")).to_be_enabled()
    assert not Path(view["folder"]).exists()
    assert [one.name for one in folder.iterdir() if "part" in one.name.lower()] == []
    page.keyboard.press("Control+z")
    ready(page, view["revision"], "view.sheet.name !== 'A0'")


def test_one_ticket_that_cannot_be_made_does_not_stop_the_rest(pages: Pages, folder: Path) -> None:
    sizes = {"breakwater": "4000 mm", "sail-loft": "80 mm"}  # on A6: only one of them fits
    ids, made = {}, {}
    for name, size in sizes.items():
        make_picture(folder / f"{name}.tif", 240, 160)
        page = pages(f"{name}.tif")
        lines = {"print.width": size, "print.sheet": "A6"}
        page.evaluate("lines => { firstsheet.set(lines) }", lines)
        view = ready(page, also=f"view.sentence.some(one => one.value === '{size}')")
        ids[name], made[name] = view["id"], Path(view["folder"])
        page.context.close()
    page = pages("#/")
    page.locator(".recent li").first.wait_for()
    # Only these two: what other tests left on the table is not made again.
    page.evaluate("ids => { firstsheet.startPage.ids = ids }", list(ids.values()))
    tick = page.get_by_role("checkbox", name="Tick sail-loft, to make it with others")
    tick.check(force=True)  # the box is drawn by the page, over the browser's own
    page.get_by_role("button", name="Make the one ticked").wait_for()
    assert page.evaluate("firstsheet.startPage.wanted") == [ids["sail-loft"]]
    tick.uncheck(force=True)
    page.get_by_role("button", name="Make all").click()
    words, parts = page.locator(".before .doing"), page.locator(".made-all li")
    expect(words).to_contain_text("1 of 2 made, 1 could not be.", timeout=90_000)
    expect(parts).to_have_count(2)
    expect(parts.filter(has_text="breakwater")).to_contain_text("sheet")
    expect(parts.filter(has_text="sail-loft")).to_contain_text("Made in")
    assert (made["sail-loft"] / "print.tif").is_file()
    assert not made["breakwater"].exists()
    first = (made["sail-loft"] / "print.tif").stat().st_mtime_ns
    page.evaluate("ids => { firstsheet.startPage.ids = ids }", list(ids.values()))
    page.get_by_role("button", name="Make all").click()
    expect(words).to_contain_text("0 of 2 made", timeout=90_000)
    assert (made["sail-loft"] / "print.tif").stat().st_mtime_ns == first
    page.get_by_role("button", name="Replace what was made before").click()
    expect(words).to_contain_text("1 of 1 made", timeout=90_000)
    assert (made["sail-loft"] / "print.tif").stat().st_mtime_ns > first


def test_a_print_of_another_wish_is_not_replaced_unasked_and_can_lie_beside(
    pages: Pages, folder: Path
) -> None:
    make_picture(folder / "net-store.tif", 300, 200)
    page = pages("net-store.tif")
    wish(page, "print.width", "40 mm")
    ready(page, also="view.sheet.picture.width < 41")
    result, making = page.locator(".result:not([hidden])"), page.locator(".making")
    page.get_by_role("button", name="Make the print file").click()
    result.wait_for(timeout=90_000)
    first = folder / "net-store-chalk-matte" / "print.tif"
    stamp = first.stat().st_mtime_ns
    page.get_by_role("button", name="Look at the job sheet").click()
    page.locator("dialog iframe").wait_for()
    page.keyboard.press("Escape")
    expect(page.locator("dialog")).to_have_count(0)
    wish(page, "print.width", "50 mm")
    ready(page, also="view.sheet.picture.width > 49")
    expect(making).to_contain_text("That print was made of an earlier wish.")
    page.get_by_role("button", name="Make the print file").click()
    expect(making.get_by_role("alert")).to_contain_text("already holds an earlier print")
    assert first.stat().st_mtime_ns == stamp
    page.get_by_role("button", name="Keep it, and make this one beside it").click()
    expect(result).to_contain_text("net-store-chalk-matte-2", timeout=90_000)
    assert (folder / "net-store-chalk-matte-2" / "print.tif").is_file()
    assert first.stat().st_mtime_ns == stamp
    page.reload()
    page.wait_for_selector("body.there")
    expect(result).to_contain_text("net-store-chalk-matte-2")  # of this very plan
    page.get_by_role("button", name="Make it again").click()
    expect(making.get_by_role("status")).to_be_hidden(timeout=90_000)
    assert first.stat().st_mtime_ns == stamp


def test_what_is_being_made_is_followed_on_a_page_that_comes_later(
    pages: Pages, folder: Path
) -> None:
    make_picture(folder / "long-mole.tif", 1300, 870)
    page = pages("long-mole.tif")
    where = page.evaluate("location.hash")
    page.evaluate("() => { firstsheet.set({ 'print.width': '1 m', 'print.sheet': 'A0' }) }")
    ready(page, also="view.sheet.picture.width > 990")
    page.get_by_role("button", name="Make the print file").click()
    page.locator(".work:not([hidden])").wait_for()
    other = pages(where)
    other.locator(".making .work:not([hidden]), .result:not([hidden])").first.wait_for()
    other.locator(".result:not([hidden])").wait_for(timeout=90_000)
    expect(other.locator(".result .made-words")).to_contain_text("long-mole-chalk-matte")
