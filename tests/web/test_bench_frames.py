"""What a page can do at the bench, without a browser: the same numbers as the command line."""

from __future__ import annotations

import io
import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image
from visitors import OURS, Json, Visitor, until, write_scan  # type: ignore[import-not-found]

from firstsheet.bench.bench import Bench
from firstsheet.cms.build import grey_profile
from firstsheet.engine.records import Ticket
from firstsheet.jobs.plan import plan_print

HULL = (22.9, 42.0, -79.0)  # CIELAB D50 of sRGB (0.05, 0.12, 0.7), by colour-science 0.4.7


def quiet(*_words: Any) -> None:
    """Nobody listens, nobody stops."""


def planned(ticket: Path, stocks_dir: Path) -> Json:
    """What the command line plans."""
    answer = plan_print(
        ticket,
        {},
        stocks_dir=stocks_dir,
        out=None,
        ticket_out=None,
        progress=quiet,
        stop=quiet,
    )
    plan: Json = answer.plan.model_dump(mode="json")
    return plan


def picture(answer: Any) -> np.ndarray[Any, Any]:
    return np.asarray(Image.open(io.BytesIO(answer.content)))


def test_the_page_and_the_command_line_plan_the_same(visitor: Visitor, tmp_path: Path) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="100 mm", print__sheet="A5", stock="harbour-gloss")
    visitor.change(draft, place__distance="1.5 m", colour__intent="auto", border="even 20mm")
    view = visitor.settled(draft)
    ticket = tmp_path / "as the page has it.toml"
    ticket.write_text(visitor.client.get(f"/api/draft/{draft}/ticket.toml").text)

    plan = planned(ticket, tmp_path / "stocks")

    assert view["plan_digest"] == plan["digest"]
    assert view["verdict"] == plan["verdict"]
    assert [one["found"] for one in view["findings"]] == [o["found"] for o in plan["findings"]]
    assert view["sheet"]["picture"]["width"] == plan["size"]["width_mm"]
    assert view["loss"]["facts"]["mean_de00"] == plan["loss"]["mean_de00"]


