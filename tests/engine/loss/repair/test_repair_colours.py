"""What repairs do to colours: constant hue by other spaces, order kept, nothing inverted."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstsheet.engine.colour.hue import lab_of_oklab, oklab_of_lab
from firstsheet.engine.loss.repair.colours import colour_repair, knee
from firstsheet.engine.loss.repair.grid import shift_at, shift_grid
from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.loss.repair.tones import highlight_curve, shadow_curve
from firstsheet.engine.records.repair import RepairKind, RepairWish

BLUE = (32.0, 60.0, -100.0)


def wish(kind: RepairKind, lab: tuple[float, float, float], **changed: float) -> RepairWish:
    given = {"reach": 12.0, "strength": 1.0} | changed
    return RepairWish(kind=kind, box=(0.0, 0.0, 1.0, 1.0), lab=lab, **given)


def hue_of(library: Any, lab: np.ndarray, space: str) -> np.ndarray:
    """Hue by another library, in a space that was fitted to constant hue, degrees."""
    d50, d65 = np.array([0.3457, 0.3585]), np.array([0.3127, 0.3290])
    xyz = library.chromatic_adaptation(
        library.Lab_to_XYZ(lab, d50),
        library.xy_to_XYZ(d50),
        library.xy_to_XYZ(d65),
        method="Von Kries",
        transform="Bradford",
    )
    told = library.XYZ_to_IPT(xyz) if space == "ipt" else library.XYZ_to_Oklab(xyz)
    return np.asarray(np.degrees(np.arctan2(told[..., 2], told[..., 1])))


@pytest.mark.parametrize(
    ("colour", "degrees"),
    [(BLUE, 6.0), ((50.0, 65.0, 45.0), 6.0), ((45.0, -60.0, 40.0), 6.0), ((75.0, 5.0, 85.0), 6.0)],
)
def test_less_vivid_keeps_its_hue_in_ipt_and_exactly_in_oklab(
    colour_science: Any, printed: Any, colour: tuple[float, float, float], degrees: float
) -> None:
    """IPT: Ebner and Fairchild 1998, fitted to data of constant hue; by another library."""
    wanted = np.array(colour)
    duller = colour_repair(wish("chroma", colour), Paper(printed)).mapped(wanted)
    turned = {
        space: float(hue_of(colour_science, duller, space) - hue_of(colour_science, wanted, space))
        for space in ("ipt", "oklab")
    }

    assert np.hypot(*duller[1:]) < 0.98 * np.hypot(*wanted[1:])
    assert abs(turned["oklab"]) < 0.05
    assert abs(turned["ipt"]) < degrees


def test_in_cielab_the_same_step_would_turn_blue_to_violet(colour_science: Any) -> None:
    """Why the work is not done in CIELAB: its constant hue is not constant in IPT."""
    wanted = np.array(BLUE)
    halved = wanted * (1.0, 0.5, 0.5)
    turn = hue_of(colour_science, halved, "ipt") - hue_of(colour_science, wanted, "ipt")

    assert abs(float(turn)) > 10.0


def test_the_knee_comes_where_it_is_told_and_never_falls() -> None:
    chroma = np.linspace(0.0, 0.4, 801)
    bent = knee(chroma, start=np.full(801, 0.1), most=np.full(801, 0.3), to=np.full(801, 0.2))

    assert np.interp(0.3, chroma, bent) == pytest.approx(0.2, abs=1e-9)
    assert bent[chroma <= 0.1] == pytest.approx(chroma[chroma <= 0.1])
    assert (np.diff(bent) > 0.0).all()
    assert np.abs(np.diff(bent, 2)).max() < 1e-4  # no corner


def test_more_vivid_stays_more_vivid_through_the_grid(printed: Any) -> None:
    grid = shift_grid(colour_repair(wish("chroma", BLUE), Paper(printed)).mapped, 65)
    centre = oklab_of_lab(BLUE)
    line = centre * np.stack([np.ones(60), *2 * [np.linspace(0.02, 1.1, 60)]], axis=-1)
    lab = lab_of_oklab(line)
    repaired = oklab_of_lab(lab + shift_at(grid, lab))

    assert (np.diff(np.hypot(repaired[:, 1], repaired[:, 2])) > 0.0).all()


def test_colours_of_another_hue_and_dull_ones_stay(printed: Any) -> None:
    repair = colour_repair(wish("chroma", BLUE), Paper(printed))
    others = np.array([[32.0, 40.0, 30.0], [32.0, -40.0, 20.0], [32.0, 2.0, -4.0], [60.0, 0, 0]])

    np.testing.assert_allclose(repair.mapped(others), others, atol=1e-9)


@pytest.mark.parametrize("zone", [(0.0, 12.0), (5.0, 31.0), (20.0, 60.0)])
@pytest.mark.parametrize("strength", [0.2, 1.0])
def test_a_toe_never_inverts_tones_and_lets_the_light_ones_be(
    printed: Any, printed_hard: Any, zone: tuple[float, float], strength: float
) -> None:
    for shows in (printed, printed_hard):
        curve = shadow_curve(Paper(shows), zone_l=zone, strength=strength)
        tones = np.linspace(0.0, 100.0, 501)
        beyond = tones[tones > curve.until_l + 0.5]

        assert (np.diff(curve.at(tones)) >= 0.0).all()
        assert (curve.at(tones) >= tones - 0.5).all()
        np.testing.assert_allclose(curve.at(beyond), beyond, atol=0.05)


def test_a_toe_of_full_strength_gives_back_the_steps_of_its_zone(printed: Any) -> None:
    """On greys: what the paper shows between two tones is then what was wanted between them."""
    curve = shadow_curve(Paper(printed), zone_l=(4.0, 24.0), strength=1.0)
    greys = np.zeros((2, 3))
    greys[:, 0] = curve.at(np.array([8.0, 22.0]))
    dark, light = printed(greys)[:, 0]
    greys[:, 0] = (8.0, 22.0)
    dark_before, light_before = printed(greys)[:, 0]

    assert light_before - dark_before < 0.85 * 14.0
    assert light - dark == pytest.approx(14.0, rel=0.05)


def test_a_pull_down_takes_texture_off_paper_white_and_keeps_its_steps() -> None:
    curve = highlight_curve(zone_l=94.0, strength=0.5)
    tones = np.array([60.0, 94.0, 97.0, 100.0])

    assert curve.at(tones).tolist() == pytest.approx([60.0, 89.0, 92.0, 95.0], abs=1e-9)
    assert (np.diff(curve.at(np.linspace(0.0, 100.0, 401))) > 0.0).all()


@pytest.mark.parametrize("kind", ["chroma", "shadow", "highlight"])
def test_strength_nought_changes_nothing(printed: Any, kind: RepairKind) -> None:
    lab = {"chroma": BLUE, "shadow": (8.0, 1.0, 1.0), "highlight": (97.0, 0.0, 2.0)}[kind]
    mapped = colour_repair(wish(kind, lab, strength=0.0), Paper(printed)).mapped

    np.testing.assert_allclose(mapped(np.array([lab])), [lab], atol=0.05)
