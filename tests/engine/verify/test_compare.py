"""Differences patch by patch, and their figures, against worked examples of others."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstsheet.engine.records.verification import Aim
from firstsheet.engine.verify.compare import (
    cast_words,
    compare_patches,
    grey_result,
    group_by_hue,
    hue_name,
    roles_of,
    statistics,
)
from firstsheet.engine.verify.matching import match_reading, merged_aims
from firstsheet.files.reading.measured.open_reading import open_reading

PUBLISHED = Path("/usr/share/color/icc")
AIMS = ((95, 0, -1), (72, -1, -2), (50, 0, 0), (28, 0, 0), (9, 0, 0), (48, 66, 44), (55, -55, 32),
        (30, 18, -48), (82, 2, 80), (65, 18, 19))  # fmt: skip
READ = ((94.6, .2, -1.9), (71.2, .1, -.6), (49.1, .4, 1.6), (28.9, .3, 1.2), (10.4, .2, .7),
        (47.6, 63.9, 42.1), (54.1, -52.8, 30.2), (31.2, 15.1, -43.8), (81.5, 2.9, 77.1),
        (64.6, 18.9, 20.3))  # fmt: skip

lab = st.tuples(st.floats(0, 100), st.floats(-80, 80), st.floats(-80, 80))


def aims(labs: object = AIMS) -> list[Aim]:
    return [Aim(name=str(i), lab=one) for i, one in enumerate(labs, start=1)]  # type: ignore[arg-type,var-annotated]  # tuples of three


def test_the_worked_example_comes_out() -> None:
    """Figures worked out by hand and with colour-science, apart from this project."""
    figures = statistics(compare_patches(aims(), READ))

    assert figures.mean == pytest.approx(1.26, abs=0.005)
    assert figures.p95 == pytest.approx(2.02, abs=0.005)
    assert figures.maximum == pytest.approx(2.13, abs=0.005)
    assert figures.worst == "2"


@pytest.mark.published
def test_the_differences_are_those_of_colour_science() -> None:
    colour = pytest.importorskip("colour")
    theirs = colour.delta_E(np.array(AIMS, float), np.array(READ), method="CIE 2000")

    ours = [one.de00 for one in compare_patches(aims(), READ)]
    np.testing.assert_allclose(ours, theirs, atol=1e-5)


@pytest.mark.published
@pytest.mark.needs_tool
@pytest.mark.parametrize(
    ("reference", "print_", "count", "mean", "median", "p95", "maximum", "worst"),
    [
        ("FOGRA39L", "TR006", 1588, 1.2924, 1.1606, 2.5859, 3.4438, (0.4, 0.2, 0.0, 0.4)),
        ("FOGRA39L", "TR003", 1588, 2.1352, 2.0430, 3.5588, 4.5711, (0.2, 0.4, 0.0, 0.4)),
        ("FOGRA29L", "FOGRA30L", 1457, 2.2760, 2.0918, 4.7999, 6.4850, (1.0, 1.0, 0.0, 0.0)),
        ("FOGRA28L", "FOGRA29L", 1457, 6.7340, 6.8480, 10.9686, 12.6556, (1.0, 0.0, 0.0, 1.0)),
    ],
)
def test_published_conditions_differ_by_the_figures_worked_out_elsewhere(
    reference: str,
    print_: str,
    count: int,
    mean: float,
    median: float,
    p95: float,
    maximum: float,
    worst: tuple[float, ...],
) -> None:
    """Debian's icc-profiles-free 2.0.1; figures computed with colour-science on the Lab columns."""
    if not (PUBLISHED / f"{print_}.ti3").is_file():
        pytest.skip("icc-profiles-free is not installed")
    chart = merged_aims(
        [
            Aim(name=p.name, lab=p.lab, device=p.device)
            for p in open_reading(PUBLISHED / f"{reference}.ti3").reading.patches
        ]
    )
    matched = match_reading(chart, open_reading(PUBLISHED / f"{print_}.ti3").reading)
    patches = compare_patches(matched.aims, matched.read_lab)
    figures = statistics(patches)

    assert matched.by == "device"
    assert figures.count == count
    assert figures.mean == pytest.approx(mean, abs=0.001)
    assert figures.median == pytest.approx(median, abs=0.001)
    assert figures.p95 == pytest.approx(p95, abs=0.001)
    assert figures.maximum == pytest.approx(maximum, abs=0.001)
    by_name = {aim.name: aim.device for aim in matched.aims}
    assert by_name[figures.worst] == pytest.approx(worst)


