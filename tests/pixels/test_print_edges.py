"""What a plan says of edges, measured again on the print's own pixels by another way.

Edges are drawn with the error function, go through the compiled sharpening, and are read with
the slanted-edge steps of ISO 12233 and with rulers of this file's own; nothing of
engine.sharpness.edge takes part in the reading.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from test_sharpening_pixels import (  # type: ignore[import-not-found]  # found by pytest
    blurred_edge,
    sharpened,
    slanted_edge_mtf,
)

from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.engine.records.sharpness import StrengthAnswer
from firstsheet.engine.sharpness.output import sharpen_plan
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM, Chain, MtfShape
from firstsheet.engine.sharpness.strength import solve_strength

Floats = NDArray[np.float64]
_PITCH_MM = 25.4 / 360


def solved(sigma_px: float, surface: str, distance_mm: float) -> tuple[StrengthAnswer, SharpenPlan]:
    shape = MtfShape(half_cpp=0.187391 / sigma_px, tenth_cpp=0.341541 / sigma_px)  # a Gaussian
    answer = solve_strength(
        Chain(shape=shape, spread_mm=INK_SPREAD_MM[surface]), distance_mm, surface=surface
    )
    plan = sharpen_plan(
        wish=answer.strength,
        radius_mm=answer.radius_mm,
        surface=surface,
        distance_mm=distance_mm,
        ppi=360,
    )
    return answer, plan


def across(picture: Floats) -> Floats:
    """The edge's profile in quarter pixels, from the tilted edge of `blurred_edge`."""
    y, x = np.mgrid[: picture.shape[0], : picture.shape[1]]
    away = (x - 80) * math.cos(math.radians(5)) + (y - 60) * math.sin(math.radians(5))
    at = np.floor(away * 4).astype(int) + 160
    inside = (at >= 0) & (at < 320)
    count = np.bincount(at[inside], minlength=320)
    total = np.bincount(at[inside], picture[inside], minlength=320)
    profile: Floats = total / np.maximum(count, 1)
    return profile


def rim_mm(beyond: Floats) -> float:
    """Width of a rim at half its height on paper; rims below 1 L* are not seen."""
    if beyond.max() < 1.0:
        return 0.0
    return float(np.count_nonzero(beyond >= 0.5 * beyond.max())) / 4 * _PITCH_MM


def drawn(sigma_px: float) -> Floats:
    """An edge from L* 30 to 70 whose blur is a Gaussian of light, as a lens blurs."""
    dark, bright = (float(luminance(np.array(one))) for one in (30.0, 70.0))
    light = blurred_edge(dark, bright, sigma_px)
    lightness: Floats = 116 * np.cbrt(light) - 16  # both ends lie above 0.008856
    return lightness


def luminance(lightness: Floats) -> Floats:
    """CIE 1976 lightness undone."""
    root = (lightness + 16) / 116
    return np.where(root > 6 / 29, root**3, 3 * (6 / 29) ** 2 * (root - 4 / 29))


def acutance_of(picture: Floats, spread_mm: float, distance_mm: float) -> float:
    """Acutance of a slanted edge on paper, with quadrature and formulas of this file."""
    f = np.linspace(0.005, 0.5, 60)  # cycles per print pixel
    read = slanted_edge_mtf(luminance(picture), tuple(f))
    per_degree = math.pi / 180 * distance_mm

    def weight(u: Any) -> Any:
        return 2.6 * (0.0192 + 0.114 * u) * np.exp(-((0.114 * u) ** 1.1))

    u = np.linspace(0, 0.5 / _PITCH_MM * per_degree, 20001)
    px = u / per_degree * _PITCH_MM
    ink = np.exp(-2 * (math.pi * spread_mm * u / per_degree) ** 2)
    passed = np.interp(px, f, read) * np.sinc(px) * ink * weight(u)
    return float(np.trapezoid(passed, u) / 19.8362)  # integral of the weight, check value


CASES = [
    (0.6, "gloss", 300.0), (0.6, "matte", 500.0), (0.9, "canvas", 500.0), (1.4, "gloss", 500.0),
    (1.4, "matte", 1500.0), (1.8, "matte", 300.0),
]  # fmt: skip


@pytest.mark.parametrize(("sigma_px", "surface", "distance_mm"), CASES)
def test_the_printed_pixels_reach_the_sharpness_the_plan_states(
    sigma_px: float, surface: str, distance_mm: float
) -> None:
    answer, plan = solved(sigma_px, surface, distance_mm)
    edge = drawn(sigma_px)
    spread = INK_SPREAD_MM[surface]

    plain, reached = (
        acutance_of(one, spread, distance_mm) for one in (edge, sharpened(edge, plan))
    )

    assert plain == pytest.approx(answer.unsharpened, abs=0.035)
    assert reached == pytest.approx(answer.reached, abs=0.045)
    assert reached > plain + 0.02


@pytest.mark.parametrize(("sigma_px", "surface", "distance_mm"), CASES)
def test_halo_and_overshoot_keep_their_limits_on_the_printed_pixels(
    sigma_px: float, surface: str, distance_mm: float
) -> None:
    answer, plan = solved(sigma_px, surface, distance_mm)
    edge = drawn(sigma_px)
    before, after = across(edge), across(sharpened(edge, plan))
    bright = np.maximum(after - before.max(), 0)
    dark = np.maximum(before.min() - after, 0)

    # one bin of a quarter pixel at each of four rim ends is the reading's own uncertainty
    assert rim_mm(bright) + rim_mm(dark) <= answer.halo_limit_mm + 4 * 0.25 * _PITCH_MM
    assert max(bright.max(), dark.max()) <= 5.0 + 0.2
    assert max(bright.max(), dark.max()) == pytest.approx(answer.overshoot_l, abs=0.3)


def test_the_normal_strength_up_close_breaks_the_halo_limit_that_the_fitted_one_keeps() -> None:
    edge = drawn(0.9)
    answer, fitted = solved(0.9, "matte", 300.0)
    normal = sharpen_plan(wish=1, radius_mm=None, surface="matte", distance_mm=300, ppi=360)

    def halo_mm(plan: SharpenPlan) -> float:
        before, after = across(edge), across(sharpened(edge, plan))
        return rim_mm(after - before.max()) + rim_mm(before.min() - after)

    assert halo_mm(normal) > 0.25 + 4 * 0.25 * _PITCH_MM
    assert halo_mm(fitted) <= answer.halo_limit_mm + 4 * 0.25 * _PITCH_MM
