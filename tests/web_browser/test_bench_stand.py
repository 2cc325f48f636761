"""From where you stand, and the ink up close: what is shown, how large, and in what words."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest
from on_the_page import Pages, look, ready, view_of, wish  # type: ignore[import-not-found]
from playwright.sync_api import Route, expect

if TYPE_CHECKING:
    from playwright.sync_api import Page

SCREEN = {"px_per_mm": 4.0, "away_mm": 600}  # as a card held to the screen would say


def stand(page: Page, screen: dict[str, float] = SCREEN) -> None:
    """Take the way to look, the screen's size being known or not."""
    page.evaluate("screen => firstsheet.draftPage.looking.screenSet(screen)", screen)
    page.get_by_role("tab", name="From where you stand").click()


def shown(page: Page, kind: str) -> str:
    """Wait until only tiles of a kind lie on the stage; gives one's address."""
    page.locator(f".stage[data-kind='{kind}'][data-settled=true]").wait_for(
        timeout=90_000  # looks are made one after the other
    )
    sources: list[str] = page.eval_on_selector_all(
        "[data-layer=under] img", "l => l.map(i => i.src)"
    )
    assert sources
    assert all(f"/{kind}/" in one for one in sources)
    return sources[0]


def sheet_px(page: Page) -> float:
    box = page.locator(".sheet").bounding_box()
    assert box is not None
    return box["width"]


def test_at_the_angle_of_the_print_ink_is_shown_and_the_eye_left_to_the_person(
    pages: Pages,
) -> None:
    page = pages("ferry-stairs.tif")
    wish(page, "place.distance", "1.5 m")
    view = ready(page, also="view.sheet.distance_mm === 1500")
    stand(page)
    shown(page, "inked")
    caption = page.locator(".caption")
    expect(caption).to_contain_text(view["seen"]["ink"])
    expect(caption).to_contain_text("your own eye takes away here")
    # 4 px/mm from 60 cm are 41.9 pixels in a degree, fewer than the 60 of 30 line pairs.
    expect(caption).to_contain_text("crisper than this screen's pixels can show")
    wide = view["sheet"]["width_mm"] * SCREEN["px_per_mm"] * 600 / 1500  # similar triangles
    assert sheet_px(page) == pytest.approx(wide, abs=1.5)
    page.get_by_role("button", name="What the eye takes in").click()
    shown(page, "seen")
    expect(caption).to_contain_text(re.compile(r"What an eye takes in from 1\.5\sm, with ink"))
    expect(caption).to_contain_text(re.compile(r"Drawn (?:[2-9]|\d\d)\.\d times as large"))
    page.get_by_role("button", name="What the eye takes in").click()
    shown(page, "inked")
    assert sheet_px(page) == pytest.approx(wide, abs=1.5)
    page.locator(".stage").focus()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowLeft")  # it is smaller than the window, so it lies still
    page.locator(".stage[data-settled=true]").wait_for()
    assert sheet_px(page) == pytest.approx(wide, abs=1.5)


