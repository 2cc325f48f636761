"""Bad luck on the page: each ends in a clear sentence, and nothing is lost."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from bench_process import make_picture, serving  # type: ignore[import-not-found]
from on_the_page import Pages, lay_out, ready, view_of, wish  # type: ignore[import-not-found]
from playwright.sync_api import expect

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


class _Told(list[str]):
    """Problems of a page, without the refusals that these tests bring about."""

    def append(self, line: str) -> None:
        if "Failed to load resource" not in line:
            super().append(line)


@pytest.fixture
def problems() -> list[str]:
    """What else goes wrong in a page."""
    return _Told()


# ---- files -------------------------------------------------------------------------------------


def test_a_truncated_scan_ends_in_a_clear_sentence(pages: Pages, folder: Path) -> None:
    whole = (folder / "ferry-stairs.tif").read_bytes()
    (folder / "cut-short.tif").write_bytes(whole[: len(whole) // 2])
    page = pages("#/")
    page.get_by_role("combobox", name="Picture or ticket").fill("cut-short.tif")
    page.keyboard.press("Enter")
    failed = page.locator(".failed:not([hidden])")
    expect(failed.get_by_role("heading")).to_have_text(re.compile(r"\d.*\.$"))
    said = failed.text_content() or ""
    assert re.search(r"cut short|missing|ends|shorter|broken|damaged", said), said
    assert "Traceback" not in said
    expect(failed.get_by_role("link", name="All tickets")).to_be_visible()
    expect(page.get_by_role("button", name="Make the print file")).to_be_hidden()


def test_a_picture_that_is_gone_says_so_and_comes_back(pages: Pages, folder: Path) -> None:
    make_picture(folder / "net-loft.tif", 300, 200)
    page = pages("net-loft.tif")
    wish(page, "print.width", "90 mm")
    before = ready(page, also="Math.abs(view.sheet.picture.width - 90) < 0.2")
    (folder / "net-loft.tif").rename(folder / "elsewhere.tif")
    page.get_by_role("button", name="Make the print file").click()
    slip = page.locator(".making .slip:not([hidden])")
    expect(slip).to_contain_text("net-loft.tif", timeout=60_000)
    expect(slip.locator("em")).not_to_be_empty()
    assert not (folder / "net-loft" / "print.tif").exists()
    (folder / "elsewhere.tif").rename(folder / "net-loft.tif")
    page.reload()
    page.wait_for_selector("body.there")
    after = ready(page, also="view.name === 'net-loft'")
    assert after["plan_digest"] == before["plan_digest"]


def test_a_picture_that_changed_meanwhile_is_not_printed_by_an_old_plan(
    pages: Pages, folder: Path
) -> None:
    make_picture(folder / "tide-gauge.tif", 300, 200)
    page = pages("tide-gauge.tif")
    make_picture(folder / "tide-gauge.tif", 200, 300)
    later = (folder / "tide-gauge.tif").stat().st_mtime + 5
    os.utime(folder / "tide-gauge.tif", (later, later))
    page.get_by_role("button", name="Make the print file").click()
    told = page.locator(".making .slip:not([hidden]), #notes .note, .failed:not([hidden])")
    expect(told.first).to_contain_text("is not the file that was planned", timeout=60_000)
    page.reload()
    page.wait_for_selector("body.there")
    view = ready(page, also="view.name === 'tide-gauge'")
    assert view["picture_px"] == [200, 300]


def test_bringing_a_file_in_can_be_stopped_and_nothing_of_it_is_kept(
    pages: Pages, tmp_path: Path
) -> None:
    (tmp_path / "long-quay.tif").write_bytes(bytes(3_000_000))
    page = pages("#/")
    line = page.context.new_cdp_session(page)
    line.send("Network.enable")
    slow = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": 40_000}
    line.send("Network.emulateNetworkConditions", slow)
    page.set_input_files("input[type=file]", tmp_path / "long-quay.tif")
    sheet = page.locator(".bare-sheet")
    expect(sheet).to_contain_text("Bringing long-quay.tif")
    sheet.get_by_role("button", name="Stop").click()
    expect(page.locator(".start .slip:not([hidden])")).to_contain_text("Stopped. Nothing was kept.")
    expect(sheet).to_contain_text("Drop a picture on the sheet")
    expect(sheet.get_by_role("button", name="Stop")).to_be_hidden()
    expect(page.locator(".recent")).not_to_contain_text("long-quay")


# ---- stocks ------------------------------------------------------------------------------------


def _add_stock(page: Page, profile: Path, name: str, title: str) -> None:
    page.get_by_role("button", name="Add a stock").click()
    form = page.locator("dialog form")
    form.locator("input[type=file]").set_input_files(profile)
    form.get_by_label("Short name, for tickets").fill(name)
    form.get_by_label("Name as you call it").fill(title)
    form.get_by_label("Unprintable edge").fill("4 mm")
    form.get_by_role("button", name="Keep").click()
    expect(page.locator(".stock-title")).to_contain_text(title)


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    """A paper's profile as a file."""
    from firstsheet.store.stocks import get_stock, stock_profile_bytes

    path = tmp_path / "quay-satin.icc"
    path.write_bytes(stock_profile_bytes(get_stock("harbour-gloss")))
    return path


