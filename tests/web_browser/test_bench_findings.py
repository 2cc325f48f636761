"""What was found, on the page: buttons that change the ticket, numbers that show their way."""

from __future__ import annotations

import io
import struct
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import tifffile
from bench_process import make_picture  # type: ignore[import-not-found]
from on_the_page import Pages, look, ready, view_of, wish  # type: ignore[import-not-found]
from PIL import Image
from playwright.sync_api import Locator, expect

if TYPE_CHECKING:
    from playwright.sync_api import Page


def _finding(page: Page, code: str) -> Locator:
    """A finding's slip, unfolded where it lies among the fine ones."""
    slip = page.locator(f".finding[data-code='{code}']")
    slip.wait_for(state="attached")
    if not slip.is_visible():
        page.locator(".fine-findings summary").click()
    slip.wait_for()
    return slip


def _exif_with_preview(preview: bytes) -> bytes:
    """Exif with a quarter turn, and a preview in its second directory (Exif 2.32, 4.5)."""
    first = struct.pack("<HHHIHHI", 1, 274, 3, 1, 6, 0, 26)  # orientation 6; the next one at 26
    entries = [(259, 3, 6), (513, 4, 26 + 2 + 3 * 12 + 4), (514, 4, len(preview))]
    second = struct.pack("<H", len(entries))
    second += b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in entries)
    return b"Exif\0\0II*\0" + struct.pack("<I", 8) + first + second + bytes(4) + preview


def _jpeg(width_px: int, height_px: int, **words: Any) -> bytes:
    slope = np.linspace(40, 220, width_px, dtype=np.uint8)[None, :, None]
    out = io.BytesIO()
    image = Image.fromarray(np.tile(slope, (height_px, 1, 3)))
    image.save(out, "JPEG", quality=95, **words)
    return out.getvalue()


