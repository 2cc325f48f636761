"""Lengths as people write them, and pixels on paper."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.errors import TicketError
from firstsheet.engine.units import (
    both_units,
    distance_words,
    mm_to_px,
    parse_length_mm,
    plain_number,
    px_to_mm,
    size_words,
)

ppis = st.floats(20, 2880)


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("381 mm", 381),
        ("381mm", 381),
        ("38.1cm", 381),
        ("38,1 cm", 381),
        ("15in", 381),
        ("15 inches", 381),
        ('15"', 381),
        ("15″", 381),
        ("1.5 m", 1500),
        ("8 1/2 in", 215.9),
        ("8-1/2in", 215.9),
        ("1/2 inch", 12.7),
        (" 1 IN ", 25.4),
        ("6 ft", 1828.8),
        ("5'", 1524),
        ("1 1/2 feet", 457.2),
        ("15 in.", 381),
        ("\uff11\uff15 \uff49\uff4e", 381),  # 15 in, in letters of full width
    ],
)
def test_a_length_is_read_in_every_way_people_write_it(text: str, length_mm: float) -> None:
    assert parse_length_mm(text) == length_mm


@pytest.mark.parametrize(
    "text",
    ["381", "", "mm", "-3mm", "3 yd", "1e3mm", "3..1mm", "1/0in", "8 1.5in", "3mm 4mm", "٣mm"],
)
def test_what_is_no_length_is_refused_with_the_unit_to_write(text: str) -> None:
    with pytest.raises(TicketError) as slip:
        parse_length_mm(text)

    assert slip.value.found == f"“{text}” is not a length."
    assert slip.value.choice == "Write the unit: 381mm, 38.1cm or 15in."


def test_nought_is_a_border_but_no_print_size() -> None:
    assert parse_length_mm("0 mm", zero=True) == 0
    with pytest.raises(TicketError, match="not above zero"):
        parse_length_mm("0 mm")


def test_a_shift_may_go_left() -> None:
    assert parse_length_mm("-3 mm", signed=True) == -3
    assert parse_length_mm("−0.5 in", signed=True) == -12.7
    assert parse_length_mm("+3 mm", signed=True) == 3


@pytest.mark.published
@pytest.mark.parametrize(
    ("width_mm", "height_mm", "at_300", "at_360"),
    [
        (841, 1189, (9933, 14043), (11920, 16852)),
        (594, 841, (7016, 9933), (8419, 11920)),
        (420, 594, (4961, 7016), (5953, 8419)),
        (297, 420, (3508, 4961), (4209, 5953)),
        (210, 297, (2480, 3508), (2976, 4209)),
        (148, 210, (1748, 2480), (2098, 2976)),
    ],
)
def test_iso_216_sheets_have_their_known_pixels(
    width_mm: float, height_mm: float, at_300: tuple[int, int], at_360: tuple[int, int]
) -> None:
    # A sizes: ISO 216; pixels at 300 as in any table of A sizes (A4: 2480 x 3508).
    assert (mm_to_px(width_mm, 300), mm_to_px(height_mm, 300)) == at_300
    assert (mm_to_px(width_mm, 360), mm_to_px(height_mm, 360)) == at_360


@given(st.integers(0, 400_000), ppis)
def test_pixels_to_millimetres_and_back_is_the_same_pixel(pixels: int, ppi: float) -> None:
    assert mm_to_px(px_to_mm(pixels, ppi), ppi) == pixels


@given(st.floats(0, 5000), ppis)
def test_whole_pixels_miss_a_length_by_half_a_pixel_at_most(length_mm: float, ppi: float) -> None:
    missed_px = abs(px_to_mm(mm_to_px(length_mm, ppi), ppi) - length_mm) / 25.4 * ppi

    assert missed_px <= 0.5 + 1e-6


@given(st.floats(0.1, 5000))
def test_a_length_written_in_millimetres_reads_back_exactly(length_mm: float) -> None:
    assert parse_length_mm(f"{length_mm:.12f} mm") == float(f"{length_mm:.12f}")


def test_lengths_are_said_in_both_units() -> None:
    assert both_units(381) == "381 mm (15.0 in)"
    assert both_units(12.7) == "12.7 mm (0.50 in)"
    assert size_words(210, 297) == "210 × 297 mm (8.3 × 11.7 in)"
    assert distance_words(500) == "50 cm (20 in)"
    assert distance_words(1250) == "1.25 m (49 in)"
    assert distance_words(2360) == "2.36 m (93 in)"
    assert distance_words(3048) == "3 m (10 ft)"
    assert distance_words(16250) == "16.3 m (53 ft)"


@given(st.floats(-1e5, 1e5))
def test_a_plain_number_never_shows_a_minus_nought_or_an_exponent(value: float) -> None:
    words = plain_number(value)

    assert words != "-0"
    assert "e" not in words
    assert abs(float(words) - value) <= 0.05 + 1e-6