def test_a_paper_is_added_its_margins_and_notes_changed_and_it_can_go(
    pages: Pages, profile: Path
) -> None:
    page = pages("#/stocks")
    page.locator(".stock-list li").first.wait_for()
    _add_stock(page, profile, "quay-satin", "Quay Satin 240")
    below = page.locator(".stock-title + *")
    expect(below).to_contain_text("What it can show")  # nothing stands between
    expect(page.locator(".stock-detail")).not_to_contain_text("false")
    edit = page.locator("form.edit")
    margins = edit.get_by_label("Unprintable edge")
    expect(margins).to_have_value("4 mm, 4 mm, 4 mm, 4 mm")
    margins.fill("3 mm, 3 mm, 14 mm, 3 mm")
    edit.get_by_label("Notes").fill("Second drawer, blue box.")
    edit.get_by_role("button", name="Keep").click()
    expect(page.locator("#notes")).to_contain_text("Kept.")
    page.reload()
    page.wait_for_selector("body.there")
    expect(margins).to_have_value("3 mm, 3 mm, 14 mm, 3 mm")
    expect(edit.get_by_label("Notes")).to_have_value("Second drawer, blue box.")
    margins.fill("a hand's width")
    edit.get_by_role("button", name="Keep").click()
    expect(page.locator("#notes [role=alert]")).to_contain_text("“a” is not a length")
    edit.get_by_role("button", name="Take it away").click()
    page.get_by_role("button", name="Yes, take it away").click()
    expect(page.locator(".stock-list")).not_to_contain_text("Quay Satin 240")


def test_a_stock_s_name_that_is_taken_can_be_replaced_where_it_is_told(
    pages: Pages, profile: Path
) -> None:
    page = pages("#/stocks")
    page.locator(".stock-list li").first.wait_for()
    _add_stock(page, profile, "quay-twice", "Once")
    page.get_by_role("button", name="Add a stock").click()
    form = page.locator("dialog form")
    form.get_by_role("button", name="Keep").click()
    expect(form.get_by_role("alert")).to_contain_text("No profile was chosen yet.")
    form.locator("input[type=file]").set_input_files(profile)
    expect(form.get_by_role("status")).to_have_text("quay-satin.icc")
    form.get_by_label("Short name, for tickets").fill("quay-twice")
    form.get_by_label("Name as you call it").fill("Twice")
    form.get_by_role("button", name="Keep").click()
    expect(form.get_by_role("alert")).to_contain_text("is there already")
    form.get_by_role("button", name="Replace the one that is there").click()
    expect(page.locator(".stock-title")).to_contain_text("Twice")
    expect(page.locator(".stock-list")).not_to_contain_text("Once")


