"""Edges of known blur: the profile that is read from slanted pixels, and the response it gives."""

from __future__ import annotations

import math

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, ticks
from sources import looked_through, made_scans

from firstsheet.engine.colour.lab import y_to_lightness
from firstsheet.engine.detail.edges import (
    FREQUENCIES_CPP,
    OVERSAMPLING,
    edge_facts,
    edge_profiles,
)
from firstsheet.engine.detail.survey import Tile

__all__ = ["draw"]

SIGMA_PX = 1.5
SCANS = (  # lens, scanner: Gaussian sigma, px
    (0.4, 0.4, Look(GREY, 1.6, "2 3")),
    (0.8, 0.8, Look(ACCENT)),
    (1.5, 1.0, Look(SECOND, 1.8, "6 3")),
)


def step(across_px: np.ndarray) -> np.ndarray:
    """The made truth: a Gaussian edge, from the error function of Python's own library."""
    return np.array([0.5 * (1.0 + math.erf(x / SIGMA_PX / math.sqrt(2.0))) for x in across_px.flat])


def slanted() -> Tile:
    """Pixels of such an edge, 7° off upright, L*."""
    y, x = np.mgrid[0:128, 0:128] - 63.3
    across = x * math.cos(math.radians(7.0)) + y * math.sin(math.radians(7.0))
    light = 0.1 + 0.5 * step(across).reshape(across.shape)
    return Tile(0, 0, np.asarray(y_to_lightness(light), dtype=np.float32))


def draw() -> str:
    """Two panels."""
    drawing = Drawing(high_px=330)
    left = drawing.panel(
        58, 32, 276, 248, title="One edge, read in bins of ¼ px",
        x=Axis(title="px across the edge", low=-6.0, high=6.0, ticks=ticks(-6, 6, 2)),
        y=Axis(title="linear light", low=-0.05, high=1.05, ticks=ticks(0, 1, 0.25)),
    )  # fmt: skip
    (profile,) = edge_profiles((slanted(),))[:1]
    place = (np.arange(profile.linear.size) + 0.5) / OVERSAMPLING
    place -= float(np.interp(0.5, profile.linear, place))
    left.curve(place, profile.linear)
    truth = np.arange(-6.0, 6.1, 0.5)
    left.points(truth, step(truth))
    left.legend(((Look(), "as measured"), (("ring", INK), "error function")), 12, 16)
    right = drawing.panel(
        396, 32, 302, 248, title="Response of made scans, from their edges",
        x=Axis(title="cycles/pixel", low=0.0, high=0.7, ticks=ticks(0, 0.7, 0.1)),
        y=Axis(title="MTF", low=0.0, high=1.05, ticks=ticks(0, 1, 0.25)),
    )  # fmt: skip
    scans = made_scans()
    rows: list[tuple[Look, str]] = []
    for lens, scanner, look in SCANS:
        spec = scans.ScanSpec(seed=5, size_px=384, lens_sigma_px=lens, scanner_sigma_px=scanner)
        plane = scans.make_scan(spec)
        survey = looked_through(plane)
        right.curve(FREQUENCIES_CPP, edge_facts(edge_profiles(survey.edge_tiles)).curve, look)
        blur = math.hypot(lens, scanner)
        levels = (0.9, 0.7, 0.5, 0.3, 0.1)
        right.points([scans.crossing_cpp(blur, level) for level in levels], levels)
        rows.append((look, f"lens {lens:g}, scanner {scanner:g} px"))
    right.legend([*rows, (("ring", INK), "exact response")], 120, 18)
    return drawing.svg()
