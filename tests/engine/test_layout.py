"""The picture on its sheet: sums that must come out to the pixel, and conflicts told."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.layout.findings import sheet_plan_findings
from firstsheet.engine.layout.sheet import (
    as_it_faces,
    picture_width_mm,
    place_picture,
    room_for_picture,
    sensible_border_mm,
    turned_margins,
)
from firstsheet.engine.records import BorderWish, Finding, MarginsMm, PrintWish
from firstsheet.engine.records.plan import SheetPlan
from firstsheet.engine.sheets import parse_sheet
from firstsheet.engine.units import mm_to_px, px_to_mm

NO_MARGINS = MarginsMm(top=0, right=0, bottom=0, left=0)
FOOT = MarginsMm(top=5, right=5, bottom=17, left=5)  # a wide forced foot, as fed

borders = st.builds(
    BorderWish,
    kind=st.sampled_from(["centred", "even", "weighted", "sides"]),
    even_mm=st.none() | st.floats(1, 60),
    top_mm=st.none() | st.floats(0, 60),
    right_mm=st.none() | st.floats(0, 60),
    bottom_mm=st.none() | st.floats(0, 60),
    left_mm=st.none() | st.floats(0, 60),
    shift_x_mm=st.floats(-30, 30),
    shift_y_mm=st.floats(-30, 30),
)


def placed(
    *,
    sheet: str = "483x330mm",
    picture_mm: tuple[float, float] = (381, 254),
    border: BorderWish | None = None,
    margins: MarginsMm = NO_MARGINS,
    ppi: float = 360,
) -> SheetPlan:
    paper = parse_sheet(sheet)
    return place_picture(
        sheet=paper,
        width_mm=paper.width_mm,
        height_mm=paper.height_mm,
        margins=margins,
        border=border or BorderWish(),
        picture_px=(mm_to_px(picture_mm[0], ppi), mm_to_px(picture_mm[1], ppi)),
        ppi=ppi,
    )


def said(
    plan: SheetPlan,
    picture_mm: tuple[float, float] = (381, 254),
    border: BorderWish | None = None,
    *,
    ruler: bool = False,
    key: bool = False,
) -> dict[str, Finding]:
    findings = sheet_plan_findings(
        plan, border=border or BorderWish(), picture_mm=picture_mm, ruler=ruler, key=key
    )
    return {one.code: one for one in findings}


@given(
    st.floats(60, 1300),
    st.floats(60, 1300),
    st.integers(1, 6000),
    st.integers(1, 6000),
    st.floats(72, 720),
    borders,
)
def test_borders_and_picture_add_up_to_the_sheet_exactly_in_pixels(
    width_mm: float, height_mm: float, across: int, down: int, ppi: float, border: BorderWish
) -> None:
    plan = place_picture(
        sheet=parse_sheet("A4"),
        width_mm=width_mm,
        height_mm=height_mm,
        margins=NO_MARGINS,
        border=border,
        picture_px=(across, down),
        ppi=ppi,
    )

    top, right, bottom, left = (side * ppi / 25.4 for side in plan.border_mm)
    assert plan.picture_left_px == pytest.approx(left, abs=1e-6)
    assert plan.picture_top_px == pytest.approx(top, abs=1e-6)
    assert round(left) + across + round(right) == plan.width_px
    assert round(top) + down + round(bottom) == plan.height_px
    assert plan.width_mm == px_to_mm(plan.width_px, ppi)
    assert abs(plan.width_mm - width_mm) <= 25.4 / ppi / 2 + 1e-9


@given(borders, st.floats(0, 40), st.floats(0.3, 3), st.booleans())
def test_a_wider_border_never_enlarges_the_picture(
    border: BorderWish, more_mm: float, aspect: float, margins: bool
) -> None:
    paper = FOOT if margins else NO_MARGINS
    wider = {
        name: value + more_mm
        for name in ("even_mm", "top_mm", "right_mm", "bottom_mm", "left_mm")
        if (value := getattr(border, name)) is not None
    }
    narrow_room = room_for_picture(329, 483, paper, border)
    wide_room = room_for_picture(329, 483, paper, border.model_copy(update=wider))

    wide, narrow = (picture_width_mm(PrintWish(), aspect, r) for r in (wide_room, narrow_room))
    assert wide <= narrow + 1e-9


@given(
    st.sampled_from(["centred", "even", "weighted"]),
    st.floats(0, 40),
    st.floats(0, 40),
    st.floats(0, 40),
    st.floats(0, 40),
    st.floats(0.3, 3),
)
def test_a_picture_that_fills_the_sheet_stays_printable(
    kind: str, top: float, right: float, bottom: float, left: float, aspect: float
) -> None:
    margins = MarginsMm(top=top, right=right, bottom=bottom, left=left)
    border = BorderWish.model_validate({"kind": kind})
    room = room_for_picture(329, 483, margins, border)
    width_mm = picture_width_mm(PrintWish(), aspect, room)

    plan = placed(
        sheet="A3+", picture_mm=(width_mm, width_mm / aspect), border=border, margins=margins
    )

    least = (top, right, bottom, left)
    assert all(have >= want - 0.1 for have, want in zip(plan.border_mm, least, strict=True))
    assert plan.fits_printable


def test_a_centred_picture_has_equal_borders_left_and_right() -> None:
    plan = placed()

    # 483 - 381 = 102, 330 - 254 = 76: halves are 51 and 38
    assert plan.border_mm == pytest.approx((38, 51, 38, 51), abs=0.08)


def test_the_framers_worked_example_comes_out() -> None:
    # A framer's published sum: glass 14 x 11 in, window 9.75 x 7.75 in leaves 2.125 in at the
    # sides and 1.625 in above and below.
    plan = placed(sheet="14x11in", picture_mm=(9.75 * 25.4, 7.75 * 25.4), ppi=400)

    inches = [side / 25.4 for side in plan.border_mm]
    assert inches == pytest.approx([1.625, 2.125, 1.625, 2.125], abs=1e-9)


def test_an_even_border_is_equal_all_round_where_the_shapes_allow() -> None:
    border = BorderWish(kind="even", even_mm=40)
    room = room_for_picture(480, 330, NO_MARGINS, border)

    assert (room.width_mm, room.height_mm) == (400, 250)
    plan = placed(sheet="480x330mm", picture_mm=(400, 250), border=border)
    assert max(plan.border_mm) - min(plan.border_mm) <= 2 * 25.4 / 360
    assert said(plan, (400, 250), border) == {}


def test_an_even_border_that_the_shapes_forbid_says_how_to_get_it() -> None:
    border = BorderWish(kind="even", even_mm=40)
    plan = placed(picture_mm=(375, 250), border=border)

    found = said(plan, (375, 250), border)["border-not-even"]
    assert found.weight == "caution"
    assert found.found == (
        "Picture and sheet differ in shape: the borders are 54 mm left and right, 40 mm above "
        "and below."
    )
    assert "Trim the sheet to 455" in found.choices[0].text
    assert found.choices[1].change == {"crop.shape": "sheet"}


def test_an_even_border_that_a_given_size_does_not_leave_is_named() -> None:
    border = BorderWish(kind="even", even_mm=60)
    found = said(placed(picture_mm=(300, 250), border=border), (300, 250), border)
    assert found["border-not-even"].found == (
        "Picture and sheet differ in shape: the borders are 91.5 mm left and right, 40 mm above "
        "and below, not 60 mm."
    )


def test_a_weighted_foot_is_a_fifth_wider_up_to_half_an_inch() -> None:
    # common practice, no source: + 20 %, or about half an inch
    small = placed(sheet="A4", picture_mm=(150, 253), border=BorderWish(kind="weighted"))
    top, _, bottom, _ = small.border_mm
    assert bottom / top == pytest.approx(1.2, rel=0.01)

    large = placed(sheet="A1", picture_mm=(300, 400), border=BorderWish(kind="weighted"))
    top, _, bottom, _ = large.border_mm
    assert bottom - top == pytest.approx(12, abs=0.1)


def test_a_weighted_foot_is_never_narrower_than_the_unprintable_one() -> None:
    border = BorderWish(kind="weighted")
    room = room_for_picture(210, 297, FOOT, border)
    assert (room.top_mm, room.height_mm) == (13, 297 - 13 - 17)

    plan = placed(sheet="A4", picture_mm=(150, room.height_mm), border=border, margins=FOOT)
    assert plan.border_mm[2] == pytest.approx(17, abs=0.08)
    assert plan.fits_printable


def test_sides_are_kept_as_given() -> None:
    border = BorderWish(kind="sides", top_mm=50, left_mm=30)
    plan = placed(border=border)
    assert plan.border_mm[3] == pytest.approx(30, abs=0.04)
    assert plan.border_mm[0] == pytest.approx(50, abs=0.04)

    border = BorderWish(kind="sides", bottom_mm=65, right_mm=20)
    plan = placed(border=border)
    assert plan.border_mm[1] == pytest.approx(20, abs=0.04)
    assert plan.border_mm[2] == pytest.approx(65, abs=0.04)


def test_sides_that_do_not_add_up_are_told() -> None:
    border = BorderWish(kind="sides", left_mm=40, right_mm=40)
    found = said(placed(border=border), border=border)["sides-do-not-add-up"]

    assert "left 51 instead of 40 mm" in found.found
    assert found.weight == "caution"


def test_a_shift_moves_right_and_down() -> None:
    still, moved = placed(), placed(border=BorderWish(shift_x_mm=10, shift_y_mm=-5))

    assert moved.border_mm[3] - still.border_mm[3] == pytest.approx(10, abs=0.08)
    assert moved.border_mm[0] - still.border_mm[0] == pytest.approx(-5, abs=0.08)


def test_the_sheet_follows_the_picture_unless_told_otherwise() -> None:
    sheet = parse_sheet("A4")

    assert as_it_faces(sheet, 1.5, "auto") == (297, 210)
    assert as_it_faces(sheet, 0.7, "auto") == (210, 297)
    assert as_it_faces(sheet, 1.0, "auto") == (210, 297)
    assert as_it_faces(sheet, 1.5, "as-given") == (210, 297)
    assert as_it_faces(parse_sheet("297x210mm"), 0.7, "as-given") == (297, 210)


def test_the_edge_that_enters_first_is_the_left_edge_of_a_wide_sheet() -> None:
    fed = MarginsMm(top=1, right=2, bottom=3, left=4)

    assert turned_margins(fed, 210, 297) == fed
    # a quarter turn anticlockwise: top goes left, right goes up, bottom goes right, left goes down
    assert turned_margins(fed, 297, 210) == MarginsMm(left=1, top=2, right=3, bottom=4)


def test_a_picture_off_the_sheet_stops_and_names_the_largest_that_fits() -> None:
    plan = placed(sheet="A4", picture_mm=(300, 200), margins=MarginsMm())

    found = said(plan, (300, 200))["picture-off-sheet"]
    assert found.weight == "stop"
    assert "45 mm at the right and 45 mm at the left" in found.found
    # 210 - 2 x 3 = 204 mm fit across
    assert "204 × 136 mm" in found.choices[0].text
    # 300 x 200 and 10 mm all round: A3 (297 x 420) is the first that holds it
    assert found.choices[1].change == {"print.sheet": "A3"}


def test_a_picture_in_the_unprintable_zone_stops() -> None:
    plan = placed(sheet="A4", picture_mm=(180, 270), margins=FOOT)

    # 297 - 270 leaves 13.5 mm at the foot, 17 are needed
    found = said(plan, (180, 270))["picture-in-margin"]
    assert found.weight == "stop"
    assert found.found == ("The picture lies where the printer cannot reach: 3.5 mm at the bottom.")
    assert not plan.fits_printable


def test_a_shift_into_the_margin_is_answered_with_centring() -> None:
    border = BorderWish(shift_x_mm=50)
    plan = placed(border=border, margins=MarginsMm(top=3, right=3, bottom=3, left=3))

    assert said(plan, border=border)["picture-in-margin"].choices[0].text.startswith("Centre")


def test_a_thin_border_is_a_caution() -> None:
    plan = placed(sheet="A4", picture_mm=(200, 280))

    found = said(plan, (200, 280))["thin-border"]
    assert found.weight == "caution"
    assert found.found == "The narrowest border is 4.9 mm (0.19 in)."


def test_the_true_centre_and_the_printable_areas_centre_are_told_apart() -> None:
    upright = said(placed(sheet="A3+", picture_mm=(200, 300), margins=FOOT), (200, 300))
    assert "6 mm above the sheet's" in upright["area-off-centre"].found

    wide = turned_margins(FOOT, 483, 330)
    turned = said(placed(margins=wide))
    assert "6 mm left of the sheet's" in turned["area-off-centre"].found
    assert "taken to be the left one" in turned["area-off-centre"].found
    assert said(placed(margins=MarginsMm())) == {}


def test_ruler_and_key_want_room() -> None:
    tight = placed(sheet="A4", picture_mm=(195, 282), margins=MarginsMm())
    found = said(tight, (195, 282), ruler=True, key=True)["no-room-in-border"]
    assert "ruler and key want 8 mm" in found.found

    assert "no-room-in-border" not in said(placed(margins=MarginsMm()), ruler=True, key=True)


def test_the_clear_edge_grows_with_the_sheet() -> None:
    # labs' advice: 6 mm to 8x10 in, 13 to 16x20, 19 to 20x30, 25 above
    edges = [
        sensible_border_mm(*size) for size in ((203, 254), (406, 508), (508, 762), (841, 1189))
    ]

    assert edges == [6, 13, 19, 25]
