"""Power of grain in made scans, the fitted response, and what the scanner is known to pass."""

from __future__ import annotations

import numpy as np
from drawing import ACCENT, INK, SECOND, Axis, Drawing, Look, Mark, ticks
from sources import looked_through, made_scans

from firstsheet.engine.detail.grain import RADII_CPP, fit_spectrum, noise_facts

__all__ = ["draw"]

SCANNERS: tuple[tuple[float, Look, Mark], ...] = (
    (0.7, Look(SECOND, 1.8, "6 3"), "triangle"),
    (1.6, Look(ACCENT), "dot"),
)


def draw() -> str:
    """One panel."""
    drawing = Drawing(high_px=350)
    panel = drawing.panel(
        72, 20, 626, 280,
        x=Axis(title="cycles/pixel", low=0.0, high=0.5, ticks=ticks(0, 0.5, 0.1)),
        y=Axis(title="power of the grain, share of its highest", low=1e-4, high=3.0,
               ticks=(1e-4, 1e-3, 1e-2, 0.1, 1), log=True),
    )  # fmt: skip
    scans = made_scans()
    rows: list[tuple[Look | tuple[Mark, str], str]] = []
    levels = np.linspace(0.999, 0.01, 150)
    for sigma_px, look, mark in SCANNERS:
        plane = scans.make_scan(
            scans.ScanSpec(
                seed=5, scene="sky", grain=0.03, scanner_sigma_px=sigma_px, electronic=0.0002
            )
        )
        survey = looked_through(plane)
        facts = noise_facts(survey.even_tiles)
        power = np.array(facts.power)
        fit = fit_spectrum(power)
        panel.points(RADII_CPP, power / fit.height, mark, look.colour)
        panel.curve(
            [fit.crossing_cpp(level) for level in levels], levels**2 + fit.floor / fit.height, look
        )
        known = np.array([0.9, 0.7, 0.5, 0.3, 0.1])
        at = [scans.crossing_cpp(sigma_px, level) for level in known]
        panel.points(at, known**2, "square")
        rows += [
            ((mark, look.colour), f"grain measured, scanner of σ {sigma_px:g} px"),
            (look, f"fit: MTF50 {facts.half_cpp:.3f}, MTF10 {facts.tenth_cpp:.3f} cycles/pixel"),
        ]
    panel.legend([*rows, (("square", INK), "known response, squared")], 18, 176)
    return drawing.svg()
