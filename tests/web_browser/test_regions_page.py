"""Places that lose something: outlined on the sheet, told beside it, tied by keyboard."""

from __future__ import annotations

import math

from on_the_page import Pages, look  # type: ignore[import-not-found]
from playwright.sync_api import expect


def test_lost_places_are_outlined_and_told_and_the_keyboard_ties_them(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    look(page, "What is lost", "loss")
    section = page.get_by_role("region", name="Visible losses by area")
    expect(section).to_be_visible()
    places, lines = section.locator("button.region"), page.locator(".region-line")
    expect(places.first).to_be_visible()
    assert places.count() == lines.count() >= 1
    expect(lines.first.locator(".tag text")).to_have_text("1")
    box, sheet = lines.first.locator(".line").bounding_box(), page.locator(".stage").bounding_box()
    assert box is not None
    assert sheet is not None
    assert box["width"] > 5
    assert sheet["x"] <= box["x"] <= sheet["x"] + sheet["width"]

    places.first.focus()
    expect(lines.first).to_have_class("region-line caution pointed")
    expect(places.first).to_have_class("region pointed")
    page.keyboard.press("Enter")
    expect(places.first).to_have_attribute("aria-pressed", "true")
    page.evaluate("document.activeElement.blur()")
    expect(lines.first).to_have_class("region-line caution pointed")  # kept until pressed again

    look(page, "As it will look", "look")
    expect(section).to_be_hidden()
    expect(lines.first).to_be_hidden()


def test_a_narrow_window_shows_the_list_whole(pages: Pages) -> None:
    page = pages("ferry-stairs.tif", viewport={"width": 390, "height": 844})
    look(page, "What is lost", "loss")
    expect(page.locator("button.region").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_numbers_of_places_that_lie_together_stand_side_by_side(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    look(page, "What is lost", "loss")
    expect(page.locator(".region-line").first).to_be_visible()
    places = page.evaluate(
        """() => {
          const { regions } = firstsheet.draftPage.looking;
          const one = regions.found[0];
          regions.found = [1, 2, 3].map((n) => ({ ...one, number: n, number_at: [20, 20 + n] }));
          regions.drawLines();
          regions.place(true);
          return [...regions.lines.querySelectorAll('.tag')].map((tag) => {
            const { e, f } = tag.transform.baseVal.consolidate().matrix;
            return [e, f];
          });
        }"""
    )
    assert len(places) == 3
    for n, one in enumerate(places):
        for other in places[:n]:
            assert math.dist(one, other) >= 21  # a number is 21 px across
