"""Our own mapping against arithmetic done elsewhere: its tones, its hues, its order."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstsheet.cms.chain import Chain

Script = Callable[[str], Any]


def _luminance(colour: Any, lightness: float) -> float:
    return float(colour.colorimetry.luminance_CIE1976(lightness, Y_n=1.0))


def test_with_root_1_tones_make_room_as_black_point_compensation_does(
    script: Script, colour_science: Any
) -> None:
    lightness, black = [0.0, 12.0, 40.0, 75.0, 100.0], 31.0
    dark = _luminance(colour_science, black)

    told = script("own_way").tone_curve(
        lightness, dark_l=0.0, light_l=100.0, black_l=black, top_l=100.0, root=1.0
    )

    # luminance' = black + luminance (1 - black), another library's lightness
    room = [dark + _luminance(colour_science, one) * (1.0 - dark) for one in lightness]
    back = colour_science.colorimetry.lightness_CIE1976
    expected = [float(back(one, Y_n=1.0)) for one in room]
    assert told == pytest.approx(expected, abs=0.01)


def test_with_root_3_tones_make_room_in_even_steps(script: Script) -> None:
    told = script("own_way").tone_curve(
        [20.0, 45.0, 70.0, 95.0], dark_l=20.0, light_l=95.0, black_l=44.0, top_l=95.0, root=3.0
    )

    assert told == pytest.approx([44.0, 61.0, 78.0, 95.0], abs=0.01)


@given(
    dark=st.floats(0.0, 30.0),
    light=st.floats(60.0, 100.0),
    black=st.floats(3.0, 45.0),
    lift=st.floats(0.0, 10.0),
    root=st.sampled_from([0.6, 0.8, 1.0, 1.5, 2.0, 3.0]),
)
def test_tones_never_change_places_and_lie_between_black_and_white(
    dark: float, light: float, black: float, lift: float, root: float, script: Script
) -> None:
    tones = np.linspace(0.0, 100.0, 101)
    top = min(100.0, light + lift)

    told = script("own_way").tone_curve(
        tones, dark_l=dark, light_l=light, black_l=black, top_l=top, root=root
    )

    assert np.all(np.diff(told) >= -1e-9)
    assert told.min() >= max(black, dark) - 1e-6
    assert told[-1] == pytest.approx(100.0, abs=1e-6)


def test_hue_stays_and_vivid_colours_come_into_the_paper(
    script: Script, paper_chain: Chain, wide_colours: Any, colour_science: Any
) -> None:
    leaves, own_way = script("leaves"), script("own_way")
    black_l = float(paper_chain.printed_lab(paper_chain.device_from_lab(np.zeros(3)))[0])
    surface = leaves.cube_surface(paper_chain.printed_lab)
    paper = own_way.own_paper(surface, black_l=black_l)
    picture = own_way.OwnPicture.of(wide_colours.reshape(13, -1, 3))

    asked = picture.printed_as(paper, own_way.OwnWay(knee_start=0.7)).reshape(-1, 3)

    before, after = (_oklab(colour_science, one) for one in (wide_colours, asked))
    vivid = np.hypot(after[:, 1], after[:, 2]) > 0.02
    across = before[:, 1] * after[:, 2] - before[:, 2] * after[:, 1]
    along = (before[:, 1:] * after[:, 1:]).sum(axis=1)
    assert np.degrees(np.abs(np.arctan2(across, along))[vivid]).max() < 0.5
    shown = paper_chain.printed_lab(paper_chain.device_from_lab(asked))
    missed = colour_science.delta_E(asked, shown, method="CIE 2000")
    assert np.percentile(missed[vivid], 90) < 4.0


def _oklab(colour: Any, lab: Any) -> Any:
    """By another library."""
    d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    d65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    xyz = colour.chromatic_adaptation(
        colour.Lab_to_XYZ(lab, d50), colour.xy_to_XYZ(d50), colour.xy_to_XYZ(d65),
        transform="Bradford",
    )  # fmt: skip
    return colour.XYZ_to_Oklab(xyz)


def test_of_what_may_be_chosen_the_least_loss_is_taken(script: Script, paper_chain: Chain) -> None:
    leaves, own_way = script("leaves"), script("own_way")
    surface = leaves.cube_surface(paper_chain.printed_lab, steps=9)
    paper = own_way.own_paper(surface, black_l=30.0)
    ramp = np.zeros((8, 64, 3))
    ramp[..., 0] = np.linspace(5.0, 95.0, 64)

    lifted, _ = own_way.chosen_way(ramp, paper, lambda asked: -float(asked[..., 0].mean()))
    held, _ = own_way.chosen_way(ramp, paper, lambda asked: float(asked[..., 0].mean()))

    assert (lifted.root, lifted.lift, lifted.dark_share) == (3.0, 1.0, 0.2)
    assert (held.root, held.lift, held.dark_share) == (0.6, 0.0, 3.0)
