"""What the plan says about colour: one conversion, the intent, the loss."""

from __future__ import annotations

from typing import Any

import pytest

from firstsheet.engine.planning import make_plan
from firstsheet.engine.records import (
    Finding,
    IntentFacts,
    MarginsMm,
    PictureFacts,
    ProfileFacts,
    Stock,
    StockFacts,
    Ticket,
)
from firstsheet.engine.records.plan import ColourPlan, IntentLoss, LossFacts, Plan

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
    loss: LossFacts | None = None,
    **ticket: Any,
) -> Plan:
    return make_plan(
        ticket=a_ticket(**ticket),
        facts=picture or a_picture(),
        stock=stock or a_stock(),
        colour=colour_plan or a_colour(),
        loss=loss,
        version="0.1.0",
    )


def a_loss(**more: Any) -> LossFacts:
    loss: dict[str, Any] = {
        "mean_de00": 1.2,
        "p95_de00": 4.0,
        "max_de00": 9.0,
        "floor_de00": 0.7,
        "bands_percent": (60.0, 25.0, 12.0, 3.0, 0.0),
        "merged_shadow_levels": 1,
        "merged_shadow_percent": 0.0,
        "white_l": 95.7,
        "black_l": 30.7,
        "contrast": 14.0,
    }
    return LossFacts(**(loss | more))


def codes(plan: Plan) -> dict[str, Finding]:
    return {one.code: one for one in plan.findings}


OUTPUT = ProfileFacts(description="some press", colour_space="RGB", kind="output", sha256="b" * 64)


def test_a_file_already_in_a_printers_colours_is_not_converted_again() -> None:
    plan = a_plan(picture=a_picture(profile=OUTPUT))

    assert codes(plan)["converted-twice"].weight == "stop"
    assert plan.verdict.startswith("Not ready to print: The file is already in a printer's")


def test_unless_the_person_insists() -> None:
    plan = a_plan(picture=a_picture(profile=OUTPUT), colour={"convert_again": True})

    assert codes(plan)["converted-twice"].weight == "caution"


def test_a_press_file_is_converted_without_a_stop() -> None:
    plan = a_plan(picture=a_picture(profile=OUTPUT, colour_model="cmyk"))

    assert "converted-twice" not in codes(plan)


def test_colours_kept_for_a_lab_are_said_to_be_kept() -> None:
    plan = a_plan(colour_plan=a_colour(mode="keep"), colour={"keep": True})

    assert codes(plan)["colour-kept"].weight == "fine"


def test_a_file_that_carries_the_papers_own_profile_is_fine_as_it_is() -> None:
    stock = a_stock(facts=stock_facts(sha256=OUTPUT.sha256))
    colour = a_colour(mode="as-is", source_name="some press")
    mine = a_plan(picture=a_picture(profile=OUTPUT), stock=stock, colour_plan=colour)

    assert codes(mine)["colour-as-is"].weight == "fine"


def test_a_file_for_another_paper_stops_until_the_person_insists() -> None:
    colour = a_colour(mode="as-is", source_name="some press")
    asked = a_plan(picture=a_picture(profile=OUTPUT), colour_plan=colour)
    insisted = a_plan(picture=a_picture(profile=OUTPUT), colour_plan=colour, colour={"keep": True})

    assert codes(asked)["output-profile"].weight == "stop"
    assert any(
        choice.change == {"colour.keep": "true"}
        for choice in codes(asked)["output-profile"].choices
    )
    assert codes(insisted)["colour-as-is"].weight == "caution"


def test_a_file_without_profile_is_told_once() -> None:
    told = Finding(code="untagged-rgb", weight="caution", found="No profile.", consequence="sRGB.")
    plan = a_plan(picture=a_picture(profile=None, read_as="srgb", findings=(told,)))
    assert [one.code for one in plan.findings if "profile" in one.found] == ["untagged-rgb"]


