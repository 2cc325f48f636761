"""Shares, tallies and merged shadows, against NumPy and printed examples."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.engine.loss.measure import (
    BAND_EDGES_DE00,
    LossTally,
    loss_bands,
    loss_facts,
    merged_limit_l,
    merged_shadow_levels,
    shadow_share_percent,
)
from firstsheet.engine.loss.shadows import SHADOW_TOLERANCE_L

DIFFERENCES = st.lists(st.floats(0, 60), min_size=1, max_size=200)


def made_differences(n: int = 50_000) -> Any:
    return np.random.default_rng(5).gamma(1.5, 1.3, n)


@given(DIFFERENCES)
def test_the_bands_are_those_of_a_plain_histogram(values: list[float]) -> None:
    counts, _ = np.histogram(values, bins=[0, *BAND_EDGES_DE00, np.inf])

    np.testing.assert_allclose(loss_bands(values), counts / len(values) * 100, atol=1e-9)


@given(DIFFERENCES, st.floats(0, 12))
def test_the_bands_are_whole_and_a_floor_moves_pixels_down_only(
    values: list[float], floor: float
) -> None:
    plain, floored = np.cumsum(loss_bands(values)), np.cumsum(loss_bands(values, floor))

    assert plain[-1] == pytest.approx(100)
    assert floored[-1] == pytest.approx(100)
    assert (floored >= plain - 1e-9).all()


def test_a_difference_below_the_floor_is_no_loss() -> None:
    assert loss_bands([1.5, 2.2, 2.4, 7.0], floor_de00=2.34) == (50.0, 0.0, 25.0, 25.0, 0.0)


def test_the_tally_agrees_with_numpy_on_the_whole() -> None:
    values = made_differences()
    tally = LossTally()
    for block in np.array_split(values, 17):
        tally.add(block)
    spread = tally.result()

    assert spread.n_pixels == values.size
    assert spread.mean_de00 == pytest.approx(values.mean(), abs=1e-9)
    assert spread.max_de00 == values.max()
    assert spread.p95_de00 == pytest.approx(np.percentile(values, 95), abs=0.01)
    for percent in (1, 25, 50, 99, 99.9):
        expected = np.percentile(values, percent)
        assert tally.percentile(percent) == pytest.approx(expected, abs=0.012)
    counts, _ = np.histogram(values, bins=[0, *BAND_EDGES_DE00, np.inf])
    np.testing.assert_allclose(spread.bands_percent, counts / values.size * 100)


def test_two_tallies_joined_are_one() -> None:
    values = made_differences(1000)
    whole, left, right = LossTally(0.5), LossTally(0.5), LossTally(0.5)
    whole.add(values)
    left.add(values[:300])
    right.add(values[300:].reshape(7, 100))
    left.merge(right)

    assert left.result().bands_percent == whole.result().bands_percent
    assert left.result().p95_de00 == whole.result().p95_de00
    assert left.result().mean_de00 == pytest.approx(whole.result().mean_de00, rel=1e-12)
    with pytest.raises(ValueError, match="floors differ"):
        left.merge(LossTally(1.0))


def test_a_tally_of_equal_values_gives_that_value() -> None:
    tally = LossTally()
    tally.add(np.full(10, 3.0))

    assert tally.result().p95_de00 == pytest.approx(3.0, abs=0.01)
    assert tally.result().bands_percent == (0.0, 0.0, 100.0, 0.0, 0.0)


def test_differences_beyond_the_scale_keep_their_maximum() -> None:
    tally = LossTally()
    tally.add([0.1, 250.0])

    assert tally.result().max_de00 == 250.0
    assert tally.result().bands_percent[4] == 50.0


@pytest.mark.parametrize("bad", [[-0.1], [float("nan")], [float("inf")]])
def test_a_tally_refuses_what_is_no_difference(bad: list[float]) -> None:
    with pytest.raises(ValueError, match="finite and 0 or more"):
        LossTally().add(bad)
    with pytest.raises(ValueError, match="nothing was added"):
        LossTally().result()
    with pytest.raises(ValueError, match="floor_de00"):
        LossTally(float("nan"))


@pytest.mark.published
def test_greys_that_all_print_alike_are_counted_as_one_merged_tone() -> None:
    # Public trade writing on a press profile without black point compensation: all sRGB greys
    # 0 to 36 print at L* 16.9. With compensation they spread from 17.3 to 23.5.
    without = np.concatenate([np.full(37, 16.9), np.linspace(18.2, 95, 219)])
    with_it = np.concatenate([np.linspace(17.3, 23.5, 37), np.linspace(24, 95, 219)])

    assert merged_shadow_levels(without) == 37
    assert merged_shadow_levels(with_it) == 6  # 0.172 L* a level: five steps stay within 1


def test_the_tolerance_is_less_than_one_visible_difference_in_the_dark(
    colour_science: Any,
) -> None:
    # The stated reason for 1 L*: below the first loss band everywhere under L* 20 ...
    for lightness in (0.0, 5.0, 10.0, 15.0, 20.0):
        pair = np.array([[lightness, 0, 0], [lightness + SHADOW_TOLERANCE_L, 0, 0]])
        difference = colour_science.delta_E(pair[0], pair[1], method="CIE 2000")
        assert 0.57 < difference < 0.70
    # ... and more than two steps of an 8-bit L* table (ICC lut8: 100 / 255).
    assert SHADOW_TOLERANCE_L > 2 * 100 / 255


@given(st.lists(st.floats(0, 100), min_size=1, max_size=256), st.floats(0, 5))
def test_at_least_black_itself_is_counted_and_a_wider_tolerance_merges_no_fewer(
    ramp: list[float], tolerance: float
) -> None:
    merged = merged_shadow_levels(sorted(ramp), tolerance)

    assert 1 <= merged <= len(ramp)
    assert merged <= merged_shadow_levels(sorted(ramp), tolerance + 0.5)


def test_a_dip_above_black_does_not_hide_the_merged_levels() -> None:
    assert merged_shadow_levels([17.0, 16.5, 16.2, 16.4, 17.9, 16.3, 30.0]) == 4


@pytest.mark.parametrize("bad", [[], [[1.0, 2.0]]])
def test_a_ramp_is_one_row(bad: Any) -> None:
    with pytest.raises(ValueError, match="grey ramp is one row"):
        merged_shadow_levels(bad)


def test_the_limit_lies_between_the_last_merged_and_the_first_separate_level() -> None:
    ramp = [0.0, 2.0, 4.0, 6.0]

    assert merged_limit_l(ramp, 1) == 0.0
    assert merged_limit_l(ramp, 2) == 3.0
    assert merged_limit_l(ramp, 4) == 6.0


def test_the_share_below_a_limit_is_the_share_of_pixels_below_it() -> None:
    lightness = np.random.default_rng(2).uniform(0, 100, 200_000)
    counts, _ = np.histogram(lightness, bins=1000, range=(0, 100))

    for limit in (0.0, 3.33, 50.0, 100.0):
        expected = np.count_nonzero(lightness <= limit) / lightness.size * 100
        assert shadow_share_percent(counts, limit) == pytest.approx(expected, abs=0.01)
    with pytest.raises(ValueError, match="empty"):
        shadow_share_percent([0, 0], 10)


def test_the_facts_carry_contrast_of_white_over_black() -> None:
    tally = LossTally(0.7)
    tally.add([0.5, 1.5, 3.0, 12.0])

    facts = loss_facts(
        tally.result(),
        merged_levels=37,
        merged_percent=9.0,
        white_lab=(95.5, 0.0, 2.0),
        black_lab=(17.0, 0.0, 0.0),
    )

    assert facts.contrast == pytest.approx(39, abs=0.5)  # public trade writing: 1:39
    assert facts.bands_percent == (25.0, 25.0, 25.0, 0.0, 25.0)
    assert (facts.merged_shadow_levels, facts.merged_shadow_percent) == (37, 9.0)
    assert facts.recommended is None
    assert facts.recommendation == ""


def test_a_profile_that_claims_perfect_black_gives_a_finite_contrast() -> None:
    tally = LossTally()
    tally.add([0.0])

    facts = loss_facts(
        tally.result(),
        merged_levels=1,
        merged_percent=0.0,
        white_lab=(100.0, 0.0, 0.0),
        black_lab=(0.0, 0.0, 0.0),
    )

    assert facts.contrast == pytest.approx(1e5)
