"""Tones of the made films: from light to lightness, each film's own exposure and contrast."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks

from firstsheet.engine.colour.lab import y_to_lightness
from harbour.film import CURVE_STEPS, tone_curve
from harbour.scenes import SCENES

__all__ = ["draw"]

LOOKS = (Look(ACCENT), Look(SECOND, 1.8, "6 3"), Look(GREY, 1.6, "2 3"), Look(INK, 1.2, "8 3 2 3"))


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=320)
    panel = drawing.panel(
        58, 20, 640, 250,
        x=Axis(title="stops from the light that gives half of white", low=-6.0, high=4.0,
               ticks=ticks(-6, 4, 1)),
        y=Axis(title="L* of the tone", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
    )  # fmt: skip
    rows = []
    for scene, look in zip(SCENES, LOOKS, strict=True):
        tone = tone_curve(scene.film, lambda plain: plain)
        light = (np.arange(tone.size) / CURVE_STEPS) ** 2
        stops = np.linspace(-6.0, 4.0, 101)
        here = np.interp(scene.film.half * 2.0**stops, light, tone)
        panel.curve(stops, y_to_lightness(here), look)
        rows.append((look, f"{scene.name}, contrast {scene.film.contrast:g}"))
    panel.legend(rows, 14, 18)
    return drawing.svg()