def stock_facts(**profile: Any) -> StockFacts:
    return StockFacts(
        profile=ProfileFacts(kind="output", **profile),
        white_lab=(95.7, 0.6, -2.3),
        black_lab=(30.0, 0.0, 0.0),
        white_density=0.05,
        black_density=1.2,
        contrast=14,
        gamut_volume=173_000,
        intents=(
            IntentFacts(intent="relative", has_table=True),
            IntentFacts(intent="saturation", has_table=False, same_as="relative"),
        ),
        floor_p95_de00=0.8,
        floor_p99_de00=1.4,
        floor_max_de00=2.5,
    )


@pytest.mark.parametrize(
    ("lux", "weight", "cd_m2", "says"),
    [
        # L = E rho / pi with the white of an offset paper, rho 0.8762 (L* 95.0): printed tables
        (500, "fine", 139.5, "about as bright as a screen of 120 cd/m²"),
        (200, "fine", 55.8, "1.1 stops darker"),
        (2000, "fine", 557.8, "2.2 stops brighter"),
        (60, "caution", 16.7, "2.8 stops darker"),
    ],
)
def test_the_light_at_the_place_is_told_in_stops(
    lux: float, weight: str, cd_m2: float, says: str
) -> None:
    facts = stock_facts().model_copy(update={"white_lab": (95.0, 0.0, -2.0)})
    plan = a_plan(stock=a_stock(facts=facts), place={"illuminance_lux": lux})

    found = codes(plan)["light-at-place"]
    assert found.weight == weight
    assert found.figures["white_cd_m2"] == pytest.approx(cd_m2, abs=0.1)
    assert says in found.consequence


def test_identical_intents_of_a_profile_are_no_choice() -> None:
    plan = a_plan(stock=a_stock(facts=stock_facts(problems=("white point is missing.",))))

    assert codes(plan)["profile-intents-identical"].found == (
        "In the profile of Chalk Matte 310, saturation gives the same as relative."
    )
    assert "white point is missing." in codes(plan)["stock-profile"].found


def an_intent(intent: str, apart: float) -> IntentLoss:
    return IntentLoss.model_validate(
        {
            "intent": intent,
            "mean_de00": 1,
            "p95_de00": 2,
            "share_over_2_percent": 5,
            "share_over_5_percent": 1,
            "merged_levels": 1,
            "differs_from_chosen_max_de00": apart,
        }
    )


def test_no_visible_difference_between_intents_is_said_with_its_number() -> None:
    loss = a_loss(intents=(an_intent("relative", 0), an_intent("perceptual", 0.4)))

    assert "at most ΔE00 0.4" in codes(a_plan(loss=loss))["intents-alike"].found


def test_a_better_intent_is_recommended_with_its_reason() -> None:
    loss = a_loss(
        intents=(an_intent("relative", 0), an_intent("perceptual", 6)),
        recommended="perceptual",
        recommendation="It keeps the drawing of the red hull.",
    )

    found = codes(a_plan(loss=loss))["other-intent-better"]
    assert found.consequence == "It keeps the drawing of the red hull."
    assert found.choices[0].change == {"colour.intent": "perceptual"}


def test_much_lost_colour_and_merged_shadows_are_cautions() -> None:
    loss = a_loss(
        bands_percent=(50, 20, 20, 7, 3), merged_shadow_levels=19, merged_shadow_percent=12.3
    )
    found = codes(a_plan(loss=loss))

    assert found["colour-lost"].weight == "caution"
    assert "30 % of the picture shifts by more than ΔE00 2, 10 % by more than 5" in (
        found["colour-lost"].found
    )
    assert found["shadows-merged"].found == (
        "The 19 darkest of 256 grey levels merge into black; 12 % of the picture lies there."
    )
    assert codes(a_plan(loss=a_loss()))["colour-lost"].weight == "fine"
    assert "shadows-merged" not in codes(a_plan(loss=a_loss()))


def test_no_black_point_compensation_is_a_caution() -> None:
    assert codes(a_plan(colour_plan=a_colour(black_point=False)))["no-black-point"]
