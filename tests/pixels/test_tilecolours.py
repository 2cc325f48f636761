"""Tiles' bytes and losses against the formulas of the standards and their published data."""

from __future__ import annotations

import numpy as np
import pytest

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import D50_XYZ, lab_to_xyz
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.pixels.tilecolours import (
    light_bytes,
    light_of_lab,
    loss_bytes,
    loss_de00,
    screen_bytes,
)

# Sharma, Wu, Dalal (2005), table 1: pairs 1, 4, 7, 14, 17, 21, 24, 28, 31, 34
PAIRS = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, -0.0010, 2.4900), (50.0, 0.0011, -2.4900), 4.7461),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (50.0, 3.1736, 0.5854), 1.0),
    ((50.0, 2.5, 0.0), (50.0, 1.8634, 0.5757), 1.0),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.published
@pytest.mark.parametrize(("one", "two", "difference"), PAIRS)
def test_published_pairs(one: tuple[float, ...], two: tuple[float, ...], difference: float) -> None:
    found = loss_de00(np.array([[one]]), np.array([[two]]))[0, 0]
    assert found == pytest.approx(difference, abs=2e-4)


def test_losses_follow_the_double_precision_formula_everywhere() -> None:
    rng = np.random.default_rng(5)
    lab = rng.uniform((0, -110, -110), (100, 110, 110), (200, 200, 3))
    for other in (lab + rng.normal(0, 4, lab.shape), lab[::-1, ::-1], lab * (1, 0, 0)):
        assert np.abs(loss_de00(lab, other) - delta_e_2000(lab, other)).max() < 1e-3
    assert loss_de00(lab, lab).max() == 0.0


def test_screen_bytes_are_the_nearest_code_of_the_formula() -> None:
    rng = np.random.default_rng(6)
    lab = rng.uniform((0, -100, -100), (100, 100, 100), (256, 256, 3))
    exact = np.clip(SPACES["display-p3"].from_xyz_d50(lab_to_xyz(lab)), 0, 1) * 255
    assert np.abs(screen_bytes(lab) - exact).max() < 0.6


def test_white_and_black_of_the_screen_are_the_ends_of_its_codes() -> None:
    assert screen_bytes(np.array([[[100.0, 0, 0], [0, 0, 0]]])).tolist() == [[[255] * 3, [0] * 3]]


def test_paper_white_stands_below_screen_white() -> None:
    """A white of Y = 0.81 in D50: encoded by the sRGB curve as IEC 61966-2-1 gives it."""
    white = np.array([0.9642, 1.0, 0.8249]) * 0.81
    shown = screen_bytes(np.array([[[100.0, 0, 0]]]), white_xyz=white)[0, 0]
    expected = 255 * (1.055 * 0.81 ** (1 / 2.4) - 0.055)
    assert np.abs(shown - expected).max() <= 0.6


def test_what_lies_below_the_noise_is_shown_as_no_loss() -> None:
    de00 = np.array([[0.0, 0.4, 0.6, 12.0]], dtype=np.float32)
    shown = loss_bytes(de00, floor_de00=0.5)[0]
    assert (shown[0] == shown[1]).all()
    assert (shown[0] != shown[2]).any()
    assert shown[3].sum() < shown[2].sum()


def test_light_becomes_the_bytes_that_its_lab_becomes() -> None:
    """Against the conversions in double precision and the exact curve of IEC 61966-2-1."""
    rng = np.random.default_rng(11)
    lab = np.stack(
        [rng.uniform(0, 100, (60, 80)), *rng.uniform(-60, 60, (2, 60, 80))], axis=-1
    ).astype(np.float32)
    light = light_of_lab(lab)
    assert light == pytest.approx(lab_to_xyz(lab), abs=2e-6)
    white = np.array([0.83, 0.86, 0.70])
    over = lab_to_xyz(lab) * white / D50_XYZ
    exact = np.clip(SPACES["display-p3"].from_xyz_d50(over), 0.0, 1.0) * 255.0
    assert np.abs(light_bytes(light, white_xyz=white) - exact).max() < 0.57
