"""Our scale of colours for magnitudes, and its lightness to all kinds of eyes."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
from drawing import ACCENT, GREY, INK, SECOND, Axis, Drawing, Look, Mark, ticks
from sources import colour_science, press, published

from firstsheet.cms.build import space_profile
from firstsheet.cms.chain import build_chain
from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.pixels.proof import ProofWhite, screen_rgb
from firstsheet.pixels.scale import scale_colour

__all__ = ["draw"]

EYES: tuple[tuple[str, str, Mark], ...] = (
    ("Protanomaly", "protan", "ring"), ("Deuteranomaly", "deutan", "square"),
    ("Tritanomaly", "tritan", "triangle"),
)  # fmt: skip


def simulated(science: Any, encoded: Any, kind: str) -> Any:
    """Lightness of encoded sRGB to an eye that lacks a cone, by Machado and others (2009)."""
    import colour.blindness

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        matrix = colour.blindness.matrix_cvd_Machado2009(kind, 1.0)
    linear = np.clip(science.eotf(encoded, function="sRGB") @ matrix.T, 0.0, 1.0)
    return science.lightness(100.0 * linear @ (0.2126, 0.7152, 0.0722), method="CIE 1976")


def worst(black_point: bool, white: ProofWhite) -> list[float]:
    """Largest distance of each tabled triple, in 8-bit levels."""
    chain = build_chain(
        source_profile=space_profile("srgb"), colour_model="rgb", paper_profile=press(),
        intent="relative", black_point=black_point,
    )  # fmt: skip
    kind = f"{white}_{'bpc' if black_point else 'plain'}"
    found = []
    for row in published("press_soft_proof.csv"):
        codes = np.array([float(row[letter]) for letter in "rgb"]) / 255.0
        expected = np.array([float(row[f"{kind}_{letter}"]) for letter in "rgb"])
        shown = screen_rgb(chain.printed_lab(chain.device(codes)), chain, space="srgb", white=white)
        found.append(float(np.abs(np.clip(shown, 0, 1) * 255.0 - expected).max()))
    return found


def draw() -> str:
    """Two panels, and the scale above the first."""
    drawing = Drawing(high_px=340)
    share = np.linspace(0.0, 1.0, 101)
    drawing.text(58, 18, "The scale, from nothing to most", bold=True)
    drawing.picture(scale_colour(np.linspace(0.0, 1.0, 256))[None], 58, 28, 300, 20)
    left = drawing.panel(
        58, 60, 300, 230,
        x=Axis(title="share of the scale", low=0.0, high=1.0, ticks=ticks(0, 1, 0.25)),
        y=Axis(title="L*", low=0.0, high=100.0, ticks=ticks(0, 100, 20)),
    )  # fmt: skip
    lab = xyz_to_lab(SPACES["srgb"].to_xyz_d50(scale_colour(share)))
    left.curve(share, lab[:, 0])
    science = colour_science()
    few = np.linspace(0.05, 0.95, 10)
    for kind, _, mark in EYES:
        left.points(few, simulated(science, scale_colour(few), kind), mark, SECOND)
    left.legend(
        [(Look(ACCENT), "usual eyes"), *(((mark, SECOND), words) for _, words, mark in EYES)],
        14, 156,
    )  # fmt: skip
    right = drawing.panel(
        424, 32, 274, 258, title="A press proof, against tabled values",
        x=Axis(title="32 triples, in order", low=0.0, high=33.0, ticks=(1, 8, 16, 24, 32)),
        y=Axis(title="largest miss, 8-bit levels", low=0.0, high=0.15, ticks=ticks(0, 0.15, 0.05)),
    )  # fmt: skip
    misses: list[float] = []
    for white in ("paper", "screen"):
        for black_point in (False, True):
            misses += worst(black_point, white)
    right.level(0.1)
    right.label(0.5, 0.1, "the table’s own tolerance", dy=-6, colour=GREY)
    right.points(np.arange(1, len(misses) + 1), misses, "ring", INK)
    return drawing.svg()
