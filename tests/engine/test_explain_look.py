"""Figures and lines about sharpness say what the plan holds, with their source."""

from __future__ import annotations

from firstsheet.engine.explain_look import look_figures
from firstsheet.engine.records.sharpness import HaloOnPrint, LookPlan, PrintNoise
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.print_chain import Chain
from firstsheet.engine.sharpness.rows import look_rows
from firstsheet.engine.sharpness.strength import solve_strength

FITTED = solve_strength(Chain(spread_mm=0.045), 500.0, surface="matte")
LOOK = LookPlan(
    basis="edges", distance_mm=500, spread_mm=0.045, acutance_plain=0.61, acutance_sharpened=0.85,
    target=0.76, overshoot_l=2.5, halo_mm=0.4, halo_limit_mm=0.42, sharp_from_mm=399.3,
    soft_below_mm=265.3, sentence="Reads as sharp from 40 cm on; soft closer than 27 cm.",
    fitted=FITTED, wished_strength=1.0,
    grain=PrintNoise(
        sigma_l=1.3, size_mm=0.3, distance_mm=500, visible=True, times_threshold=5.0,
        gone_from_mm=1500, sentence="Medium grain, 0.30 mm on the print, gone from 1.5 m on.",
    ),
    file_halo=HaloOnPrint(width_mm=0.4, visible_from_mm=470, sentence="Sharpened already."),
)  # fmt: skip


def test_every_figure_of_sharpness_has_a_formula_inputs_and_a_source() -> None:
    figures = {one.key: one for one in look_figures(LOOK)}
    assert set(figures) == {
        "sharpness", "sharpness-wanted", "rim-width", "sharp-from", "fitted-strength", "grain",
        "file-rims",
    }  # fmt: skip
    assert all(one.how.formula and one.how.source and one.how.inputs for one in figures.values())
    assert figures["sharpness"].value == "0.85"
    assert figures["sharp-from"].value == "40 cm (16 in)"
    assert figures["fitted-strength"].number == FITTED.strength


def test_what_is_not_known_is_not_shown() -> None:
    bare = LOOK.model_copy(
        update={"fitted": None, "grain": None, "file_halo": None, "sharp_from_mm": None}
    )
    assert [one.key for one in look_figures(bare)] == ["sharpness", "sharpness-wanted", "rim-width"]
    normal = sharpen_plan(wish=1, radius_mm=None, surface="matte", distance_mm=500, ppi=360)
    assert [label for label, _ in look_rows(bare, normal)] == ["Looks", "Halos"]


def test_the_lines_say_the_sentence_and_what_would_fit() -> None:
    normal = sharpen_plan(wish=1, radius_mm=None, surface="matte", distance_mm=500, ppi=360)
    lines = dict(look_rows(LOOK, normal))
    assert lines["Looks"] == (
        "Reads as sharp from 40 cm on; soft closer than 27 cm. From 50 cm (20 in): 0.85 of a "
        "perfect print, 0.61 without sharpening, 0.76 wanted"
    )
    assert lines["Fitted would be"].startswith(f"strength {FITTED.strength:.2f}, radius 0.")
    as_fitted = dict(look_rows(LOOK, normal.model_copy(update={"name": "fitted"})))
    assert "Fitted would be" not in as_fitted
    assert as_fitted["Fitted"].startswith("to 1.0")