def test_the_intent_that_loses_less_is_taken_by_its_button(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    before = view_of(page)
    page.evaluate("() => { firstsheet.set({'colour.intent': 'absolute'}) }")
    view = ready(page, before["revision"])
    slip = _finding(page, "other-intent-better")
    found = next(one for one in view["findings"] if one["code"] == "other-intent-better")
    wanted = found["choices"][0]["changes"]["colour.intent"]
    slip.get_by_role("button", name=f"Use {wanted}.").click()
    after = ready(page, view["revision"])
    said = {one["key"]: one["value"] for one in after["sentence"]}
    assert said["colour.intent"] == wanted != "absolute"
    expect(page.locator(".finding[data-code='other-intent-better']")).to_have_count(0)


def test_values_beyond_white_are_asked_about_and_the_other_way_is_a_button(
    pages: Pages, folder: Path
) -> None:
    """A floating-point file that is brighter than 1 in a corner."""
    from firstsheet.cms.build import space_profile

    codes = np.full((300, 400, 3), 0.4, np.float32)
    codes[:80, :80] = 1.7
    tag = [(34675, "B", None, space_profile("srgb"), True)]
    tifffile.imwrite(folder / "beacon.tif", codes, photometric="rgb", extratags=tag)
    page = pages("#/")
    page.get_by_role("combobox", name="Picture or ticket").fill("beacon.tif")
    page.keyboard.press("Enter")
    page.locator(".ask").wait_for()
    expect(page.locator(".reading")).to_have_count(2)
    page.locator(".reading").first.click()
    view = ready(page)
    slip = _finding(page, "float-over-one")
    before = slip.locator(".then").text_content() or ""
    slip.locator(".act").click()
    after = ready(page, view["revision"])
    assert after["plan_digest"] != view["plan_digest"]
    expect(_finding(page, "float-over-one").locator(".then")).not_to_have_text(before)


def test_a_turn_that_is_in_doubt_can_be_taken_back(pages: Pages, folder: Path) -> None:
    from firstsheet.cms.build import space_profile

    exif = _exif_with_preview(_jpeg(80, 120))
    turned = _jpeg(900, 600, exif=exif, icc_profile=space_profile("srgb"))
    (folder / "slipway.jpg").write_bytes(turned)
    page = pages("slipway.jpg")
    view = view_of(page)
    assert view["picture_px"] == [600, 900]
    slip = _finding(page, "orientation-conflict")
    slip.get_by_role("button", name="Ignore the flag.").click()
    after = ready(page, view["revision"])
    assert after["picture_px"] == [900, 600]


def test_a_number_opens_its_formula_its_inputs_and_its_source(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    slip = _finding(page, "light-at-place")
    view = view_of(page)
    luminance = next(one for one in view["figures"] if one["key"] == "paper-luminance")
    number = slip.locator(".number[data-key='paper-luminance']").last
    expect(number).to_have_attribute("aria-expanded", "false")
    number.click()
    how = slip.locator(".how")
    expect(how).to_contain_text(luminance["how"]["formula"])
    expect(how).to_contain_text("reflectance ρ")
    expect(how).to_contain_text(luminance["how"]["source"])
    # E ρ / π of a Lambertian surface, from the inputs as they are shown.
    inputs = {one["name"]: one["number"] for one in luminance["how"]["inputs"]}
    light, share = inputs.values()
    assert luminance["number"] == pytest.approx(light * share / np.pi, abs=0.01)
    number.press("Escape")
    expect(how).to_be_hidden()


def test_the_loss_map_and_the_papers_are_gone_to_from_the_finding(pages: Pages) -> None:
    page = pages("ferry-stairs.tif")
    page.locator(".finding .act[data-goes=loss]").first.click()
    page.locator(".stage[data-shows=loss][data-settled=true]").wait_for()
    page.wait_for_function("() => document.activeElement.id === 'way-loss'")
    page.locator(".finding .act[data-goes=compare]").first.click()
    papers = page.get_by_role("button", name="Which paper suits it?")
    expect(papers).to_have_attribute("aria-expanded", "true")
    page.wait_for_function("() => document.activeElement.textContent === 'Which paper suits it?'")


def test_the_print_is_shown_under_the_light_of_its_place(pages: Pages) -> None:
    page = pages("pier-light.tif")
    wish(page, "place.light", "100 lux")
    ready(page, also="view.light.title === 'Under 100 lux'")
    look(page, "As it will look", "look")
    bright = page.evaluate("getComputedStyle(document.querySelector('.sheet')).backgroundColor")
    page.get_by_role("button", name="Under 100 lux").click()
    page.locator(".stage[data-lit=true][data-settled=true]").wait_for()
    sources = page.eval_on_selector_all("[data-layer=under] img", "l => l.map(i => i.src)")
    assert sources
    assert all("/lit/" in one for one in sources)
    expect(page.locator(".caption")).to_contain_text("In 100 lux this paper's white gives")
    expect(page.locator(".sheet")).not_to_have_css("background-color", bright)
    wish(page, "place.light", "2000 lux")
    ready(page, also="view.light.title === 'Under 2000 lux'")
    expect(page.locator(".caption")).to_contain_text("nothing is darkened")
    page.locator(".stage[data-lit=false][data-settled=true]").wait_for()


def _dusty(path: Path) -> list[tuple[float, float]]:
    """A sky with two dark specks; gives their middles, px."""
    rng = np.random.default_rng(11)
    y, x = np.mgrid[0:900, 0:1300].astype(np.float64)
    light = 0.45 + 0.1 * y / 900 + rng.normal(0.0, 0.004, y.shape)
    specks = [(300.0, 250.0), (1000.0, 640.0)]
    for at_x, at_y in specks:
        light -= 0.25 * np.exp(-((np.hypot(x - at_x, y - at_y) / 5.0) ** 4))
    sky = np.stack([light * 0.8, light * 0.9, light], axis=-1)
    codes = (sky.clip(0.0, 1.0) * 65535.0 + 0.5).astype(np.uint16)
    from firstsheet.cms.build import space_profile

    tifffile.imwrite(path, codes, photometric="rgb", iccprofile=space_profile("srgb"))
    return specks


def test_what_may_be_dust_is_looked_at_place_by_place(pages: Pages, folder: Path) -> None:
    specks = _dusty(folder / "sky-with-dust.tif")
    page = pages("sky-with-dust.tif")
    view = ready(page)
    found = next(one for one in view["findings"] if one["code"] == "dust-candidates")
    px_per_mm = 1300 / view["sheet"]["picture"]["width"]
    places = [(x * px_per_mm, y * px_per_mm) for x, y in found["places"]]
    assert np.array(sorted(places)) == pytest.approx(np.array(specks), abs=2.0)
    slip = _finding(page, "dust-candidates")
    button = slip.get_by_role("button", name="Look at each mark")
    for number, (x, y) in enumerate([*places, places[0]]):
        button.click()
        expect(button).to_contain_text(f"Place {number % 2 + 1} of 2")
        page.locator(".stage[data-shows=close][data-settled=true]").wait_for()
        at = page.evaluate(
            """() => { const { stage } = firstsheet.draftPage.looking;
              const [mx, my] = stage.lastMiddle, { picture: p } = stage.sheet;
              return [mx - p.left, my - p.top]; }"""
        )
        assert [one * px_per_mm for one in at] == pytest.approx([x, y], abs=2.0)
        assert page.locator(".cross").is_visible()


def test_move_the_cut_takes_hold_of_it_for_the_arrow_keys(pages: Pages, folder: Path) -> None:
    make_picture(folder / "drying-nets.tif", 600, 400)
    page = pages("drying-nets.tif")
    before = view_of(page)
    page.evaluate("() => { firstsheet.set({ 'crop.shape': '1:1' }) }")
    cut = ready(page, before["revision"])
    look(page, "What is lost", "loss")
    _finding(page, "cropped").get_by_role("button", name="Move the crop").click()
    page.locator(".stage[data-shows=look][data-settled=true]").wait_for()
    expect(page.locator(".stage")).to_be_focused()
    page.keyboard.press("ArrowLeft")
    after = ready(page, cut["revision"])
    assert after["sheet"]["offset"] != cut["sheet"]["offset"]
    assert after["sheet"]["shift_mm"] == cut["sheet"]["shift_mm"]


def test_a_colour_that_was_read_moves_with_the_picture_and_is_read_again_for_another_paper(
    pages: Pages, folder: Path
) -> None:
    make_picture(folder / "tarred-boat.tif", 600, 400)
    page = pages("tarred-boat.tif")
    look(page, "What is lost", "loss")
    page.locator(".stage").click()
    spot = page.locator(".spot:not([hidden]):not(.waiting)")
    spot.wait_for()
    first, cross = spot.inner_text(), page.locator(".cross").bounding_box()
    page.locator(".stage").focus()
    page.keyboard.press("ArrowLeft")
    page.locator(".stage[data-settled=true]").wait_for()
    moved = page.locator(".cross").bounding_box()
    assert cross is not None
    assert moved is not None
    assert moved["x"] - cross["x"] == pytest.approx(48, abs=1.5)
    before = view_of(page)
    page.evaluate("() => { firstsheet.set({ stock: 'harbour-gloss' }) }")
    ready(page, before["revision"])
    expect(spot).not_to_have_text(first, use_inner_text=True)
    expect(spot).to_contain_text("ΔE00")


def test_a_question_that_comes_first_stands_alone_and_one_without_answers_says_why(
    pages: Pages, folder: Path
) -> None:
    rng = np.random.default_rng(2)
    light = rng.uniform(0.0, 0.9, (90, 130, 3)).astype(np.float32)
    tifffile.imwrite(folder / "raw-light.tif", light, photometric="rgb")
    inks = rng.integers(0, 255, (90, 130, 4), np.uint8)
    Image.fromarray(inks, "CMYK").save(folder / "press-sheet.tif")
    page = pages("#/")
    path = page.get_by_role("combobox", name="Picture or ticket")
    path.fill("raw-light.tif")
    page.keyboard.press("Enter")
    page.locator(".ask").wait_for()
    expect(page.locator(".looking")).to_be_hidden()  # no bare table above the question
    expect(page.locator(".failed")).to_be_hidden()
    page.get_by_role("button", name="Take: sRGB").first.click()
    expect(page.locator(".looking")).to_be_visible()
    ready(page)

    page.evaluate("location.hash = '#/'")
    path.fill("press-sheet.tif")
    page.keyboard.press("Enter")
    told = page.locator(".failed:not([hidden])")
    expect(told).to_contain_text("The picture is CMYK without a usable profile.")
    expect(told).to_contain_text("beside the picture")
    expect(page.locator(".table-and-notes")).to_be_hidden()
