"""Noise that is the same every time, even, and smooth."""

import numpy as np

from harbour.noise import chance, fbm, fbm_grid, four_chances, gradient_noise


def test_chances_are_even_and_independent_of_their_neighbours() -> None:
    values = np.array([[chance(x, y, 7) for x in range(150)] for y in range(150)])

    counts, _ = np.histogram(values, bins=10, range=(0, 1))
    # chi-square of 9 degrees of freedom stays below 27.9 in 999 of 1000 cases (any table)
    assert ((counts - 2250) ** 2 / 2250).sum() < 27.9
    beside = np.corrcoef(values[:, :-1].ravel(), values[:, 1:].ravel())[0, 1]
    below = np.corrcoef(values[:-1].ravel(), values[1:].ravel())[0, 1]
    assert abs(beside) < 0.03
    assert abs(below) < 0.03


def test_four_chances_differ_from_each_other() -> None:
    values = np.array([four_chances(x, 3, 11) for x in range(4000)])

    assert np.abs(np.corrcoef(values.T) - np.eye(4)).max() < 0.06
    assert np.abs(values.mean(axis=0) - 0.5).max() < 0.03


def test_fields_differ_and_the_same_place_gives_the_same_value() -> None:
    assert chance(4, 9, 1) == chance(4, 9, 1)
    assert chance(4, 9, 1) != chance(4, 9, 2)
    assert chance(-4, 9, 1) != chance(4, 9, 1)


def test_gradient_noise_is_zero_on_its_grid() -> None:
    # by construction: Perlin, "An image synthesizer", SIGGRAPH 1985
    assert all(gradient_noise(float(x), float(y), 5) == 0.0 for x in (-3, 0, 8) for y in (-2, 4))


def test_gradient_noise_has_no_steps() -> None:
    x = np.linspace(-3, 5, 4001)
    values = np.array([gradient_noise(a, 0.37, 5) for a in x])

    assert np.abs(np.diff(values)).max() < 0.01
    assert values.max() - values.min() > 0.5


def test_octaves_add_detail_but_no_bias() -> None:
    x, y = np.meshgrid(np.linspace(0, 40, 80), np.linspace(0, 40, 80))
    values = fbm_grid(x, y, 5, 20)

    assert abs(values.mean()) < 0.05
    assert values[3, 7] == fbm(x[3, 7], y[3, 7], 5, 20)
    assert np.abs(values).max() < 1.2
