"""What a scan of the film would have to be, held to known frames and sums."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.errors import TicketError
from firstsheet.engine.sizing.rescan import FILM_FORMATS, parse_film, rescan, scan_bytes


@pytest.mark.published
def test_a_60_cm_print_from_35_mm_wants_the_known_scan(published: Any) -> None:
    rows, tolerance = published("rescan_spi.csv")
    for row in rows:
        found = rescan(row["film"], width_mm=row["print_width_mm"], ppi=row["ppi"]).needed_spi
        assert found == pytest.approx(row["needed_spi"], abs=tolerance), row


@pytest.mark.published
@pytest.mark.parametrize(
    ("film", "spi", "pixels"),
    [
        ("35mm", 2400, (3401, 2267)),
        ("35mm", 4000, (5669, 3779)),
        ("6x4.5", 2400, (5291, 3921)),
        ("6x4.5", 4000, (8818, 6535)),
        ("6x6", 4000, (8818, 8818)),
        ("6x7", 4000, (10944, 8818)),
        ("6x9", 2400, (7937, 5291)),
        ("6x9", 4000, (13228, 8818)),
        ("127x101.6mm", 2400, (12000, 9600)),
        ("127x101.6mm", 4000, (20000, 16000)),
    ],
)
def test_a_frame_has_its_known_pixels(film: str, spi: float, pixels: tuple[int, int]) -> None:
    # frame sizes: common practice; pixels: frame in inches times spi, cut to whole ones
    _, long_mm, _ = parse_film(film)
    answer = rescan(film, width_mm=long_mm * spi / 300, ppi=300)

    assert answer.needed_spi == pytest.approx(spi, abs=0.1)
    assert (answer.width_px, answer.height_px) == pixels


@pytest.mark.published
@pytest.mark.parametrize(
    ("width", "height", "channels", "bits", "size"),
    [
        (3000, 2200, 3, 16, 39_600_000),
        (6000, 4000, 3, 8, 72_000_000),
        (6000, 4000, 3, 16, 144_000_000),
        (5669, 3780, 3, 16, 128_572_920),
        (4680, 6840, 3, 16, 192_067_200),
        (15840, 10560, 4, 8, 669_081_600),
        (61_000, 9_800, 3, 16, 3_586_800_000),
    ],
)
def test_bytes_are_pixels_times_channels_times_depth(
    width: int, height: int, channels: int, bits: int, size: int
) -> None:
    assert scan_bytes(width, height, channels=channels, bits=bits) == size


def test_too_coarse_a_scan_is_the_limit_and_the_gain_is_told() -> None:
    answer = rescan("35mm", width_mm=381, ppi=300, file_px=(3000, 2000))

    assert answer.present_is_limit
    assert answer.present_spi == pytest.approx(3000 / 36 * 25.4, abs=0.1)
    assert answer.needed_spi == pytest.approx(3175)
    assert "a rescan at 3175 spi gives 1.5 times the pixels a side" in answer.sentence


def test_a_fine_scan_is_not_the_limit() -> None:
    answer = rescan("6x7", width_mm=300, ppi=300, file_px=(9000, 7252))

    assert not answer.present_is_limit
    assert "enough pixels for this print" in answer.sentence


def test_beyond_what_film_holds_it_says_so() -> None:
    assert "mostly grain" in rescan("35mm", width_mm=900).sentence
    assert "mostly grain" not in rescan("35mm", width_mm=300).sentence


def test_the_frame_stands_as_the_file_does() -> None:
    upright = rescan("35mm", width_mm=200, file_px=(2000, 3000))

    assert (upright.frame_width_mm, upright.frame_height_mm) == (24, 36)
    assert upright.width_px < upright.height_px


def test_a_cropped_print_wants_a_finer_scan_of_the_whole_frame() -> None:
    whole = rescan("6x6", width_mm=300, file_px=(4000, 4000))
    half = rescan("6x6", width_mm=300, file_px=(4000, 4000), used_share=(0.5, 0.5))

    assert half.needed_spi == pytest.approx(2 * whole.needed_spi, abs=0.2)


def test_the_frame_may_be_told_in_millimetres() -> None:
    assert parse_film("24x36mm") == ("35mm", 36, 24)
    assert parse_film("56 x 70 mm") == ("70x56mm", 70, 56)
    assert parse_film("4x5in") == ("4x5in", 120, 95)
    assert parse_film("6×4,5") == ("6x4.5", 56, 41.5)
    assert parse_film("6x7cm") == ("6x7", 69.5, 56)


def test_an_unknown_film_names_those_that_come_close() -> None:
    with pytest.raises(TicketError) as slip:
        parse_film("6x8")

    assert "“6x8” is not a film format" in slip.value.found
    assert "6x7" in slip.value.choice


def test_without_a_size_nothing_is_guessed() -> None:
    with pytest.raises(TicketError, match="No print size is given"):
        rescan("35mm")


@given(st.sampled_from(list(FILM_FORMATS)), st.floats(50, 2000), st.floats(100, 720))
def test_the_wished_scan_gives_the_wished_resolution(
    film: str, width_mm: float, ppi: float
) -> None:
    answer = rescan(film, width_mm=width_mm, ppi=ppi)

    got = answer.width_px / (width_mm / 25.4)
    assert got == pytest.approx(ppi, abs=1.5 / (width_mm / 25.4) + 0.05)
    assert answer.bytes_16bit == 2 * answer.bytes_8bit
    assert math.isclose(answer.frame_width_mm, FILM_FORMATS[film][0])
