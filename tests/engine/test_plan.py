"""The plan: every decision in numbers, findings in words, the same every time."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.errors import TicketError
from firstsheet.engine.planning import make_plan, plan_digest, size_and_sheet
from firstsheet.engine.records import Finding, MarginsMm, PictureFacts, ProfileFacts, Stock, Ticket
from firstsheet.engine.records.plan import ColourPlan, Plan

SCHEMA = Path(__file__).parents[2] / "docs" / "schema" / "plan.schema.json"

WORKING = ProfileFacts(description="sRGB", colour_space="RGB", device_class="mntr", kind="working")


def a_picture(width_px: int = 5600, height_px: int = 4500, **more: Any) -> PictureFacts:
    facts: dict[str, Any] = {
        "path": "scans/ferry-stairs.tif",
        "sha256": "0" * 64,
        "size_bytes": width_px * height_px * 6,
        "format": "TIFF",
        "compression": "none",
        "page": 1,
        "pages": 1,
        "stored_width_px": width_px,
        "stored_height_px": height_px,
        "orientation": 1,
        "width_px": width_px,
        "height_px": height_px,
        "colour_model": "rgb",
        "bits": 16,
        "sample_format": "uint",
        "true_bits": 16,
        "profile": WORKING,
    }
    return PictureFacts(**(facts | more))


def a_stock(**more: Any) -> Stock:
    stock: dict[str, Any] = {
        "name": "chalk-matte",
        "title": "Chalk Matte 310",
        "profile_file": "chalk-matte.icc",
        "surface": "matte",
        "margins": MarginsMm(),
    }
    return Stock(**(stock | more))


def a_colour(**more: Any) -> ColourPlan:
    colour: dict[str, Any] = {
        "mode": "paper",
        "source_name": "sRGB",
        "source_profile_sha256": "1" * 64,
        "intent": "relative",
        "black_point": True,
    }
    return ColourPlan(**(colour | more))


def a_ticket(**groups: Any) -> Ticket:
    return Ticket.model_validate(
        {"picture": "scans/ferry-stairs.tif", "stock": "chalk-matte", **groups}
    )


def a_plan(
    *,
    picture: PictureFacts | None = None,
    stock: Stock | None = None,
    colour_plan: ColourPlan | None = None,
    **ticket: Any,
) -> Plan:
    return make_plan(
        ticket=a_ticket(**ticket),
        facts=picture or a_picture(),
        stock=stock or a_stock(),
        colour=colour_plan or a_colour(),
        loss=None,
        version="0.1.0",
    )


def codes(plan: Plan) -> dict[str, Finding]:
    return {one.code: one for one in plan.findings}


# --- the trade's own sums ---


def test_3000_pixels_at_15_inches_are_too_low_and_a_rescan_is_advised() -> None:
    # common practice: 3000 x 2200 asked for 15 in has 200 ppi: too low, rescan
    plan = a_plan(picture=a_picture(3000, 2200), print={"width_mm": 381, "sheet": "13x19in"})

    assert plan.size.effective_ppi == 200
    found = codes(plan)["too-few-pixels"]
    assert found.weight == "caution"
    assert "200 ppi: too low, large prints want at least 220–240" in found.found
    assert any("a film can be rescanned" in choice.text for choice in found.choices)
    assert "Print it 317.5 mm (12.5 in) wide, at 240 ppi." in [one.text for one in found.choices]
    assert plan.verdict == (
        "Too soft for close viewing: 200 ppi at 381 mm (15.0 in) wide, and at least 220–240 is "
        "wanted. Single pixels cannot be seen from 44 cm (17 in) or farther."
    )


def test_from_nearer_than_eyes_focus_nothing_is_promised() -> None:
    """Young eyes focus from about 10 cm on: common practice, no source."""
    wish = {"width_mm": 100, "sheet": "A4"}
    near = a_plan(picture=a_picture(6000, 4000), print=wish, place={"distance_mm": 5})
    found = codes(near)["nearer-than-eyes-focus"]
    assert found.weight == "caution"
    assert found.choices[0].change == {"place.distance": "250 mm"}
    assert "cannot be seen from any distance at which eyes focus" in near.verdict
    hand = a_plan(picture=a_picture(6000, 4000), print=wish, place={"distance_mm": 250})
    assert "nearer-than-eyes-focus" not in codes(hand)


def test_a_print_smaller_than_a_stamp_is_not_offered() -> None:
    plan = a_plan(picture=a_picture(40, 30), print={"width_mm": 150, "sheet": "A4"})
    found = codes(plan)["too-few-pixels"]
    assert not any(one.change for one in found.choices)


def test_3000_pixels_print_12_and_a_half_inches_wide_at_240() -> None:
    plan = a_plan(picture=a_picture(3000, 2200), print={"width_mm": 317.5, "sheet": "13x19in"})

    assert plan.size.effective_ppi == 240
    assert "too-few-pixels" not in codes(plan)
    assert plan.verdict.startswith("Very good: 240 ppi at 317.5 mm (12.5 in) wide. ")


def test_5600_pixels_print_15_inches_wide_at_360_without_inventing_one() -> None:
    plan = a_plan(print={"width_mm": 381, "sheet": "483x330mm"})

    assert (plan.size.width_px, plan.size.ppi) == (5400, 360)
    assert (plan.size.width_mm, plan.size.resample, plan.size.enlarged) == (381, "reduce", False)
    assert plan.size.effective_ppi == pytest.approx(373.33, abs=0.01)
    assert (
        "Nothing visible is gained above about 360 ppi." in codes(plan)["enough-pixels"].consequence
    )


def test_a_print_file_weighs_what_its_pixels_weigh() -> None:
    # 13 x 19 in at 360 ppi, RGB 16 bit: 4680 x 6840 pixels, 192,067,200 bytes
    plan = a_plan(picture=a_picture(9000, 6000), print={"sheet": "13x19in", "width_mm": 400})

    assert (plan.sheet.width_px, plan.sheet.height_px) == (6840, 4680)
    assert plan.output.print_file_bytes == 192_067_200
    assert not plan.output.big_tiff


# --- the plan as data ---

wishes = st.fixed_dictionaries(
    {
        "print": st.fixed_dictionaries(
            {
                "sheet": st.sampled_from(["A4", "A3+", "17x22in", "483x330mm", "A1"]),
                "turn": st.sampled_from(["auto", "as-given"]),
            },
            optional={"width_mm": st.floats(20, 900)},
        ),
        "crop": st.fixed_dictionaries(
            {
                "shape": st.sampled_from([None, "3:2", "1:1", "A", "sheet"]),
                "offset_x": st.floats(-1, 1),
                "offset_y": st.floats(-1, 1),
            }
        ),
        "border": st.fixed_dictionaries(
            {"kind": st.sampled_from(["centred", "even", "weighted", "sides"])}
        ),
        "detail": st.fixed_dictionaries(
            {
                "ppi": st.sampled_from(["native", "own", 300.0, 240.5]),
                "allow_enlarge": st.booleans(),
            }
        ),
        "film": st.sampled_from([None, "35mm", "6x7"]),
    }
)


@given(wishes, st.integers(500, 12_000), st.integers(500, 12_000))
def test_the_same_input_gives_the_same_bytes_and_the_sums_hold(
    wish: dict[str, Any], width: int, height: int
) -> None:
    picture = a_picture(width, height)
    plan, again = a_plan(picture=picture, **wish), a_plan(picture=picture, **wish)

    assert plan.model_dump_json() == again.model_dump_json()
    size, sheet = plan.size, plan.sheet
    assert size.width_mm == pytest.approx(size.width_px * 25.4 / size.ppi)
    assert size.crop_left_px >= 0
    assert size.crop_top_px >= 0
    assert size.crop_left_px + size.crop_width_px <= width + 1e-6
    assert size.crop_top_px + size.crop_height_px <= height + 1e-6
    assert size.enlarged <= plan.ticket.detail.allow_enlarge
    across = (sheet.border_mm[1] + sheet.border_mm[3]) * size.ppi / 25.4 + size.width_px
    down = (sheet.border_mm[0] + sheet.border_mm[2]) * size.ppi / 25.4 + size.height_px
    assert (round(across), round(down)) == (sheet.width_px, sheet.height_px)
    if plan.ticket.print.width_mm is not None:
        assert abs(size.width_mm - plan.ticket.print.width_mm) <= 25.4 / size.ppi
    weights = [one.weight for one in plan.findings]
    assert weights == sorted(weights, key=["stop", "caution", "fine"].index)
    for one in plan.findings:
        assert one.found.endswith(".")
        assert one.consequence.endswith(".")
        assert all(choice.text.endswith(".") for choice in one.choices)


def test_a_plan_survives_json() -> None:
    plan = a_plan(print={"width_mm": 381, "sheet": "483x330mm"}, film="6x7")

    assert Plan.model_validate_json(plan.model_dump_json()) == plan


def test_the_digest_changes_with_what_the_print_is_and_not_with_words() -> None:
    plan = a_plan(print={"width_mm": 381, "sheet": "483x330mm"})
    reworded = plan.model_copy(
        update={
            "verdict": plan.verdict + " ",
            "findings": plan.findings[1:],
            "ticket": plan.ticket.model_copy(update={"picture": "elsewhere/ferry.tif"}),
        }
    )
    assert plan_digest(reworded) == plan.digest
    wider = plan.size.model_copy(update={"width_px": plan.size.width_px + 1})
    picture = plan.picture.model_copy(update={"sha256": "1" * 64})
    output = plan.output.model_copy(update={"bits": 8})
    for other in ({"size": wider}, {"picture": picture}, {"output": output}, {"made_by": "other"}):
        assert plan_digest(plan.model_copy(update=other)) != plan.digest


def test_the_schema_in_the_docs_is_current_and_fits_a_made_plan() -> None:
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    plan = json.loads(a_plan(film="35mm", print={"width_mm": 300, "sheet": "A3"}).model_dump_json())

    assert schema == Plan.model_json_schema(mode="serialization") | {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A Firstsheet plan",
    }, "run tools/write_schemas.py"
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(plan, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(plan | {"verdict": 3}, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(plan | {"more": 3}, schema)


def test_size_and_sheet_alone_agree_with_the_plan() -> None:
    ticket = a_ticket(print={"width_mm": 300, "sheet": "A3"})
    size, sheet, _ = size_and_sheet(ticket, a_picture(), a_stock())
    plan = a_plan(print={"width_mm": 300, "sheet": "A3"})

    assert (size, sheet) == (plan.size, plan.sheet)


# --- wishes ---


def test_without_a_size_the_picture_fills_the_sheet_less_a_sensible_border() -> None:
    plan = a_plan(print={"sheet": "A4"})  # 56:45 on a wide A4, 13 mm all round at least

    assert (plan.sheet.asked_width_mm, plan.sheet.asked_height_mm) == (297, 210)
    assert min(plan.sheet.border_mm) == pytest.approx(13, abs=0.1)
    assert plan.size.height_mm == pytest.approx(210 - 26, abs=0.1)


def test_a_height_or_a_long_side_decides_as_well() -> None:
    tall = a_picture(4000, 6000)

    assert a_plan(picture=tall, print={"height_mm": 240}).size.height_mm == pytest.approx(
        240, abs=0.05
    )
    by_long = a_plan(picture=tall, print={"long_side_mm": 240})
    assert by_long.size.height_mm == pytest.approx(240, abs=0.05)
    assert by_long.size.width_mm == pytest.approx(160, abs=0.05)


def test_two_sizes_are_a_slip() -> None:
    with pytest.raises(TicketError, match="Both width and height are given"):
        a_plan(print={"width_mm": 100, "height_mm": 100})


def test_a_wished_shape_tells_its_loss_in_per_cent_and_millimetres() -> None:
    # 3:2 to 8 x 10 loses 16.7 %: at 8 in high 10 in wide, 2 in (50.8 mm) go, half at each side
    plan = a_plan(
        picture=a_picture(6000, 4000),
        crop={"shape": "5:4"},
        print={"height_mm": 203.2, "sheet": "A3"},
    )

    assert plan.size.crop_loss_percent == pytest.approx(16.67, abs=0.01)
    assert plan.size.width_mm == pytest.approx(254, abs=0.05)
    assert plan.size.crop_loss_mm == pytest.approx((0, 25.4, 0, 25.4), abs=0.02)
    found = codes(plan)["cropped"]
    assert found.found == (
        "17 % of the picture is cropped: 25.4 mm at the right and 25.4 mm at the "
        "left, measured on the print."
    )


def test_the_shape_of_the_sheet_makes_an_even_border_exact() -> None:
    plan = a_plan(
        picture=a_picture(6000, 4000),
        crop={"shape": "sheet"},
        border={"kind": "even", "even_mm": 40},
        print={"sheet": "A3+"},
    )

    assert plan.sheet.border_mm == pytest.approx((40, 40, 40, 40), abs=0.08)
    assert "border-not-even" not in codes(plan)


def test_a_width_and_the_shape_of_the_sheet_give_the_even_border() -> None:
    plan = a_plan(
        picture=a_picture(6000, 4000),
        crop={"shape": "sheet"},
        border={"kind": "even"},
        print={"sheet": "A3+", "width_mm": 400},
    )

    # (483 - 400) / 2 = 41.5 all round
    assert plan.sheet.border_mm == pytest.approx((41.5,) * 4, abs=0.08)


def test_leave_to_enlarge_tells_the_factor() -> None:
    plan = a_plan(
        picture=a_picture(3000, 2200),
        print={"width_mm": 381, "sheet": "13x19in"},
        detail={"allow_enlarge": True},
    )

    assert (plan.size.width_px, plan.size.resample, plan.size.enlarged) == (5400, "enlarge", True)
    assert codes(plan)["enlarged"].found == (
        "The picture is enlarged 1.80 times a side, as the ticket allows."
    )


def test_without_leave_the_files_own_pixels_go_out_and_that_is_said() -> None:
    plan = a_plan(picture=a_picture(3000, 2200), print={"width_mm": 381, "sheet": "13x19in"})

    assert (plan.size.width_px, plan.size.ppi, plan.size.resample) == (3000, 200, "none")
    found = codes(plan)["own-pixels"]
    assert found.weight == "fine"
    assert "No pixel is invented" in found.consequence


def test_a_resolution_asked_for_in_numbers_and_not_met_is_a_caution() -> None:
    plan = a_plan(
        picture=a_picture(3000, 2200),
        print={"width_mm": 381, "sheet": "13x19in"},
        detail={"ppi": 300},
    )

    found = codes(plan)["own-pixels"]
    assert (found.weight, found.figures["factor"]) == ("caution", 1.5)
    assert found.found.startswith("300 ppi is asked for; the file has 200 ppi")


def test_a_raster_finer_than_any_printers_is_a_caution() -> None:
    plan = a_plan(print={"width_mm": 100, "sheet": "A4"}, detail={"ppi": "own"})

    assert codes(plan)["raster-too-fine"].found == (
        "The print file has 1422.4 ppi, more than the 720 ppi that printers take."
    )


def test_a_rounded_size_is_told() -> None:
    # 100 mm are 283.46 pixels at 72 ppi; 283 of them are 99.84 mm
    plan = a_plan(print={"width_mm": 100, "sheet": "A4"}, detail={"ppi": 72.0})

    assert codes(plan)["size-rounded"].found == (
        "The picture is 99.84 mm wide, 0.16 mm less than wished."
    )
    assert "size-rounded" not in codes(a_plan(print={"width_mm": 100, "sheet": "A4"}))


def test_a_film_gets_its_rescan_answer() -> None:
    plan = a_plan(
        picture=a_picture(3000, 2000), film="35mm", print={"width_mm": 381, "sheet": "A3+"}
    )

    assert plan.rescan is not None
    # 360 ppi x 381 mm / 36 mm = 3810 spi
    assert plan.rescan.needed_spi == pytest.approx(3810, abs=0.1)
    found = codes(plan)["rescan-would-help"]
    assert "MB at 16 bit" in found.consequence
    assert a_plan().rescan is None


# --- output ---


def test_a_file_above_four_gibibytes_needs_big_tiff_and_says_so() -> None:
    # 61,000 x 9,800 pixels, 16-bit RGB: 3.59 GB fits; the same with a border of 20 % does not
    wide = a_picture(61_000, 9_800)
    fits = a_plan(picture=wide, print={"sheet": "4304x692mm", "width_mm": 4303})
    large = a_plan(picture=wide, print={"sheet": "4400x900mm", "width_mm": 4303})

    assert fits.output.print_file_bytes == pytest.approx(3.59e9, rel=0.01)
    assert not fits.output.big_tiff
    assert large.output.big_tiff
    assert large.output.print_file_bytes > 2**32
    assert "only a BigTIFF holds it" in codes(large)["big-tiff"].consequence


def test_a_word_of_an_earlier_version_is_told_with_what_is_written_today() -> None:
    low = {"line": "detail.sharpen", "word": "low", "now": "0.6"}
    plan = a_plan(detail={"sharpen": 0.6}, earlier=[low])

    found = codes(plan)["earlier-word"]
    assert found.weight == "fine"
    assert found.found == "The ticket says detail.sharpen = low, a word of an earlier version."
    assert found.consequence == "It is read as 0.6."
    assert [one.change for one in found.choices] == [{"detail.sharpen": "0.6"}]
    normal = a_plan(earlier=[{"line": "detail.sharpen", "word": "normal", "now": ""}])
    assert codes(normal)["earlier-word"].consequence == "It is read as if the line were left out."
    assert "earlier-word" not in codes(a_plan())


def test_kept_grey_has_one_channel_and_a_paper_file_the_papers() -> None:
    grey = a_picture(colour_model="grey")
    kept = a_plan(picture=grey, colour_plan=a_colour(mode="keep"))
    printed = a_plan(picture=grey)

    assert printed.output.print_file_bytes == 3 * kept.output.print_file_bytes


def test_a_conflict_on_the_sheet_stops_the_plan() -> None:
    plan = a_plan(print={"width_mm": 400, "sheet": "A4"})

    assert plan.findings[0].code == "picture-off-sheet"
    assert plan.verdict.startswith("Not ready to print: The picture, 400 × 321.4 mm")


def test_cautions_are_counted_in_the_verdict() -> None:
    plan = a_plan(print={"width_mm": 285, "sheet": "297x240mm"})

    assert codes(plan)["thin-border"].weight == "caution"
    assert plan.verdict.endswith("With 1 caution.")