@pytest.mark.published
@pytest.mark.needs_tool
def test_single_patches_of_two_published_conditions() -> None:
    """ΔE00, ΔL and ΔCh of FOGRA39L → TR006, computed elsewhere."""
    if not (PUBLISHED / "TR006.ti3").is_file():
        pytest.skip("icc-profiles-free is not installed")
    expected = {
        (0.0, 0.0, 0.0, 0.0): (0.0470, 0.00, 0.0447),
        (1.0, 0.0, 0.0, 0.0): (0.0584, -0.04, 0.1200),
        (0.0, 0.0, 0.0, 1.0): (0.7620, -1.05, 0.2360),
        (1.0, 0.0, 1.0, 0.0): (1.4372, 0.12, 3.9705),
        (1.0, 1.0, 0.0, 0.0): (3.2226, 0.13, 4.8020),
        (0.5, 0.4, 0.4, 0.0): (0.7825, -0.50, 0.4904),
    }
    chart = merged_aims(
        [
            Aim(name=p.name, lab=p.lab, device=p.device)
            for p in open_reading(PUBLISHED / "FOGRA39L.ti3").reading.patches
        ]
    )
    matched = match_reading(chart, open_reading(PUBLISHED / "TR006.ti3").reading)
    found = dict(
        zip(
            (aim.device for aim in matched.aims),
            compare_patches(matched.aims, matched.read_lab),
            strict=True,
        )
    )
    for device, (de00, delta_l, delta_ch) in expected.items():
        patch = found[device]
        assert patch.de00 == pytest.approx(de00, abs=0.0001)
        assert patch.delta_l == pytest.approx(delta_l, abs=0.005)
        assert patch.delta_ch == pytest.approx(delta_ch, abs=0.0001)


def test_roles_are_told_from_the_colours() -> None:
    assert roles_of(aims()) == ["paper", *["grey"] * 3, "black", *["colour"] * 5]


def test_a_role_that_is_said_counts() -> None:
    said = Aim(name="x", lab=(50.0, 4.0, 0.0), role="colour")

    assert roles_of([*aims(), said])[-1] == "colour"


@pytest.mark.published
@pytest.mark.parametrize(
    ("solid", "name"),
    [
        ((55.0, -37.0, -50.0), "cyans"),
        ((48.0, 74.0, -3.0), "magentas"),
        ((89.0, -5.0, 93.0), "yellows"),
        ((47.0, 68.0, 48.0), "reds"),
        ((50.0, -65.0, 27.0), "greens"),
        ((24.0, 22.0, -46.0), "blues"),
    ],
)
def test_solids_have_the_hue_they_are_called_by(solid: tuple[float, ...], name: str) -> None:
    """FOGRA39L."""
    assert hue_name(solid) == name


def test_the_greys_of_the_example_are_warm() -> None:
    greys = grey_result(compare_patches(aims(), READ))

    assert greys is not None
    assert greys.cast == "warm"
    assert (greys.cast_a, greys.cast_b) == pytest.approx((0.6, 1.4))
    distances = np.hypot([1.1, 0.4, 0.3], [1.4, 1.6, 1.2])
    assert greys.mean_delta_ch == pytest.approx(distances.mean())


@pytest.mark.parametrize(
    ("delta", "word"),
    [
        ((0, 2), "warm"),
        ((0, -2), "cool"),
        ((-2, 0), "greenish"),
        ((2, 0), "pinkish"),
        ((1.5, -1.5), "purplish"),
        ((0.5, 0.5), ""),
    ],
)
def test_a_cast_has_the_name_of_its_direction(delta: tuple[float, float], word: str) -> None:
    assert cast_words(*delta) == word


def test_what_no_ink_reaches_is_told_apart() -> None:
    far = Aim(name="orange", lab=(60.0, 50.0, 60.0), wanted_lab=(60.0, 80.0, 90.0))
    near = Aim(name="sand", lab=(60.0, 5.0, 20.0), wanted_lab=(60.0, 5.5, 20.5))

    first, second = compare_patches([far, near], [far.lab, near.lab], out_of_reach_de00=1.4)

    assert first.out_of_reach
    assert not second.out_of_reach


@given(st.lists(st.tuples(lab, lab), min_size=1, max_size=30))
@settings(derandomize=True, max_examples=60)
def test_figures_keep_their_order_and_groups_their_members(
    pairs: list[tuple[tuple[float, float, float], tuple[float, float, float]]],
) -> None:
    patches = compare_patches(aims([a for a, _ in pairs]), [b for _, b in pairs])
    figures = statistics(patches)

    assert min(p.de00 for p in patches) <= figures.mean <= figures.maximum
    assert figures.median <= figures.p95 <= figures.maximum
    assert sum(group.count for group in group_by_hue(patches)) == sum(bool(p.hue) for p in patches)


def test_a_print_that_is_as_meant_differs_by_nothing() -> None:
    figures = statistics(compare_patches(aims(), AIMS))

    assert figures.maximum == 0
