"""The print under the light it will hang in, as far as a screen can show it.

Takes a plan and its chain; gives the share of brightness, the bare paper's colour and the words
that say what the picture on the screen can and cannot tell. Theory: docs/theory/viewing.md.
Tests: tests/web/test_bench_light.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from firstsheet.bench.answers import LightView
from firstsheet.engine.colour.lab import lightness_to_y, xyz_to_lab
from firstsheet.engine.light.findings import SCREEN_CD_M2
from firstsheet.engine.light.viewing import paper_white_luminance, shown_share
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.units import plain_number

if TYPE_CHECKING:
    from firstsheet.cms.chain import Chain

__all__ = ["light_share", "light_view"]


def light_share(plan: Plan) -> float:
    """How bright the print is there, as a share of the proof's brightness."""
    return shown_share(plan.place.illuminance_lux, SCREEN_CD_M2)


def light_view(chain: Chain, plan: Plan) -> LightView:
    """The switch "under the stated light", and what it says."""
    lux, share = plan.place.illuminance_lux, light_share(plan)
    white = chain.paper_white_xyz
    paper = paper_white_luminance(lux, float(lightness_to_y(chain.paper_white_lab_absolute[0])))
    there = (
        f"In {plain_number(lux)} lux this paper's white gives {plain_number(paper, 0)} cd/m²; a "
        f"screen set for judging prints, {plain_number(SCREEN_CD_M2, 0)}."
    )
    if share >= 1.0:
        return LightView(
            title=f"Under {plain_number(lux)} lux",
            shows=False,
            words=f"{there} That is as bright as a screen can show it, or brighter, so nothing "
            "is darkened.",
        )
    lightness, a, b = (float(one) for one in xyz_to_lab(white * share))
    return LightView(
        title=f"Under {plain_number(lux)} lux",
        shows=True,
        white_css=f"lab({lightness:.3f} {a:.3f} {b:.3f})",
        words=f"{there} It is shown that much darker, as it would look beside this screen. In "
        "its room the eye gets used to the light, but tells fewer dark tones apart. The lamp's "
        "own colour is not shown.",
    )
