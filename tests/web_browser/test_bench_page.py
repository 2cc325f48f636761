"""The whole job in a real browser, on the real bench."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from on_the_page import Pages, look, ready, view_of, wish  # type: ignore[import-not-found]
from playwright.sync_api import expect


def test_a_typed_wish_changes_sentence_drawing_and_numbers_and_keeps_their_nodes(
    pages: Pages,
) -> None:
    page = pages("ferry-stairs.tif")
    page.evaluate("document.querySelector('.sentence').firstChild.mine = 1")
    page.evaluate("document.querySelector('[data-key=stock]').mine = 1")
    before = view_of(page)
    wish(page, "print.width", "7 in")
    view = ready(page, before["revision"])
    assert view["sheet"]["picture"]["width"] == pytest.approx(177.8, abs=0.1)
    expect(page.locator("[data-key='print.width'] input")).to_have_value("177.8 mm")
    assert view["sheet"]["width_words"] == "177.8 mm (7.0 in)"
    expect(page.locator("[data-measure=width] text")).to_have_text("177.8 mm (7.0 in)")
    assert view["plan_digest"] != before["plan_digest"]
    assert page.evaluate("document.querySelector('.sentence').firstChild.mine") == 1
    assert page.evaluate("document.querySelector('[data-key=stock]').mine") == 1


def test_a_slip_is_told_beside_the_word_and_changes_nothing(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    before = view_of(page)
    wish(page, "place.distance", "two ells")
    slip, field = page.locator(".slips .slip"), page.locator("[data-key='place.distance'] input")
    expect(slip).to_contain_text("two ells")
    expect(field).to_have_value("two ells")
    assert view_of(page)["plan_digest"] == before["plan_digest"]
    field.press("Escape")
    expect(slip).to_have_count(0)


def test_a_bare_number_is_taken_in_the_unit_that_stands_there_and_shown_with_it(
    pages: Pages,
) -> None:
    page = pages("ferry-stairs.tif")
    field = page.locator("[data-key='print.width'] input")
    wish(page, "print.width", "104")
    ready(page, also="Math.abs(view.sheet.picture.width - 104) < 0.2")
    wish(page, "print.width", "4 in")
    ready(page, also="Math.abs(view.sheet.picture.width - 101.6) < 0.2")
    wish(page, "print.width", "120,5")
    ready(page, also="Math.abs(view.sheet.picture.width - 120.5) < 0.2")
    field.blur()
    expect(field).to_have_value("120.5 mm")
    expect(page.locator(".slips .slip")).to_have_count(0)
    wish(page, "print.width", "-5")
    expect(page.locator(".slips .slip")).to_contain_text("is not a length")
    field.press("Escape")
    wish(page, "print.width", "fill")
    page.get_by_role("button", name="filling the sheet").wait_for()


def test_a_slip_stands_with_what_was_typed_when_news_comes(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    wish(page, "place.distance", "two ells")
    slip, field = page.locator(".slips .slip"), page.locator("[data-key='place.distance'] input")
    expect(slip).to_contain_text("two ells")
    page.evaluate("() => firstsheet.refresh()")  # as news makes it do
    expect(slip).to_contain_text("two ells")
    expect(field).to_have_value("two ells")
    field.press("Escape")
    page.evaluate("() => firstsheet.refresh()")
    expect(slip).to_have_count(0)


def test_what_is_typed_takes_the_place_of_what_stands_there_from_the_first_moment(
    pages: Pages,
) -> None:
    """Also before the page was drawn again, and also letter by letter."""
    page = pages("ferry-stairs.tif")
    wish(page, "place.light", "120 lux")
    ready(page, also="view.light.title === 'Under 120 lux'")
    field = page.locator("[data-key='place.light'] input")
    field.blur()
    expect(field).to_have_value("120 lux")
    typed = field.evaluate(
        """async (field) => {
          const type = (text) => document.execCommand('insertText', false, text);
          const frame = () => new Promise((done) => requestAnimationFrame(done));
          field.focus(); // what can be typed is shorter than what stood there: 120
          type('3');
          await frame();
          await frame();
          type('40');
          return field.value;
        }"""
    )
    assert typed == "340"
    field.press("Enter")
    ready(page, also="view.light.title === 'Under 340 lux'")
    page.evaluate(
        "() => { firstsheet.set({ 'place.light': '260 lux' }) }"
    )  # while it has the focus
    ready(page, also="view.light.title === 'Under 260 lux'")
    page.keyboard.insert_text("90")
    expect(field).to_have_value("90")


def test_a_choice_pressed_in_a_finding_changes_the_ticket_and_can_be_undone(
    pages: Pages,
) -> None:
    page = pages("ferry-stairs.tif")
    before = view_of(page)
    page.locator(".fine-findings summary").click()
    button = page.locator(".finding .act:not([data-goes])").first
    button.click()
    after = ready(page, before["revision"])
    assert after["plan_digest"] != before["plan_digest"]
    page.keyboard.press("Control+z")
    again = ready(page, after["revision"])
    assert again["plan_digest"] == before["plan_digest"]


def test_a_file_without_a_profile_asks_and_the_reading_is_chosen_by_eye(pages: Pages) -> None:
    page = pages("no-profile.tif")
    page.locator(".ask").wait_for()
    page.wait_for_function(
        "() => (all => all.length >= 3 && all.every(i => i.complete && i.naturalWidth > 50))"
        "([...document.querySelectorAll('.reading img')])"
    )
    before = view_of(page)
    page.get_by_role("button", name="Take: Display P3").click()
    after = ready(page, before["revision"])
    assert after["questions"][0]["chosen"] == "display-p3"
    taken = page.get_by_role("button", name="Take: Display P3")
    expect(taken).to_have_attribute("aria-pressed", "true")


def test_the_cut_is_moved_by_arrow_keys_within_its_shape(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    before = view_of(page)
    page.evaluate("() => { firstsheet.set({'crop.shape': '1:1'}) }")
    cut = ready(page, before["revision"])
    page.get_by_role("button", name=re.compile("What dragging")).click()
    page.get_by_role("option", name="the cut").click()
    page.locator(".stage[data-drags=crop]").focus()
    page.keyboard.press("Shift+ArrowRight")
    moved = ready(page, cut["revision"])
    share = 10.0 / (moved["sheet"]["picture"]["width"] / moved["sheet"]["crop"]["width"])
    gone = cut["sheet"]["crop"]["left"] - moved["sheet"]["crop"]["left"]
    assert gone == pytest.approx(share, abs=0.001)
    assert moved["sheet"]["crop"]["top"] == cut["sheet"]["crop"]["top"]


def test_each_way_to_look_shows_its_own_tiles(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    ways = {
        "As it will look": ("look", "proof"),
        "What is lost": ("loss", "loss"),
        "Up close": ("close", "print"),
        "From where you stand": ("stand", "seen"),
    }
    for name, (way, kind) in ways.items():
        look(page, name, way)
        page.locator(f".stage[data-kind={kind}][data-settled=true]").wait_for()
        sources = page.eval_on_selector_all("[data-layer=under] img", "l => l.map(i => i.src)")
        assert sources
        assert all(f"/{kind}/" in one for one in sources), name
    look(page, "What is lost", "loss")
    expect(page.locator(".bands li")).to_have_count(5)
    page.locator(".stage").click()
    expect(page.locator(".spot:not([hidden]):not(.waiting) p")).to_contain_text("ΔE00")


def test_holding_up_the_unsharpened_print_and_the_divider_show_the_other_tiles(
    pages: Pages,
) -> None:
    page = pages("ferry-stairs.tif")
    look(page, "Up close", "close")
    assert page.locator("[data-layer=over] img").count() == 0
    page.get_by_role("button", name="Divide").click()
    over = page.locator(".stage[data-settled=true] [data-layer=over] img")
    expect(over.first).to_have_attribute("src", re.compile("/print-unsharpened/"))
    divider = page.get_by_role("slider", name="Line between not sharpened and sharpened")
    before = divider.get_attribute("aria-valuenow") or ""
    assert before
    divider.focus()
    page.keyboard.press("ArrowRight")
    expect(divider).not_to_have_attribute("aria-valuenow", before)


def test_the_job_can_be_done_by_keyboard_alone(pages: Pages) -> None:
    page = pages("#/")
    page.keyboard.press("Tab")  # the way past the line at the top
    reached = []
    for _ in range(200):  # past every ticket on the table
        name = page.evaluate("document.activeElement.getAttribute('aria-label')") or ""
        reached.append(name)
        if name == "Picture or ticket":
            break
        page.keyboard.press("Tab")
    assert reached[-1] == "Picture or ticket", reached
    page.keyboard.type("pier")
    page.locator(".paths[data-answers=pier] li", has_text="pier-light").wait_for()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    before = ready(page, also="view.name === 'pier-light'")
    for _ in range(40):
        if (page.evaluate("document.activeElement.dataset.key") or "") == "stock":
            break
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.dataset.key") == "stock"
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    page.keyboard.press("ArrowDown")
    page.locator(".popup .option").first.wait_for()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    after = ready(page, before["revision"])
    stock = {one["key"]: one["value"] for one in after["sentence"]}["stock"]
    assert stock != {one["key"]: one["value"] for one in before["sentence"]}["stock"]
    expect(page.locator("[data-key=stock]")).to_be_focused()
    page.keyboard.press("Control+z")
    assert ready(page, after["revision"])["plan_digest"] == before["plan_digest"]


def test_arrow_keys_nudge_the_picture_by_a_millimetre(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    wish(page, "print.width", "150 mm")
    before = ready(page, also="Math.abs(view.sheet.picture.width - 150) < 0.2")
    handle = page.get_by_role("slider", name="Left border")
    handle.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    after = ready(page, before["revision"])
    moved = after["sheet"]["picture"]["left"] - before["sheet"]["picture"]["left"]
    assert moved == pytest.approx(3.0, abs=0.08)  # whole pixels of the print
    expect(page.locator("[data-measure=left] text")).to_have_text(after["sheet"]["border_texts"][3])


def test_news_in_the_middle_of_a_move_does_not_end_it(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    wish(page, "print.width", "140 mm")
    before = ready(page, also="Math.abs(view.sheet.picture.width - 140) < 0.2")
    page.evaluate("""() => {
      firstsheet.draftPage.looking.stage.nudge("left", [2, 0]);
      firstsheet.take({ ...firstsheet.view });
    }""")
    after = ready(page, before["revision"])
    moved = after["sheet"]["picture"]["left"] - before["sheet"]["picture"]["left"]
    assert moved == pytest.approx(2.0, abs=0.08)


def test_dragging_the_corner_changes_the_wish(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    wish(page, "print.width", "200 mm")
    before = ready(page, also="Math.abs(view.sheet.picture.width - 200) < 0.2")
    corner = page.locator("[data-handle=corner]").bounding_box()
    assert corner is not None
    x, y = corner["x"] + corner["width"] / 2, corner["y"] + corner["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 20, y - 10, steps=4)
    said = page.locator("[data-measure=width] text")
    expect(said).not_to_have_text(before["sheet"]["width_words"])
    page.locator(".stage[data-settled=true]").wait_for()
    live = said.text_content() or ""
    page.mouse.up()
    after = ready(page, before["revision"])
    width = after["sheet"]["picture"]["width"]
    assert width < before["sheet"]["picture"]["width"] - 5
    assert float(live.split()[0]) == pytest.approx(width, abs=0.15)


def test_two_tabs_follow_each_other(pages: Pages) -> None:
    one = pages("pier-light.tif")
    other = pages("pier-light.tif")
    revision = view_of(other)["revision"]
    wish(one, "place.light", "320")
    after = ready(other, revision)
    assert {part["key"]: part["text"] for part in after["sentence"]}["place.light"] == "320 lux"
    expect(other.locator("[data-key='place.light'] input")).to_have_value("320 lux")


def test_papers_sizes_and_numbers_unfold_and_a_size_can_be_chosen(pages: Pages) -> None:
    page = pages("pier-light.tif")
    page.get_by_role("button", name="Which paper suits it?").click()
    page.locator(".proof").nth(1).wait_for(timeout=60_000)
    page.get_by_role("button", name="How is each number worked out?").click()
    page.locator(".figure").first.wait_for()
    page.get_by_role("button", name="How large can it go?").click()
    page.locator(".sizes").wait_for()
    before = view_of(page)
    rows = page.locator(".sizes tbody tr:visible")
    expect(rows).to_have_count(9)
    page.get_by_role("button", name=re.compile(r"All \d+ sizes")).click()
    page.get_by_role("button", name="Choose: A5", exact=True).click()
    after = ready(page, before["revision"])
    assert after["sheet"]["name"] == "A5"
    # As the words above the table say: the whole picture, smaller than the row's, so finer.
    assert (after["sheet"]["crop"]["width"], after["sheet"]["crop"]["height"]) == (1, 1)
    row = page.locator(".sizes tr", has=page.get_by_role("button", name="Choose: A5", exact=True))
    told_ppi = float(row.locator("td").first.inner_text())
    assert 1300 / (after["sheet"]["picture"]["width"] / 25.4) > told_ppi


def test_a_dropped_file_is_streamed_in_and_laid_on_the_table(pages: Pages, folder: Path) -> None:
    page = pages("#/")
    with page.expect_request(re.compile("/api/upload")):
        page.set_input_files("input[type=file]", folder / "pier-light.tif")
    ready(page, also="view.name === 'pier-light'")
    expect(page).to_have_title(re.compile("pier-light"))


@pytest.mark.parametrize("size", [(390, 844), (720, 450)], ids=["narrow", "at 200 per cent"])
def test_nothing_runs_out_of_a_small_window(pages: Pages, size: tuple[int, int]) -> None:
    page = pages("ferry-stairs.tif", viewport={"width": size[0], "height": size[1]})
    page.get_by_role("button", name="more words").click()
    page.get_by_role("button", name="fewer words").wait_for()
    room = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert room[0] <= room[1]
    box = page.locator(".stage").bounding_box()
    assert box is not None
    assert box["height"] >= 250


@pytest.mark.parametrize("shade", ["light", "dark"])
def test_the_page_has_no_serious_fault_for_people_who_cannot_see_or_point(
    pages: Pages, shade: str
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = pages("ferry-stairs.tif", reduced_motion="reduce")
    page.evaluate("shade => firstsheetLight.keep('appearance', shade)", shade)
    page.get_by_role("button", name="more words").click()
    page.locator(".fine-findings summary").click()
    page.get_by_role("button", name="How large can it go?").click()
    page.locator(".answer:not(.older) .sizes").wait_for()
    if shade == "dark":  # only colours differ
        options = {"runOnly": ["color-contrast"]}
        assert _faults(Axe().run(page, options=options).response, "dark") == []
        return
    faults = _faults(Axe().run(page).response, "draft")
    for name, way in (("What is lost", "loss"), ("Up close", "close")):
        look(page, name, way)
        faults += _faults(Axe().run(page, context=".looking").response, name)
    page.get_by_role("button", name=re.compile("Paper and printer")).click()
    page.locator(".popup .option").first.wait_for()
    faults += _faults(Axe().run(page, context=".popup").response, "choice")
    page.keyboard.press("Escape")
    for where in ("#/stocks", "#/"):
        page.evaluate("where => { location.hash = where }", where)
        page.wait_for_function(
            "where => document.body.dataset.at === where", arg=where[2:] or "start"
        )
        faults += _faults(Axe().run(page).response, where)
    assert faults == []


def _faults(answer: Any, where: str) -> list[str]:
    return [
        f"{where}: {one['id']} {node['html'][:160]} {node['any'][:1]}"
        for one in answer["violations"]
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


def test_no_request_ever_leaves_this_computer(pages: Pages, opened: Any) -> None:
    page = pages("#/stocks")
    page.locator(".plot").first.wait_for()
    address, _, seen = opened
    assert len(seen) > 20
    own = (address, "chrome-extension://", "chrome://")  # the browser's built-in viewer of PDFs
    assert [one for one in seen if not one.startswith(own)] == []