def test_a_paper_taken_away_while_in_use_is_told_and_another_can_be_taken(
    pages: Pages, profile: Path, folder: Path
) -> None:
    make_picture(folder / "slip-hook.tif", 300, 200)
    papers = pages("#/stocks")
    papers.locator(".stock-list li").first.wait_for()
    _add_stock(papers, profile, "quay-lost", "Lost Satin 200")
    page = pages("slip-hook.tif")
    before = view_of(page)
    page.evaluate("() => { firstsheet.set({ stock: 'quay-lost' }) }")
    ready(page, before["revision"], "view.sentence.some(one => one.value === 'quay-lost')")
    papers.locator("form.edit").get_by_role("button", name="Take it away").click()
    papers.get_by_role("button", name="Yes, take it away").click()
    expect(papers.locator(".stock-list")).not_to_contain_text("Lost Satin 200")
    page.reload()
    page.wait_for_selector("body.there")
    expect(page.locator(".failed:not([hidden])")).to_contain_text("quay-lost")
    page.get_by_role("button", name=re.compile("Paper and printer")).click()
    page.get_by_role("option", name="Chalk Matte 310").click()
    after = ready(page, also="view.sentence.some(one => one.value === 'chalk-matte')")
    expect(page.locator(".failed")).to_be_hidden()
    assert after["sheet"]["width_mm"] > 0


# ---- tabs and servers --------------------------------------------------------------------------


def test_the_same_word_changed_on_two_pages_keeps_the_first_and_says_so(pages: Pages) -> None:
    one = pages("pier-light.tif")
    other = pages("pier-light.tif")
    revision = view_of(other)["revision"]
    other.route("**/api/events", lambda route: route.abort())
    other.evaluate("() => firstsheet.source.close()")  # this page hears nothing any more
    wish(one, "place.light", "260")
    ready(one, revision, "view.sentence.some(part => part.text === '260 lux')")
    wish(other, "place.light", "90")
    expect(other.locator(".slips .slip")).to_contain_text("changed on another page")
    told = one.evaluate("id => fetch(`/api/draft/${id}`).then(a => a.json())", view_of(one)["id"])
    assert {part["key"]: part["text"] for part in told["sentence"]}["place.light"] == "260 lux"


def test_a_ticket_taken_away_on_another_page_is_told(pages: Pages, folder: Path) -> None:
    make_picture(folder / "rope-walk.tif", 240, 160)
    page = pages("rope-walk.tif")
    page.evaluate(
        "id => fetch(`/api/draft/${id}`, { method: 'DELETE', headers: { 'X-Firstsheet': '1' } })",
        view_of(page)["id"],
    )
    wish(page, "place.light", "120")
    expect(page.locator("#notes")).to_contain_text("no longer in the list")


@pytest.fixture
def own_bench(browser: Browser, tmp_path: Path) -> Iterator[Any]:
    """Start benches on one state, one after the other, and open pages on them."""
    make_picture(tmp_path / "ferry-stairs.tif", 400, 300)
    contexts = []

    def start() -> Any:
        return serving(tmp_path, tmp_path / "state", tmp_path / "stocks")

    def visit(address: str) -> Page:
        context = browser.new_context(viewport={"width": 1024, "height": 700})
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(30_000)
        page.goto(address)
        page.wait_for_selector("body.there")
        return page

    yield start, visit
    for context in contexts:
        context.close()


def test_a_killed_bench_is_told_and_the_next_one_has_everything(own_bench: Any) -> None:
    start, visit = own_bench
    with start() as bench:
        page = visit(bench.address)
        lay_out(page, "ferry-stairs.tif")
        wish(page, "print.width", "123 mm")
        ready(page, also="Math.abs(view.sheet.picture.width - 123) < 0.2")
        wish(page, "place.light", "260")
        before = ready(page, also="view.sentence.some(one => one.text === '260 lux')")
        bench.process.kill()
        bench.process.wait(20)
        expect(page.locator("#notes")).to_contain_text("The bench does not answer.")
        expect(page.locator("#notes")).to_contain_text("Nothing is lost")
    with start() as bench:
        page = visit(bench.address)
        ticket = page.get_by_role("link", name=re.compile("ferry-stairs"))
        expect(ticket.locator("img")).to_be_visible()
        ticket.click()
        after = ready(page, also="view.name === 'ferry-stairs'")
        assert after["plan_digest"] == before["plan_digest"]
        assert after["sentence"] == before["sentence"]
        page.keyboard.press("Control+z")
        ready(page, after["revision"], "view.sentence.some(one => one.text === '500 lux')")
