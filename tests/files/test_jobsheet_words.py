"""The words of the job sheet follow the plan."""

from __future__ import annotations

from plan_maker import make_test_plan  # type: ignore[import-not-found]  # found by pytest

from firstsheet.engine.records.plan import Plan
from firstsheet.files.jobsheet.words import (
    after_printing,
    before_printing,
    cautions,
    drying,
    feed_edge,
    headline,
    identity,
    is_order,
    loss_rows,
    settings,
    size_line,
)


def changed(part: str, **changes: object) -> Plan:
    plan = make_test_plan()
    made = make_test_plan(**{part: getattr(plan, part).model_copy(update=changes)})
    assert isinstance(made, Plan)
    return made


def row(plan: Plan, label: str) -> str:
    return dict(settings(plan))[label]


def test_sizes_are_told_in_both_units() -> None:
    assert size_line(make_test_plan()) == (
        "381.0 × 254.0 mm (15.00 × 10.00 in) on Chalk Matte 310, sheet A3+, "
        "483.0 × 329.0 mm (19.02 × 12.95 in)"
    )


def test_a_sheet_without_a_name_is_not_told_twice() -> None:
    plan = changed("sheet", name="483x329mm")

    assert "sheet 483.0 × 329.0 mm" in size_line(plan)
    assert "483x329mm" not in size_line(plan)


def test_colour_management_is_off_when_the_file_is_in_paper_colour() -> None:
    words = row(make_test_plan(), "Colour management")

    assert words.startswith("Off, everywhere: the file is already in the colours of Chalk Matte")


def test_a_file_left_in_its_output_space_says_so() -> None:
    plan = changed("colour", mode="as-is", source_name="Old Press")

    assert "came in an output space" in row(plan, "Colour management")
    assert dict(identity(plan))["Conversion"] == "none, it came in Old Press"


def test_the_dialog_is_told_scale_border_media_and_bits() -> None:
    plan = make_test_plan()

    assert row(plan, "Scaling and place").startswith("100 %")
    assert row(plan, "Borderless").startswith("Off.")
    assert row(plan, "Media setting") == "Fine art paper, matte, heavy"
    assert "16 bits" in row(plan, "Bit depth")
    assert "8 bits" in row(changed("output", bits=8), "Bit depth")


def test_an_unknown_media_setting_is_said_to_be_unknown() -> None:
    assert row(changed("stock", media_setting=""), "Media setting").startswith("None is recorded")


def test_the_file_is_told_with_its_pixels_and_bytes() -> None:
    """6846 × 4663 pixels of 6 bytes are 191,537,388 bytes (exact arithmetic)."""
    words = row(make_test_plan(), "File")

    assert "6846 × 4663 pixels at 360 pixels per inch, 191.5 MB, uncompressed." in words
    assert "BigTIFF" in row(changed("output", big_tiff=True), "File")


def test_a_wide_sheet_is_fed_by_its_left_edge_and_an_upright_one_by_its_top() -> None:
    assert feed_edge(make_test_plan()) == "left"
    assert feed_edge(changed("sheet", width_mm=329.0, height_mm=483.0)) == "top"
    assert "the left edge of the drawing enters the printer first" in row(make_test_plan(), "Feed")
    assert "5 mm bare there, 17 mm at the end" in row(make_test_plan(), "Feed")


def test_a_lab_order_asks_and_does_not_set() -> None:
    plan = changed("colour", mode="keep")

    assert is_order(plan)
    assert "Colour management" not in dict(settings(plan))
    assert "The lab converts it to its paper, once." in row(plan, "Colour")
    assert row(plan, "Corrections").startswith("None, please")
    assert drying(plan) == ()
    assert not any("Nozzle" in line for line in before_printing(plan))


def test_ruler_and_key_are_asked_for_only_where_they_are_printed() -> None:
    with_marks = " ".join(after_printing(make_test_plan()))
    without = " ".join(after_printing(changed("output", ruler=False, key=False)))

    assert "measures 100 mm ± 0.5" in with_marks
    assert "Key in the border" in with_marks
    assert "Ruler" not in without
    assert "Picture measures 381.0 × 254.0 mm" in without


def test_resin_coated_paper_dries_longer_and_all_times_are_marked_as_practice() -> None:
    matte = " ".join(drying(make_test_plan()))
    gloss = " ".join(drying(changed("stock", surface="gloss")))

    assert "Frame after 24 hours; longer in the cold." in matte
    assert "24 to 48 hours in moving air" in gloss
    assert "Common practice, no source" in matte
    assert "after 1 hour" in matte


def test_loss_is_told_with_units_and_left_out_where_nothing_is_converted() -> None:
    rows = dict(loss_rows(make_test_plan()))

    assert rows["Colour difference"].startswith("mean 1.4, 95 % below 4.7, largest 13.2 ΔE00")
    assert rows["Merged shadows"].startswith("9 of 256 grey levels")
    assert loss_rows(make_test_plan(loss=None)) == ()


def test_identity_names_source_profile_plan_and_version() -> None:
    rows = dict(identity(make_test_plan()))

    assert rows["Picture"] == "ferry-stairs.tif"
    assert rows["SHA-256 of it"] == "9f2c41d07be3a855"
    assert rows["Plan"] == "c3d1f7a2b4e59687"
    assert rows["Made by"] == "firstsheet 0.1.0"
    assert "relative colorimetric, black point compensation, once" in rows["Conversion"]


def test_a_path_of_another_system_gives_the_same_headline() -> None:
    plan = make_test_plan()
    windows = plan.picture.model_copy(update={"path": "C:\\scans\\ferry-stairs.tif"})

    assert headline(make_test_plan(picture=windows)) == headline(plan) == "ferry-stairs"


def test_cautions_defer_to_local_rules() -> None:
    words = " ".join(cautions())

    assert "Local rules and the makers' instructions come before this sheet." in words
    assert all(word in words for word in ("Blades", "Varnish", "Hanging"))
