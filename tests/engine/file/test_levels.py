"""True depth, combs and clipping, on histograms of made and of real pictures."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage import data

from firstsheet.engine.file.levels import Depth, channel_facts, comb_percent, true_depth

Counts = Any
PHOTOGRAPHS = ["astronaut", "chelsea", "coffee", "rocket"]


def histogram(codes: Any, bits: int) -> Counts:
    return np.bincount(np.asarray(codes, dtype=np.int64).ravel(), minlength=2**bits)


def made_tones(bits: int, n: int = 200_000) -> Any:
    """Smooth tones over most of the range, quantised to so many bits."""
    tones = np.random.default_rng(4).beta(1.6, 2.2, n)
    return np.floor(tones * 2**bits).astype(np.int64)


def test_a_true_16_bit_picture_is_believed() -> None:
    depth = true_depth([histogram(made_tones(16), 16)])

    assert depth == Depth(stored_bits=16, true_bits=16, layout="full")
    assert depth.top_code == 65535


def test_an_8_bit_picture_is_believed() -> None:
    assert true_depth([histogram(made_tones(8), 8)]).true_bits == 8


def test_an_empty_low_byte_is_found() -> None:
    depth = true_depth([histogram(made_tones(8) << 8, 16)])

    assert (depth.true_bits, depth.layout, depth.top_code) == (8, "low-bits-empty", 65280)


def test_a_doubled_byte_is_found() -> None:
    depth = true_depth([histogram(made_tones(8) * 257, 16)])

    assert (depth.true_bits, depth.layout, depth.top_code) == (8, "low-bits-repeated", 65535)


@pytest.mark.parametrize("bits", [9, 10, 12, 14])
def test_scanners_that_shift_their_bits_are_found(bits: int) -> None:
    codes = made_tones(bits)

    shifted = true_depth([histogram(codes << (16 - bits), 16)])
    repeated = true_depth([histogram((codes << (16 - bits)) | (codes >> (2 * bits - 16)), 16)])
    scaled = true_depth([histogram(np.round(codes * 65535 / (2**bits - 1)), 16)])

    assert (shifted.true_bits, shifted.layout) == (bits, "low-bits-empty")
    assert (repeated.true_bits, repeated.layout) == (bits, "low-bits-repeated")
    assert (scaled.true_bits, scaled.layout) == (bits, "low-bits-repeated")


def test_codes_left_at_the_bottom_are_found_where_they_pile_up_at_their_end() -> None:
    codes = made_tones(12)
    codes[:100] = 4095

    depth = true_depth([histogram(codes, 16)])

    assert (depth.true_bits, depth.layout, depth.top_code) == (12, "high-bits-empty", 4095)
    assert true_depth([histogram(made_tones(12) + 1, 16)]).true_bits == 16  # merely dark


def test_256_levels_after_a_curve_are_still_8_bits() -> None:
    curve = np.round(65535 * (np.arange(256) / 255) ** 1.4).astype(int)

    depth = true_depth([histogram(curve[made_tones(8)], 16)])

    assert (depth.true_bits, depth.layout) == (8, "few-levels")


def test_one_channel_of_true_depth_speaks_for_the_file() -> None:
    eight, sixteen = histogram(made_tones(8) * 257, 16), histogram(made_tones(16), 16)

    assert true_depth([eight, eight, sixteen]).true_bits == 16


@pytest.mark.parametrize("codes", [[0], [0, 65535], [256, 512, 1024]])
def test_too_few_codes_tell_nothing(codes: list[int]) -> None:
    assert true_depth([histogram(codes, 16)]).true_bits == 16


@given(st.lists(st.integers(0, 65535), min_size=8, max_size=60))
def test_the_depth_found_can_hold_every_code(codes: list[int]) -> None:
    depth = true_depth([histogram(codes, 16)])

    assert 1 <= depth.true_bits <= 16
    assert len(set(codes)) <= 2**depth.true_bits
    assert max(codes) <= depth.top_code


def test_a_histogram_of_another_size_is_refused() -> None:
    with pytest.raises(ValueError, match="256 or 65536 bins"):
        true_depth([np.zeros(100)])
    with pytest.raises(ValueError, match="256 or 65536 bins"):
        true_depth([np.zeros(256), np.zeros(65536)])


@pytest.mark.parametrize("name", PHOTOGRAPHS)
def test_photographs_show_no_comb_and_stretched_ones_do(name: str) -> None:
    picture = getattr(data, name)()

    for channel in range(3):
        plain = picture[..., channel]
        stretched = np.clip(np.round(plain * 1.3 - 10), 0, 255)
        assert comb_percent(histogram(plain, 8)) == 0.0
        # 256 of 256 * 1.3 levels can be used: 23 % stay empty.
        assert comb_percent(histogram(stretched, 8)) == pytest.approx(23, abs=2)


def test_a_comb_in_16_bits_is_found_and_few_pixels_make_none() -> None:
    generator = np.random.default_rng(6)
    codes = generator.integers(8000, 12000, 400_000) * 2

    assert comb_percent(histogram(codes, 16)) == pytest.approx(50, abs=0.1)
    assert comb_percent(histogram(codes[:10_000], 16)) == 0.0


def test_chance_gaps_of_a_true_16_bit_picture_are_no_comb() -> None:
    codes = np.random.default_rng(7).integers(0, 65536, 400_000)  # 6 pixels a level
    counts = histogram(codes, 16)

    assert np.count_nonzero(counts == 0) > 50
    assert comb_percent(counts) < 0.05


def test_a_drawing_of_few_tones_is_no_comb() -> None:
    assert comb_percent(histogram([0] * 5000 + [128] * 900 + [255] * 9000, 8)) == 0.0


def test_channel_facts_count_ends_and_levels() -> None:
    codes = np.concatenate([np.zeros(50), np.full(30, 255), np.arange(1, 21).repeat(46)])
    counts = histogram(codes, 8)

    facts = channel_facts("R", counts, true_depth([counts]), largest_high_patch_percent=2.0)

    assert (facts.lowest, facts.highest, facts.levels_used) == (0.0, 255.0, 22)
    assert facts.clipped_low_percent == pytest.approx(5.0)
    assert facts.clipped_high_percent == pytest.approx(3.0)
    assert (facts.largest_low_patch_percent, facts.largest_high_patch_percent) == (0.0, 2.0)


def test_clipping_of_a_shifted_file_is_looked_for_at_its_own_top() -> None:
    codes = np.minimum(made_tones(8) + 40, 255) << 8
    counts = histogram(codes, 16)

    facts = channel_facts("R", counts, true_depth([counts]))

    assert facts.highest == 65280
    assert facts.clipped_high_percent == pytest.approx((codes == 65280).mean() * 100)
    assert facts.clipped_high_percent > 1.0
    assert facts.comb_percent == 0.0  # not 99.6: empty low bytes are no comb


def test_a_comb_inside_an_8_bit_picture_in_16_bits_is_still_found() -> None:
    codes = np.round(made_tones(8) * 0.6) * 1.6
    counts = histogram(np.clip(np.round(codes), 0, 255) * 257, 16)

    facts = channel_facts("R", counts, true_depth([counts]))

    assert facts.comb_percent == pytest.approx(37, abs=2)


def test_floats_are_counted_in_their_own_units() -> None:
    counts = np.zeros(65536, dtype=int)
    counts[[0, 100, 65535]] = [10, 80, 10]

    facts = channel_facts("K", counts, bin_low=0.0, bin_width=1 / 65535)

    assert facts.highest == pytest.approx(1.0)
    assert facts.clipped_high_percent == pytest.approx(10.0)
    assert facts.comb_percent == 0.0


def test_a_channel_without_pixels_is_refused() -> None:
    with pytest.raises(ValueError, match="channel G has no pixels"):
        channel_facts("G", np.zeros(256))