def test_between_the_true_angle_and_twice_of_it_lies_one_step(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    wish(page, "place.distance", "3 m")
    view = ready(page, also="view.sheet.distance_mm === 3000")
    stand(page)
    shown(page, "inked")
    wide = view["sheet"]["width_mm"] * SCREEN["px_per_mm"] * 600 / 3000
    caption, eye = (
        page.locator(".caption"),
        page.get_by_role("button", name="What the eye takes in"),
    )
    nearer = page.get_by_role("button", name="Nearer")
    farther = page.get_by_role("button", name="Farther")
    expect(caption).to_contain_text("One step nearer draws twice as large")
    expect(farther).to_be_disabled()
    nearer.click()
    shown(page, "seen")
    assert sheet_px(page) == pytest.approx(2 * wide, abs=2)
    expect(eye).to_have_attribute("aria-pressed", "true")
    expect(caption).to_contain_text("Drawn 2.0 times as large")
    expect(caption).to_contain_text("One step farther is the true size.")
    nearer.click()
    page.locator(".stage[data-settled=true]").wait_for()
    expect(caption).not_to_contain_text("One step farther")
    page.locator(".stage").focus()
    for kind in ("seen", "inked"):  # to the least, then to the true angle, and no farther
        page.keyboard.press("-")
        shown(page, kind)
    page.keyboard.press("-")
    page.locator(".stage[data-settled=true]").wait_for()
    assert sheet_px(page) == pytest.approx(wide, abs=1.5)
    expect(eye).to_have_attribute("aria-pressed", "false")


def test_a_sheet_larger_than_the_window_can_be_dragged_at_its_true_angle(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    wish(page, "place.distance", "20 cm")
    ready(page, also="view.sheet.distance_mm === 200")
    stand(page)
    shown(page, "inked")
    expect(page.locator(".caption")).to_contain_text("drag to see the rest")
    before = page.locator(".sheet").bounding_box()
    page.locator(".stage").focus()
    page.keyboard.press("ArrowRight")
    page.locator(".stage[data-settled=true]").wait_for()
    after = page.locator(".sheet").bounding_box()
    assert before is not None
    assert after is not None
    assert before["x"] - after["x"] == pytest.approx(48, abs=1.5)
    assert after["width"] == pytest.approx(before["width"], abs=0.5)
    stage = page.locator(".stage").bounding_box()
    assert stage is not None
    x, y = stage["x"] + stage["width"] / 2, stage["y"] + stage["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y, steps=4)
    page.mouse.up()
    page.locator(".stage[data-settled=true]").wait_for()
    dragged = page.locator(".sheet").bounding_box()
    assert dragged is not None
    assert dragged["x"] - after["x"] == pytest.approx(30, abs=6)  # less the first few of a tap


def test_a_fine_screen_is_not_called_coarse(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    stand(page, {"px_per_mm": 6.0, "away_mm": 600})  # 62.8 pixels in a degree
    shown(page, "inked")
    expect(page.locator(".caption")).to_contain_text("your own eye takes away here")
    expect(page.locator(".caption")).not_to_contain_text("crisper")


def test_on_a_screen_of_unknown_size_what_the_eye_takes_in_is_shown(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    stand(page, {})
    shown(page, "seen")
    expect(page.locator(".caption")).to_contain_text("depends on your screen. What an eye takes in")
    expect(page.get_by_role("button", name="What the eye takes in")).to_be_hidden()


def test_it_is_said_while_it_is_made_and_a_new_plan_makes_it_again(pages: Pages) -> None:
    page = pages("pier-light.tif")
    asked = []

    def slowly(route: Route) -> None:
        asked.append(route.request.url)
        still = {"state": "making", "share": 0.4, "ink": "ink", "error": None}
        route.fulfill(content_type="application/json", body=json.dumps(still))

    page.route("**/seen", slowly)
    wish(page, "place.distance", "90 cm")
    ready(page, also="view.sheet.distance_mm === 900")
    assert asked == []  # not before it is looked at
    stand(page)
    shown(page, "proof")
    expect(page.locator(".caption")).to_contain_text(
        "is being made (40 %). Until then this is the soft proof, without ink spread."
    )
    assert asked
    page.unroute("**/seen")
    page.evaluate("firstsheet.refresh()")  # the server knows better
    first = shown(page, "inked")
    wish(page, "place.distance", "1.2 m")
    view = ready(page, also="view.sheet.distance_mm === 1200")
    page.wait_for_function("() => firstsheet.view.seen.state === 'ready'")
    assert shown(page, "inked") != first
    wide = view["sheet"]["width_mm"] * SCREEN["px_per_mm"] * 600 / 1200
    assert sheet_px(page) == pytest.approx(wide, abs=1.5)


def test_up_close_the_ink_can_be_seen_on_both_sides_of_the_line(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    look(page, "Up close", "close")
    shown(page, "print")
    button = page.get_by_role("button", name="With ink spread")
    button.click()
    expect(button).to_have_attribute("aria-pressed", "true")
    shown(page, "print-inked")
    ink = view_of(page)["seen"]["ink"]
    expect(page.locator(".caption")).to_have_text(
        f"Pixel for pixel, with {ink}, until a print was measured."
    )
    page.get_by_role("button", name="Divide").click()
    over = page.locator("[data-layer=over] img").first
    expect(over).to_have_attribute("src", re.compile("/print-unsharpened-inked/"))
    page.locator(".stage[data-settled=true]").wait_for()
    page.get_by_role("button", name="Whole sheet").click()
    expect(page.locator(".caption")).to_contain_text("Come nearer to see the ink spread")
    button.click()
    shown(page, "print")
    expect(page.locator(".caption")).not_to_contain_text("ink")
