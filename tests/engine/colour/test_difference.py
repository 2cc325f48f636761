"""Colour difference against its papers, other libraries and its own symmetries."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.color import deltaE_ciede94, deltaE_ciede2000

from firstsheet.engine.colour.difference import delta_e_76, delta_e_94, delta_e_2000

Published = Any
LAB = st.tuples(st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120))


def pair(row: dict[str, float]) -> tuple[list[float], list[float]]:
    return [row["L1"], row["a1"], row["b1"]], [row["L2"], row["a2"], row["b2"]]


def random_pairs(n: int = 20_000) -> tuple[Any, Any]:
    """Far pairs, near pairs, and pairs with one or two greys."""
    generator = np.random.default_rng(20)
    low, high = [0, -120, -120], [100, 120, 120]
    first, second = generator.uniform(low, high, (n, 3)), generator.uniform(low, high, (n, 3))
    second[: n // 2] = first[: n // 2] + generator.normal(0, 1, (n // 2, 3))
    first[:500, 1:] = 0
    second[400:700, 1:] = 0
    return first, second


@pytest.mark.published
def test_all_34_pairs_agree_with_the_paper_to_its_last_digit(published: Published) -> None:
    rows, tolerance = published("ciede2000.csv")

    assert len(rows) == 34
    for row in rows:
        expected = pytest.approx(row["expected"], abs=tolerance)
        got = float(delta_e_2000(*pair(row)))
        on_the_cut = "other" in row and got == pytest.approx(row["other"], abs=tolerance)
        assert got == expected or on_the_cut, f"pair {row['pair']:.0f}: {got}"


@pytest.mark.published
def test_the_paper_s_own_branch_is_taken_on_the_hue_cut(published: Published) -> None:
    rows, tolerance = published("ciede2000.csv")
    on_the_cut = [row for row in rows if "other" in row]

    assert [row["pair"] for row in on_the_cut] == [10, 14]
    for row in on_the_cut:
        assert abs(float(delta_e_2000(*pair(row))) - row["expected"]) <= tolerance


@pytest.mark.published
def test_the_34_pairs_give_the_same_in_one_array_and_swapped(published: Published) -> None:
    rows, _ = published("ciede2000.csv")
    first, second = (np.array(side) for side in zip(*map(pair, rows), strict=True))
    singly = np.array([delta_e_2000(*pair(row)) for row in rows])

    np.testing.assert_allclose(delta_e_2000(first, second), singly, rtol=0, atol=1e-12)
    np.testing.assert_allclose(delta_e_2000(second, first), singly, rtol=0, atol=1e-12)


def test_ciede2000_agrees_with_two_other_libraries(colour_science: Any) -> None:
    first, second = random_pairs()
    ours = delta_e_2000(first, second)

    theirs = colour_science.delta_E(first, second, method="CIE 2000")
    np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-9)
    np.testing.assert_allclose(ours, deltaE_ciede2000(first, second), rtol=0, atol=1e-9)


@pytest.mark.published
def test_cie94_agrees_with_the_published_rows(published: Published) -> None:
    rows, tolerance = published("cie94.csv")

    for row in rows:
        graphic, textiles = delta_e_94(*pair(row)), delta_e_94(*pair(row), textiles=True)
        assert float(graphic) == pytest.approx(row["graphic_arts"], abs=tolerance)
        assert float(textiles) == pytest.approx(row["textiles"], abs=tolerance)


@pytest.mark.published
def test_cie76_and_cie94_agree_on_pairs_of_the_paper(published: Published) -> None:
    rows, tolerance = published("cie76_cie94_pairs.csv")
    pairs = {row["pair"]: pair(row) for row in published("ciede2000.csv")[0]}

    for row in rows:
        first, second = pairs[row["pair"]]
        assert float(delta_e_76(first, second)) == pytest.approx(row["cie76"], abs=tolerance)
        assert float(delta_e_94(first, second)) == pytest.approx(row["cie94"], abs=tolerance)
        swapped = float(delta_e_94(second, first))
        assert swapped == pytest.approx(row["cie94_swapped"], abs=tolerance)
        assert abs(swapped - row["cie94"]) > 0.005
        if "cie94_textiles" in row:
            textiles = float(delta_e_94(first, second, textiles=True))
            assert textiles == pytest.approx(row["cie94_textiles"], abs=tolerance)


def test_cie76_and_cie94_agree_with_other_libraries(colour_science: Any) -> None:
    first, second = random_pairs(2_000)

    cie76 = colour_science.delta_E(first, second, method="CIE 1976")
    np.testing.assert_allclose(delta_e_76(first, second), cie76, rtol=0, atol=1e-10)
    cie94 = deltaE_ciede94(first, second)
    np.testing.assert_allclose(delta_e_94(first, second), cie94, rtol=0, atol=1e-10)


@given(LAB)
def test_a_colour_does_not_differ_from_itself(colour: tuple[float, float, float]) -> None:
    assert delta_e_2000(colour, colour) == 0.0
    assert delta_e_94(colour, colour) == 0.0


@given(LAB, LAB)
def test_ciede2000_is_symmetric_and_never_negative(
    one: tuple[float, float, float], two: tuple[float, float, float]
) -> None:
    forth, back = float(delta_e_2000(one, two)), float(delta_e_2000(two, one))

    assert forth >= 0.0
    assert forth == pytest.approx(back, abs=1e-11)


@given(st.floats(0, 90), st.floats(0.1, 10))
def test_a_larger_step_in_lightness_differs_more(lightness: float, step: float) -> None:
    grey, lighter, lightest = (
        [lightness, 0, 0],
        [lightness + step / 2, 0, 0],
        [lightness + step, 0, 0],
    )

    assert delta_e_2000(grey, lightest) > delta_e_2000(grey, lighter) > 0.0


def test_shapes_broadcast_and_blocks_join_without_a_seam() -> None:
    picture = np.random.default_rng(3).uniform([0, -80, -80], [100, 80, 80], (150, 130, 3))

    whole = delta_e_2000(picture, [50.0, 10.0, -10.0])

    assert whole.shape == (150, 130)
    singly = [
        float(delta_e_2000(picture[r, c], [50, 10, -10])) for r, c in ((0, 0), (63, 2), (149, 129))
    ]
    np.testing.assert_allclose([whole[0, 0], whole[63, 2], whole[149, 129]], singly, atol=1e-12)
    assert delta_e_2000(picture[:, :1], picture[:1]).shape == (150, 130)


def test_no_colours_give_no_differences() -> None:
    assert delta_e_2000(np.zeros((0, 3)), np.zeros((0, 3))).shape == (0,)


@pytest.mark.parametrize("bad", [[1.0, 2.0], [[1.0, 2.0, 3.0, 4.0]], 5.0])
def test_what_is_no_colour_is_refused(bad: Any) -> None:
    with pytest.raises(ValueError, match=r"colours must be|broadcast"):
        delta_e_2000(bad, bad)


@pytest.mark.slow
def test_memory_beyond_the_result_stays_small() -> None:
    import tracemalloc

    first = np.zeros((2_000_000, 3))
    second = first + 1.0
    tracemalloc.start()
    result = delta_e_2000(first, second)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()

    assert peak - result.nbytes < 8 * 2**20