def test_a_change_that_needs_no_colour_is_answered_whole(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    first = visitor.settled(draft)
    for lines in ({"print__width": "90 mm"}, {"border": "weighted"}, {"place__distance": "2 m"}):
        view = visitor.change(draft, **lines)
        assert not view["measuring"]
        assert view["plan_digest"] != first["plan_digest"]
    same = ("mean_de00", "p95_de00", "bands_percent", "merged_shadow_percent")
    assert all(view["loss"]["facts"][one] == first["loss"]["facts"][one] for one in same)


def test_a_slip_changes_nothing_and_says_what_would_be_right(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    before = visitor.settled(draft)
    view = visitor.change(draft, print__width="400", stock="no-such-paper")

    assert set(view["slips"]) == {"print.width"} or set(view["slips"]) == {"print.width", "stock"}
    assert "mm" in view["slips"]["print.width"]["choice"]
    assert view["revision"] == before["revision"]
    assert view["plan_digest"] == before["plan_digest"]


def test_an_unknown_stock_is_a_slip_of_its_line(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    view = visitor.change(draft, stock="chalk-mate")
    assert "chalk-matte" in view["slips"]["stock"]["choice"]


def test_undo_and_redo_go_back_and_forth(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    digests = [visitor.settled(draft)["plan_digest"]]
    for width in ("80 mm", "90 mm"):
        visitor.change(draft, print__width=width)
        digests.append(visitor.settled(draft)["plan_digest"])

    back = [visitor.post(f"/api/draft/{draft}/undo")["plan_digest"] for _ in range(2)]
    assert back == digests[1::-1]
    view = visitor.post(f"/api/draft/{draft}/redo")
    assert view["plan_digest"] == digests[1]
    assert (view["undo"], view["redo"]) == (True, True)


def test_two_pages_merge_different_lines_and_clash_on_the_same(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    old = visitor.settled(draft)["revision"]
    place = f"/api/draft/{draft}/set"
    visitor.post(place, {"revision": old, "changes": {"print.width": "80 mm"}})

    merged = visitor.post(place, {"revision": old, "changes": {"print.sheet": "A5"}})
    clash = visitor.post(place, {"revision": old, "changes": {"print.width": "70 mm"}})

    assert not merged["slips"]
    assert clash["slips"]["print.width"]["code"] == "changed-meanwhile"
    assert clash["sheet"]["picture"]["width"] == pytest.approx(80, abs=0.1)


def test_a_restarted_bench_shows_the_same_drafts(
    visitor: Visitor, harbour: Path, tmp_path: Path
) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="85 mm")
    view = visitor.settled(draft)

    again = Visitor(Bench([harbour], state=tmp_path / "state", stocks_dir=tmp_path / "stocks"))
    try:
        recent = again.get("/api/start")["recent"]
        assert [(one["id"], one["verdict"]) for one in recent] == [(draft, view["verdict"])]
        same = again.settled(draft)
        assert same["plan_digest"] == view["plan_digest"]
        assert same["undo"]
    finally:
        again.close()


def test_the_same_picture_again_is_the_same_draft(visitor: Visitor, harbour: Path) -> None:
    first = visitor.open("ferry stairs.tif")
    assert visitor.open(harbour / "ferry stairs.tif") == first


def test_a_ticket_file_is_opened_as_the_command_line_reads_it(
    visitor: Visitor, harbour: Path
) -> None:
    text = 'picture = "ferry stairs.tif"\nstock = "harbour-gloss"\n[print]\nwidth = "70 mm"\n'
    (harbour / "wish.toml").write_text(text)
    draft = visitor.open("wish.toml")
    view = visitor.settled(draft)
    assert view["sheet"]["picture"]["width"] == pytest.approx(70, abs=0.1)
    assert view["folder"] == str(harbour / "wish")


def test_the_sentence_can_be_said_back(visitor: Visitor) -> None:
    """Every part of the sentence, set to the value it shows, changes nothing."""
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="80 mm", border="even 20mm", place__light="200 lux")
    view = visitor.settled(draft)
    keys = [one for one in view["sentence"] if one["key"] and one["key"] != "print.by"]
    assert len(keys) > 15
    for part in keys:
        changed = visitor.post(
            f"/api/draft/{draft}/set",
            {"revision": view["revision"], "changes": {part["key"]: part["value"]}},
        )
        assert not changed["slips"], part
        assert changed["plan_digest"] == view["plan_digest"], part
        assert changed["revision"] == view["revision"], part


def test_a_size_can_be_said_of_the_other_side_and_stays(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="80 mm")
    view = visitor.change(draft, **{"print.by": "print.height"})
    keys = {one["key"]: one["text"] for one in view["sentence"]}
    assert "print.height" in keys
    assert keys["print.by"] == "high"
    assert view["sheet"]["picture"]["width"] == pytest.approx(80, abs=0.15)
    filled = visitor.change(draft, **{"print.by": "fill"})
    said = {one["key"]: one["text"] for one in filled["sentence"]}
    assert said["print.by"] == "filling the sheet"
    assert said["print.width"].endswith(" mm wide")


def test_a_choice_does_what_its_sentence_says(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="150 mm", print__sheet="A4")
    view = visitor.settled(draft)
    few = next(one for one in view["findings"] if one["code"] == "too-few-pixels")
    index = next(i for i, one in enumerate(few["choices"]) if one["applies"])

    after = visitor.post(f"/api/draft/{draft}/choose", {"code": "too-few-pixels", "index": index})
    assert after["sheet"]["picture"]["width"] < view["sheet"]["picture"]["width"]
    assert "too-few-pixels" not in [one["code"] for one in after["findings"]]


def test_choices_are_said_without_the_command_line(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="150 mm", crop__shape="1:1")
    for finding in visitor.settled(draft)["findings"]:
        for choice in finding["choices"]:
            assert "--" not in choice["text"], choice
            assert "ticket:" not in choice["text"], choice


def test_the_first_look_comes_before_the_plan(visitor: Visitor) -> None:
    name = visitor.post("/api/open", {"path": "ferry stairs.tif"})["id"]

    def there() -> Json | None:
        view = visitor.get(f"/api/draft/{name}")
        return view if view["first_look"] and view["sheet"] else None

    view = until(there)
    look = picture(visitor.client.get(view["first_look"]))
    assert look.shape[1] / look.shape[0] == pytest.approx(900 / 675, rel=0.01)
    assert view["sheet"]["picture"]["width"] > 0


# ---- tiles -----------------------------------------------------------------------------------


def test_a_picture_tile_shows_what_an_independent_engine_shows(
    visitor: Visitor, harbour: Path
) -> None:
    """Little CMS by way of Pillow: sRGB to Display P3, relative colorimetric."""
    from PIL import ImageCms

    from firstsheet.cms.build import space_profile

    write_scan(harbour / "large.tif", 900, 675)
    codes = tifffile.imread(harbour / "large.tif")[:512, :512]
    given = ImageCms.ImageCmsProfile(io.BytesIO(space_profile("srgb")))
    wanted = ImageCms.ImageCmsProfile(io.BytesIO(space_profile("display-p3")))
    truth = ImageCms.profileToProfile(
        Image.fromarray((codes / 257.0 + 0.5).astype(np.uint8)),
        given,
        wanted,
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )
    draft = visitor.open("large.tif")
    url = visitor.settled(draft)["tiles"]["picture"]["url"].replace(".jpg", ".png")
    tile = visitor.client.get(url.format(z=1, x=0, y=0))
    gap = np.abs(picture(tile).astype(int) - np.asarray(truth).astype(int))
    assert gap.max() <= 3  # both round to 8 bits, one of them twice
    assert gap.mean() < 0.6
    assert Image.open(io.BytesIO(tile.content)).info["icc_profile"] == space_profile("display-p3")


def test_a_print_tile_is_the_print_file_shown_on_paper(visitor: Visitor, harbour: Path) -> None:
    """The made file's own pixels, through the ICC engine to the screen."""
    from firstsheet.cms.chain import build_chain
    from firstsheet.pixels.proof import show_printed
    from firstsheet.store.stocks import get_stock, stock_profile_bytes

    write_scan(harbour / "large.tif", 900, 675)
    draft = visitor.open("large.tif")
    visitor.change(draft, print__width="60 mm", print__sheet="A6")
    view = visitor.settled(draft)
    job = visitor.post(f"/api/draft/{draft}/make", {})["job"]
    made = visitor.made(job)
    assert made["state"] == "done", made
    assert made["plan_digest"] == view["plan_digest"]
    plan = json.loads(visitor.client.get(made["files"]["plan.json"]).text)
    sheet = tifffile.imread(harbour / "large-chalk-matte" / "print.tif")
    top, left = plan["sheet"]["picture_top_px"], plan["sheet"]["picture_left_px"]
    chain = build_chain(
        source_profile=b"",
        colour_model="lab",
        paper_profile=stock_profile_bytes(get_stock("chalk-matte")),
        intent="relative",
        black_point=True,
    )
    tiles = view["tiles"]["print"]
    z = tiles["zmax"]
    seen = []
    for x, y in ((0, 0), (1, 1)):
        url = tiles["url"].format(z=z, x=x, y=y).replace(".jpg", ".png")
        shown = picture(visitor.client.get(url)).astype(int)
        height, width = shown.shape[:2]
        y0, x0 = top + 512 * y, left + 512 * x
        part = sheet[y0 : y0 + height, x0 : x0 + width] / 65535.0
        truth = show_printed(chain.printed_lab(part), chain).rgb / 257.0
        assert np.abs(shown - truth).max() < 2.0
        seen.append(shown.std())
    assert max(seen) > 3  # a picture, not one colour


def test_tiles_of_all_kinds_and_levels_cover_the_picture(visitor: Visitor, harbour: Path) -> None:
    write_scan(harbour / "large.tif", 900, 675)
    draft = visitor.open("large.tif")
    view = visitor.settled(draft)
    prints = {"print", "print-unsharpened", "print-inked", "print-unsharpened-inked"}
    assert set(view["tiles"]) == {"picture", "proof", "loss", *prints}
    for kind, tiles in view["tiles"].items():
        for z in range(tiles["zmax"] + 1):
            step = 2 ** (tiles["zmax"] - z)
            across = -(-tiles["width"] // step)
            down = -(-tiles["height"] // step)
            x, y = (across - 1) // 512, (down - 1) // 512
            last = visitor.client.get(tiles["url"].format(z=z, x=x, y=y))
            assert last.status_code == 200, (kind, z)
            assert picture(last).shape[:2] == (down - 512 * y, across - 512 * x), (kind, z)
            beyond = visitor.client.get(tiles["url"].format(z=z, x=x + 1, y=y))
            assert beyond.status_code == 404


def test_sharpening_is_to_be_seen_and_can_be_left_out(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    tiles = visitor.settled(draft)["tiles"]
    one, other = (
        picture(visitor.client.get(tiles[kind]["url"].format(z=tiles[kind]["zmax"], x=0, y=0)))
        for kind in ("print", "print-unsharpened")
    )
    assert (one != other).any()


def test_addresses_of_tiles_change_with_what_they_show(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    first = visitor.settled(draft)["tiles"]
    visitor.change(draft, print__width="80 mm")
    sized = visitor.settled(draft)["tiles"]
    visitor.change(draft, stock="harbour-gloss")
    paper = visitor.settled(draft)["tiles"]

    assert sized["proof"]["url"] == first["proof"]["url"]
    assert sized["print"]["url"] != first["print"]["url"]
    assert paper["proof"]["url"] != sized["proof"]["url"]
    assert paper["picture"]["url"] == first["picture"]["url"]


# ---- asking ----------------------------------------------------------------------------------


def test_a_spot_says_wanted_printed_and_how_far_apart(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    sheet = visitor.settled(draft)["sheet"]["picture"]
    hull = visitor.get(
        f"/api/draft/{draft}/spot?x={sheet['width'] * 0.35}&y={sheet['height'] * 0.55}"
    )
    shadow = visitor.get(
        f"/api/draft/{draft}/spot?x={sheet['width'] * 0.1}&y={sheet['height'] * 0.9}"
    )
    assert hull["wanted"]["lab"] == pytest.approx(HULL, abs=1.2)
    assert hull["de00"] > 5
    assert "duller" in hull["words"]
    assert shadow["wanted"]["lab"][0] < 15
    outside = visitor.client.get(f"/api/draft/{draft}/spot?x=-1&y=5")
    assert outside.status_code == 404


def test_papers_are_ranked_as_the_command_line_ranks_them(
    visitor: Visitor, harbour: Path, tmp_path: Path
) -> None:
    from firstsheet.jobs.losses import compare_papers

    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="100 mm")

    def done() -> Json | None:
        answer = visitor.get(f"/api/draft/{draft}/compare")
        return None if answer["waiting"] else answer

    answer = until(done)
    rows = answer["rows"]
    told = compare_papers(
        harbour / "ferry stairs.tif",
        {"stock": "chalk-matte", "width": "100mm"},
        stocks_dir=tmp_path / "stocks",
        progress=quiet,
        stop=quiet,
    )
    assert answer["words"] == told.verdict
    assert [(row["stock"], row["intent"], row["reason"]) for row in rows] == [
        (one.stock, one.intent, one.reason) for one in told.rows
    ]
    assert picture(visitor.client.get(rows[0]["proof"])).ndim == 3
    assert (
        picture(visitor.client.get(rows[0]["proof"]))
        != picture(visitor.client.get(rows[-1]["proof"]))
    ).any()
    revision = visitor.get(f"/api/draft/{draft}")["revision"]
    body = {"revision": revision, "changes": rows[-1]["changes"]}
    view = visitor.post(f"/api/draft/{draft}/set", body)
    assert not view["slips"]


def test_sizes_and_rescan_are_those_of_the_command_line(visitor: Visitor, harbour: Path) -> None:
    from firstsheet.jobs.sizes import size_answer

    draft = visitor.open("ferry stairs.tif")
    told = visitor.get(f"/api/draft/{draft}/sizes")
    assert told == json.loads(size_answer(harbour / "ferry stairs.tif").model_dump_json())
    answer = visitor.get(f"/api/draft/{draft}/rescan?film=6x7")["answer"]
    assert answer["needed_spi"] > 0
    assert visitor.get(f"/api/draft/{draft}/rescan?film=nonsense", status=422)["error"]["found"]


def test_a_file_without_profile_is_asked_about_with_pictures(
    visitor: Visitor, harbour: Path
) -> None:
    write_scan(harbour / "untagged.tif", 300, 200, profile=None)
    draft = visitor.open("untagged.tif")
    view = visitor.settled(draft)
    question = next(one for one in view["questions"] if one["key"] == "colour.read-as")
    assert question["chosen"] == "srgb"
    thumbs = {
        one["value"]: picture(visitor.client.get(one["thumb"])) for one in question["options"]
    }
    assert (thumbs["srgb"] != thumbs["prophoto-rgb"]).any()

    visitor.change(draft, **{"colour.read-as": "a98-rgb"})
    after = visitor.settled(draft)
    assert next(o for o in after["questions"] if o["key"] == "colour.read-as")["chosen"] == (
        "a98-rgb"
    )
    assert after["tiles"]["picture"]["url"] != view["tiles"]["picture"]["url"]


def test_floating_point_without_profile_asks_before_it_opens(
    visitor: Visitor, harbour: Path
) -> None:
    codes = np.random.default_rng(1).uniform(0, 1, (80, 120, 3)).astype(np.float32)
    tifffile.imwrite(harbour / "light.tif", codes, photometric="rgb")
    draft = visitor.open("light.tif")
    view = visitor.settled(draft)
    assert view["state"] == "asking"
    assert view["error"]["found"]
    question = view["questions"][0]
    visitor.change(draft, **{question["key"]: "srgb"})
    assert visitor.settled(draft)["state"] == "ready"


def test_the_sentence_says_what_was_typed_in_any_way_and_what_was_moved(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")

    def said(**lines: str) -> str:
        view = visitor.change(draft, **lines)
        assert view["slips"] == {}
        return "".join(one["text"] for one in view["sentence"] if not one["fine"])

    assert "sheet A3+, border even, 25 mm," in said(print__sheet="a3+", border="25 mm")
    assert "border 3 mm · 5 mm · 14 mm · 5 mm, seen" in said(border="3 mm, 5mm, 1,4 cm, 5 mm")
    assert "moved" not in said(border="", print__width="100 mm")
    moved = said(**{"border__shift-x": "-12.5 mm", "border__shift-y": "3mm"})
    assert "border centred, moved 12.5 mm left and 3 mm down, seen" in moved
    assert "moved 4 mm down, seen" in said(**{"border__shift-x": "", "border__shift-y": "4 mm"})
    assert "filling the sheet" in said(print__width="Fill")
    view = visitor.change(draft, border="wide")
    assert view["slips"]["border"]["found"] == "Border: “wide” is not a border."


def test_cmyk_without_profile_offers_the_profiles_that_lie_beside_it(
    visitor: Visitor, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(Path(__file__).parents[1] / "files"))
    from makers import cmyk_profile  # type: ignore[import-not-found]

    codes = np.random.default_rng(1).integers(0, 255, (60, 90, 4), np.uint8)
    Image.fromarray(codes, "CMYK").save(harbour / "press.tif")
    draft = visitor.open("press.tif")
    view = visitor.settled(draft)
    assert (view["state"], view["questions"], view["error"]["code"]) == (
        "asking", [], "cmyk-untagged",
    )  # fmt: skip
    assert "beside the picture" in view["error"]["choice"]
    assert "--" not in view["error"]["choice"]
    (listed,) = (one for one in visitor.get("/api/recent")["recent"] if one["id"] == draft)
    assert (listed["weight"], listed["verdict"]) == ("asking", view["error"]["found"])

    (harbour / "press.icc").write_bytes(cmyk_profile())
    (harbour / "grey.icc").write_bytes(grey_profile("grey-l-star"))  # of another kind
    (harbour / "torn.icc").write_bytes(b"not a profile")
    (question,) = visitor.settled(draft)["questions"]
    assert [one["text"] for one in question["options"]] == ["press.icc"]
    assert picture(visitor.client.get(question["options"][0]["thumb"])).ndim == 3
    visitor.change(draft, **{question["key"]: question["options"][0]["value"]})
    assert visitor.settled(draft)["state"] == "ready"


# ---- bad luck --------------------------------------------------------------------------------


def test_what_cannot_be_measured_is_told_once_and_another_wish_goes_on(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.jobs.planning.open_picture import OpenPicture

    measure, tried = OpenPicture.measure, []

    def broken(self: OpenPicture, ticket: Ticket, **given: Any) -> Any:
        tried.append(ticket.print.width_mm)
        if ticket.stock == "harbour-gloss":
            raise ZeroDivisionError("no edges")
        return measure(self, ticket, **given)

    monkeypatch.setattr(OpenPicture, "measure", broken)
    draft = visitor.open("ferry stairs.tif")
    tried.clear()
    visitor.change(draft, stock="harbour-gloss")
    view = visitor.settled(draft)
    assert (view["state"], view["measuring"]) == ("failed", False)
    assert view["error"]["choice"].endswith("ZeroDivisionError: no edges")
    assert view["sheet"]
    for _ in range(3):
        visitor.settled(draft)
    assert len(tried) == 1  # not again and again

    visitor.change(draft, stock="chalk-matte")
    assert visitor.settled(draft)["state"] == "ready"


def test_a_picture_of_a_few_pixels_comes_to_its_verdict(visitor: Visitor, harbour: Path) -> None:
    write_scan(harbour / "stamp.tif", 10, 7)
    view = visitor.settled(visitor.open("stamp.tif"))
    assert view["state"] == "ready"
    assert view["verdict"].startswith("Not ")


def test_the_sheet_is_said_as_it_is_sold_however_coarse_the_pixels(
    visitor: Visitor, harbour: Path
) -> None:
    # A4 is 210 × 297 mm (ISO 216); the file's own 48 pixels on 263 mm leave it steps of 5.5 mm
    write_scan(harbour / "post.tif", 48, 32)
    view = visitor.settled(visitor.open("post.tif"))
    assert view["sheet"]["sheet_texts"] == ["297 mm (11.7 in)", "210 mm (8.3 in)"]
    assert view["sheet"]["width_mm"] != pytest.approx(297, abs=0.2)


def test_a_picture_deleted_under_our_feet_ends_in_a_sentence(
    visitor: Visitor, harbour: Path
) -> None:
    draft = visitor.open("ferry stairs.tif")
    (harbour / "ferry stairs.tif").rename(harbour / "kept.tif")
    view = visitor.settled(draft)
    assert view["state"] == "failed"
    assert "ferry stairs.tif" in view["error"]["found"]
    assert view["note"] == ""  # not “changed on disk”
    assert view["sentence"]

    (harbour / "kept.tif").rename(harbour / "ferry stairs.tif")
    assert visitor.settled(draft)["state"] == "ready"


def test_a_picture_changed_under_our_feet_is_read_again(visitor: Visitor, harbour: Path) -> None:
    draft = visitor.open("ferry stairs.tif")
    before = visitor.settled(draft)
    write_scan(harbour / "ferry stairs.tif", 600, 600)
    after = visitor.settled(draft)
    assert after["picture_px"] == [600, 600]
    assert "changed" in after["note"]
    assert after["plan_digest"] != before["plan_digest"]


def test_a_stock_removed_while_in_use_can_be_replaced(visitor: Visitor) -> None:
    from firstsheet.store.stocks import get_stock, stock_profile_bytes

    data = stock_profile_bytes(get_stock("harbour-gloss"))
    added = visitor.client.put(
        "/api/stocks?name=own-gloss&surface=gloss&margins=5mm", content=data, headers=OURS
    )
    assert added.status_code == 200, added.text
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, stock="own-gloss")
    assert visitor.settled(draft)["sheet"]["unprintable"]["top"] == 5

    gone = visitor.client.request("DELETE", "/api/stocks/own-gloss", headers=OURS)
    assert gone.status_code == 200
    view = visitor.settled(draft)
    assert view["state"] == "failed"
    assert "own-gloss" in view["error"]["found"]
    assert any(one["key"] == "stock" for one in view["sentence"])
    visitor.change(draft, stock="chalk-matte")
    assert visitor.settled(draft)["state"] == "ready"


def test_margins_and_notes_of_a_stock_can_be_changed(visitor: Visitor) -> None:
    answer = visitor.client.patch(
        "/api/stocks/chalk-matte",
        json={"margins": "4mm 4mm 18mm 4mm", "notes": "feed from behind"},
        headers=OURS,
    )
    assert answer.json()["stock"]["margins"]["bottom"] == 18
    assert not answer.json()["builtin"]
    slip = visitor.client.patch("/api/stocks/chalk-matte", json={"facts": "x"}, headers=OURS)
    assert slip.status_code == 422


def test_what_is_no_profile_is_no_stock(visitor: Visitor) -> None:
    answer = visitor.client.put(
        "/api/stocks?name=rubbish&surface=matte", content=b"not a profile" * 50, headers=OURS
    )
    assert answer.status_code == 422
    assert answer.json()["error"]["found"]


def test_a_gamut_encloses_volume_and_the_picture_has_points(visitor: Visitor) -> None:
    draft = visitor.open("ferry stairs.tif")
    answer = visitor.get(f"/api/stocks/harbour-gloss/gamut?draft={draft}")
    points = np.array(answer["paper"]["points"])
    volume = 0.0
    for a, b, c in answer["paper"]["triangles"]:
        volume += abs(np.dot(points[a], np.cross(points[b], points[c]))) / 6
    assert points[:, 0].max() > 95
    assert points[:, 0].min() < 20
    assert volume > 100_000
    assert len(answer["picture"]["points"]) > 1000


# ---- uploads ---------------------------------------------------------------------------------


def test_a_dropped_picture_can_be_opened(visitor: Visitor, harbour: Path) -> None:
    data = (harbour / "ferry stairs.tif").read_bytes()
    put = visitor.client.put("/api/upload?name=from%20a%20card.tif", content=data, headers=OURS)
    path = Path(put.json()["path"])
    assert path.name == "from a card.tif"
    assert path.read_bytes() == data
    draft = visitor.open(path)
    assert visitor.settled(draft)["state"] == "ready"
    assert visitor.settled(draft)["folder"].startswith(str(harbour))


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("..%2F..%2Fevil.tif", "evil.tif"),
        ("C:%5Ctmp%5Cevil.tif", "evil.tif"),
        ("%2e%2e.tif", None),
        (".tif", None),
        ("evil.exe", None),
        ("evil.toml", None),
        ("", None),
        ("a%00b.tif", "a_b.tif"),
        ("%22quoted%22%3Cb%3E.tif", "_quoted__b_.tif"),
    ],
)
def test_names_of_uploads_lead_nowhere(visitor: Visitor, name: str, kept: str | None) -> None:
    put = visitor.client.put(f"/api/upload?name={name}", content=b"xy", headers=OURS)
    if kept is None:
        assert put.status_code == 422
        return
    path = Path(put.json()["path"])
    assert path.name == kept
    assert path.parent == visitor.bench.parts.uploads


def test_an_upload_larger_than_the_free_disk_is_refused_before_it_begins(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = shutil.disk_usage("/")
    small = usage._replace(free=300 * 2**20)
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: small)
    headers = {**OURS, "Content-Length": str(2_000_000_000)}
    answer = visitor.client.put("/api/upload?name=big.tif", content=b"x", headers=headers)
    assert answer.status_code == 422
    assert answer.json()["error"]["code"] == "disk-full"
    assert list(visitor.bench.parts.uploads.glob("*")) == []


def test_the_next_estimate_is_about_what_the_last_print_took(visitor: Visitor) -> None:
    """Of the same print: it takes as long again, or no time at all beside the first second."""
    draft = visitor.open("ferry stairs.tif")
    job = visitor.post(f"/api/draft/{draft}/make")["job"]
    made = visitor.made(job)
    took = float(made["words"].split(" s:")[0].rpartition(" ")[2])

    after = visitor.settled(draft)["estimate"]["seconds"]

    assert after == pytest.approx(max(took, 1.1), abs=0.2)


@pytest.mark.parametrize(
    ("name", "free_mb", "code"),
    [("quay.tif", 3000, None), ("quay.tif", 300, "disk-full"), ("quay.exe", 3000, "not-a-picture")],
)
def test_whether_an_upload_would_be_taken_is_told_before_it_is_sent(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch, name: str, free_mb: int, code: str | None
) -> None:
    small = shutil.disk_usage("/")._replace(free=free_mb * 2**20)
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: small)
    address = f"/api/upload?name={name}&bytes=2000000000"
    answer = visitor.get(address, status=422 if code else 200)
    assert answer.get("error", {}).get("code") == code
    assert list(visitor.bench.parts.uploads.glob("*")) == []


def test_two_uploads_of_one_name_are_both_kept(visitor: Visitor) -> None:
    paths = [
        visitor.client.put("/api/upload?name=same.tif", content=data, headers=OURS).json()["path"]
        for data in (b"one", b"two")
    ]
    assert [Path(path).read_bytes() for path in paths] == [b"one", b"two"]


# ---- making ----------------------------------------------------------------------------------


def test_a_second_print_does_not_replace_the_first_unasked(visitor: Visitor, harbour: Path) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="50 mm", print__sheet="A6")
    visitor.settled(draft)
    first = visitor.made(visitor.post(f"/api/draft/{draft}/make")["job"])
    assert first["state"] == "done"
    assert visitor.get("/api/recent")["recent"][0]["made"] == first["folder"]
    again = visitor.made(visitor.post(f"/api/draft/{draft}/make")["job"])
    assert again["state"] == "failed"
    assert again["error"]["choice"]
    third = visitor.made(visitor.post(f"/api/draft/{draft}/make", {"replace": True})["job"])
    assert third["state"] == "done"
    names = sorted(one.name for one in harbour.iterdir())
    assert names == ["ferry stairs-chalk-matte", "ferry stairs.tif"]
    sheet = visitor.client.get(third["files"]["job-sheet.pdf"])
    assert sheet.content.startswith(b"%PDF")
    for name in ("../ferry stairs.tif", "..%2Fferry%20stairs.tif", ".firstsheet.json"):
        assert visitor.client.get(f"/api/made/{third['job']}/{name}").status_code == 404


def test_a_print_is_made_of_the_picture_that_lies_open(
    visitor: Visitor, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.jobs.planning.open_picture import OpenPicture

    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="50 mm", print__sheet="A6")
    agreed = visitor.settled(draft)["plan_digest"]
    opened: list[str] = []
    kept = OpenPicture.open

    def counted(ticket: Any, **words: Any) -> OpenPicture:
        opened.append(ticket.picture)
        return kept(ticket, **words)

    monkeypatch.setattr(OpenPicture, "open", counted)
    made = visitor.made(visitor.post(f"/api/draft/{draft}/make")["job"])
    assert made["state"] == "done"
    assert opened == []
    assert visitor.get(f"/api/draft/{draft}")["plan_digest"] == agreed
    write_scan(harbour / "ferry stairs.tif", 260, 180)  # another picture under the same name
    again = visitor.made(visitor.post(f"/api/draft/{draft}/make", {"replace": True})["job"])
    assert len(opened) >= 1
    assert again["state"] == "failed"  # what was looked at is no longer what would be made
    assert "is not the file that was planned" in again["error"]["found"]


def test_a_stopped_print_leaves_nothing(
    visitor: Visitor, harbour: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from firstsheet.jobs import make

    draft = visitor.open("ferry stairs.tif")

    def endless(_path: Any, _prepared: Any, progress: Any, stop: Any) -> None:
        while True:
            progress("Making the sheet", 0.4)
            stop()

    monkeypatch.setattr(make, "write_print_file", endless)
    job = visitor.post(f"/api/draft/{draft}/make")["job"]
    until(lambda: visitor.get(f"/api/job/{job}") if _working(visitor, job) else None)
    visitor.post(f"/api/job/{job}/stop")
    ended = visitor.made(job)
    assert ended["state"] == "stopped"
    assert [one.name for one in harbour.iterdir()] == ["ferry stairs.tif"]


def _working(visitor: Visitor, job: str) -> bool:
    view = visitor.get(f"/api/job/{job}")
    return bool(view["state"] == "working" and view["share"] == 0.4)


def test_one_that_fails_does_not_stop_the_rest(visitor: Visitor, harbour: Path) -> None:
    write_scan(harbour / "second.tif", 300, 200)
    drafts = [visitor.open("ferry stairs.tif"), visitor.open("second.tif")]
    for draft in drafts:
        visitor.change(draft, print__width="40 mm", print__sheet="A6")
        visitor.settled(draft)
    (harbour / "ferry stairs.tif").unlink()

    whole = visitor.made(visitor.post("/api/make-all", {"ids": drafts})["job"])

    assert [part["state"] for part in whole["parts"]] == ["failed", "done"]
    assert "1 of 2" in whole["words"]
    assert (harbour / "second-chalk-matte" / "print.tif").is_file()


def test_a_plan_that_says_stop_is_not_made(visitor: Visitor, harbour: Path) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="200 mm", print__sheet="A6")
    view = visitor.settled(draft)
    assert view["findings"][0]["weight"] == "stop"
    job = visitor.made(visitor.post(f"/api/draft/{draft}/make")["job"])
    assert job["state"] == "failed"
    assert job["error"]["code"] == view["findings"][0]["code"]
    assert [one.name for one in harbour.iterdir()] == ["ferry stairs.tif"]


def test_news_reach_a_listening_page(visitor: Visitor) -> None:
    heard: list[Any] = []
    end = visitor.bench.parts.news.listen(heard.append)
    draft = visitor.open("ferry stairs.tif")
    visitor.change(draft, print__width="80 mm")
    end()
    kinds = {one["type"] for one in heard}
    assert {"opening", "draft"} <= kinds
    assert all(one["id"] == draft for one in heard if one["type"] == "draft")


def test_a_draft_taken_away_is_gone_and_its_picture_stays(visitor: Visitor, harbour: Path) -> None:
    draft = visitor.open("ferry stairs.tif")
    visitor.client.request("DELETE", f"/api/draft/{draft}", headers=OURS)
    assert visitor.get(f"/api/draft/{draft}", status=404)["error"]["code"] == "unknown-draft"
    assert visitor.get("/api/start")["recent"] == []
    assert (harbour / "ferry stairs.tif").is_file()


def test_the_screen_s_size_is_kept(visitor: Visitor) -> None:
    visitor.post("/api/screen", {"px_per_mm": 4.1})
    assert visitor.get("/api/start")["screen"] == {"px_per_mm": 4.1}


def test_the_colour_test_is_red_only_by_its_profile(visitor: Visitor) -> None:
    """Little CMS by way of Pillow: as stored it is blue, by its profile it is red."""
    from PIL import ImageCms

    from firstsheet.cms.build import space_profile

    image = Image.open(io.BytesIO(visitor.client.get("/colour-test.png").content))
    assert image.getpixel((40, 40)) == (40, 40, 200)
    given = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
    srgb = ImageCms.ImageCmsProfile(io.BytesIO(space_profile("srgb")))
    seen = ImageCms.profileToProfile(
        image, given, srgb, renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC
    )
    assert seen is not None
    assert np.abs(np.array(seen.getpixel((40, 40))) - (200, 40, 40)).max() <= 2
