"""The yardstick against its published table, against geometry, and against two other gamuts."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm

from firstsheet.cms.chain import Chain
from firstsheet.cms.gamut import round_trip_floor
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES

LINES = (Path(__file__).parents[1] / "published/sgck_lightness.csv").read_text().splitlines()
HEAD = dict(line[2:].split(": ", 1) for line in LINES if line.startswith("#"))
ROWS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))
assert HEAD["source"], "a published table must name its source"

Script = Callable[[str], Any]
MIDDLE = np.array([50.0, 0.0, 0.0])


def _double_cone(chroma: float) -> Any:
    """White and black tips, the most vivid colours in a circle at L* 50."""
    turns = np.linspace(0.0, 2.0 * np.pi, 721)
    ring = np.stack([np.full(721, 50.0), chroma * np.cos(turns), chroma * np.sin(turns)], -1)
    faces = [
        np.stack([np.broadcast_to((tip, 0.0, 0.0), (720, 3)), ring[:-1], ring[1:]], axis=1)
        for tip in (100.0, 0.0)
    ]
    return np.concatenate(faces)


@pytest.mark.published
@pytest.mark.parametrize("row", ROWS, ids=[f"black-{row['black_l']}" for row in ROWS])
def test_lightness_follows_the_normal_curve_of_the_published_table(
    row: dict[str, str], script: Script
) -> None:
    black, centre, width = (float(row[name]) for name in ("black_l", "centre", "width"))
    lightness = np.linspace(0.0, 100.0, 41)
    low, high = norm.cdf([0.0, 100.0], centre, width)
    share = (norm.cdf(lightness, centre, width) - low) / (high - low)

    told = script("sgck").s_curve(lightness, black_l=black)

    assert told == pytest.approx(black + share * (100.0 - black), abs=2e-3)


@pytest.mark.published
def test_between_the_rows_of_the_table_centre_and_width_are_linear(script: Script) -> None:
    centre, width = (53.7 + 56.8) / 2, (43.0 + 40.0) / 2
    low, middle, high = norm.cdf([0.0, 50.0, 100.0], centre, width)

    told = script("sgck").s_curve(50.0, black_l=7.5)

    assert float(told) == pytest.approx(7.5 + 92.5 * (middle - low) / (high - low), abs=2e-3)


@pytest.mark.published
def test_greys_take_the_whole_curve_and_vivid_colours_little_of_it(script: Script) -> None:
    shares = script("sgck").chroma_share([0.0, 500_000.0 ** (1 / 3), 20.0, 1e6])

    # 1 - sqrt(C3 / (C3 + 500000)) by hand: C3 = 0; equal; 8000 / 508000; everything
    assert shares == pytest.approx([1.0, 1.0 - 0.5**0.5, 0.874509, 0.0], abs=1e-6)


@pytest.mark.published
@pytest.mark.parametrize(
    ("distance", "print_reach", "own_reach", "told"),
    [
        (44.0, 50.0, 80.0, 44.0),  # within 90 % of 50
        (80.0, 50.0, 80.0, 50.0),  # the original's edge comes to the print's
        (62.5, 50.0, 80.0, 47.5),  # half of what lies beyond 45 comes half way from 45 to 50
        (48.0, 50.0, 40.0, 48.0),  # the print reaches further: nothing moves
        (90.0, 50.0, 80.0, 50.0),  # beyond what is known of the original
    ],
)
def test_the_knee_stands_at_nine_tenths_of_the_way(
    distance: float, print_reach: float, own_reach: float, told: float, script: Script
) -> None:
    bent = script("sgck").knee_distance(distance, print_reach=print_reach, own_reach=own_reach)

    assert float(bent) == pytest.approx(told, abs=1e-9)


def test_a_double_cone_reaches_as_far_as_its_geometry_says(script: Script) -> None:
    leaves = script("leaves")
    cone = _double_cone(60.0)
    reach = leaves.reaches(cone, leaves.cusps(cone)[:, 0])
    angle = np.radians([0.0, 30.0, -60.0, 80.0])

    found = reach.at(np.array([0.3, 1.7, 3.9, 6.2]), angle)

    # chroma / 60 + |L - 50| / 50 = 1 along the line
    expected = 1.0 / (np.cos(angle) / 60.0 + np.abs(np.sin(angle)) / 50.0)
    assert found == pytest.approx(expected, rel=2e-3)
    assert leaves.cusps(cone)[:, 0] == pytest.approx(50.0, abs=1e-6)
    assert leaves.grey_ends(cone) == pytest.approx((0.0, 100.0), abs=1e-6)
    level = leaves.chromas(cone).at(np.array([0.3, 4.0]), np.array([50.0, 80.0]))
    assert level == pytest.approx([60.0, 24.0], rel=1e-3)


def test_segment_maxima_of_a_ball_lie_on_the_ball(script: Script) -> None:
    away = np.random.default_rng(3).normal(size=(40_000, 3))
    ball = 40.0 * away / np.linalg.norm(away, axis=1, keepdims=True)
    inner = 0.5 * ball

    corners = script("leaves").segment_maxima(np.concatenate([inner, ball]) + MIDDLE)

    assert np.linalg.norm(corners - MIDDLE, axis=-1) == pytest.approx(40.0, abs=0.1)


@pytest.mark.published
def test_the_red_primary_is_the_cusp_of_srgb_at_its_hue(script: Script) -> None:
    leaves = script("leaves")
    surface = leaves.cube_surface(lambda rgb: xyz_to_lab(SPACES["srgb"].to_xyz_d50(rgb)))
    red = (54.29, 80.82, 69.89)  # tests/published/srgb_lab.csv

    ends = leaves.leaf(surface, float(np.arctan2(red[2], red[1]))).reshape(-1, 2)

    chroma, lightness = ends[ends[:, 0].argmax()]
    assert lightness == pytest.approx(red[0], abs=0.1)
    assert chroma == pytest.approx(np.hypot(red[1], red[2]), abs=0.1)


def test_colours_of_a_larger_space_come_inside_a_smaller_one(
    script: Script, wide_colours: Any
) -> None:
    leaves, sgck = script("leaves"), script("sgck")
    small = SPACES["srgb"]
    surface = leaves.cube_surface(lambda rgb: xyz_to_lab(small.to_xyz_d50(rgb)))
    wide = leaves.cube_surface(lambda rgb: xyz_to_lab(SPACES["display-p3"].to_xyz_d50(rgb)))
    outside = small.from_xyz_d50(lab_to_xyz(wide_colours))
    method = sgck.sgck_for(sgck.sgck_paper(surface), space=wide)

    inside = small.from_xyz_d50(lab_to_xyz(method.mapped(wide_colours)))

    assert outside.min() < -0.4, "the picture must need it"
    assert inside.min() > -0.04  # tables of 2 degrees of hue: a hundredth near the corners
    assert inside.max() < 1.02


def test_hue_stays_and_what_lies_well_inside_only_changes_lightness(
    script: Script, wide_colours: Any, paper_chain: Chain
) -> None:
    leaves, sgck = script("leaves"), script("sgck")
    paper = sgck.sgck_paper(leaves.cube_surface(paper_chain.printed_lab))
    method = sgck.sgck_for(paper, picture_lab=wide_colours)

    mapped = method.mapped(wide_colours)

    vivid = np.hypot(mapped[:, 1], mapped[:, 2]) > 0.5
    across = wide_colours[:, 1] * mapped[:, 2] - wide_colours[:, 2] * mapped[:, 1]
    along = wide_colours[:, 1] * mapped[:, 1] + wide_colours[:, 2] * mapped[:, 2]
    assert np.abs(np.arctan2(across, along))[vivid].max() < 1e-9
    lighter = sgck.lightness_mapped(wide_colours, paper)
    hue = np.arctan2(lighter[:, 2], lighter[:, 1])
    up = lighter[:, 0] - paper.reach.focus_at(hue)
    chroma = np.hypot(lighter[:, 1], lighter[:, 2])
    room = paper.reach.at(hue, np.arctan2(up, chroma))
    within = np.hypot(chroma, up) < 0.9 * room
    assert within.sum() > 50
    assert mapped[within] == pytest.approx(lighter[within], abs=1e-9)


def test_the_paper_prints_what_the_method_asks_of_it(
    script: Script, wide_colours: Any, paper_chain: Chain
) -> None:
    leaves, sgck = script("leaves"), script("sgck")
    paper = sgck.sgck_paper(leaves.cube_surface(paper_chain.printed_lab))
    asked = sgck.sgck_for(paper, picture_lab=wide_colours).mapped(wide_colours)

    shown = paper_chain.printed_lab(paper_chain.device_from_lab(asked))

    missed = delta_e_2000(asked, shown)
    _, nearly_all, most = round_trip_floor(paper_chain)
    assert np.median(missed) < nearly_all
    assert np.percentile(missed, 95) < most + 0.5


def test_greys_keep_their_order_white_is_white_and_black_is_black(
    script: Script, paper_chain: Chain
) -> None:
    leaves, sgck = script("leaves"), script("sgck")
    surface = leaves.cube_surface(paper_chain.printed_lab)
    greys = np.zeros((201, 3))
    greys[:, 0] = np.linspace(0.0, 100.0, 201)
    method = sgck.sgck_for(sgck.sgck_paper(surface), picture_lab=greys)

    lightness = method.mapped(greys)[:, 0]

    darkest, lightest = leaves.grey_ends(surface)
    assert np.all(np.diff(lightness) > 0.0)
    assert lightness[-1] == pytest.approx(lightest, abs=0.3)
    assert lightness[0] == pytest.approx(darkest, abs=0.3)
