"""What sharpening does to pixels: edges gain, flats and grain do not, hue stays, halos end."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from sheet_makers import job_for, picture_of, plan_with, sheet_of  # type: ignore[import-not-found]  # found by pytest

from firstsheet.cms.link import SourceColour
from firstsheet.engine.records.plan import SharpenPlan
from firstsheet.pixels.native import kernel
from firstsheet.pixels.sharpening import sharpen_tables

Floats = NDArray[np.float64]


def sharpened(lightness: Floats, plan: SharpenPlan | None = None, **changes: Any) -> Floats:
    """A plane of L* through the kernel, sixteen rows at a time, as a band does it."""
    tables = sharpen_tables(plan or plan_with(**changes))
    assert tables is not None
    height, width = lightness.shape
    plane = np.ascontiguousarray(lightness, np.float32)
    scratch = np.empty(tables.scratch(16, 256), np.float32)
    result = np.empty((height, width), np.float32)
    for top in range(0, height, 16):
        count = min(16, height - top)
        rows = np.arange(top - tables.margin, top + count + tables.margin).clip(0, height - 1)
        part = np.empty((count, width), np.float32)
        kernel("sharpen")(
            plane.ctypes.data, width, rows.ctypes.data, count, tables.bell.ctypes.data,
            tables.radius, tables.soft.ctypes.data, tables.numbers.ctypes.data,
            scratch.ctypes.data, part.ctypes.data,
        )  # fmt: skip
        result[top : top + count] = part
    return result.astype(float)


def blurred_edge(low: float, high: float, sigma: float, angle_deg: float = 5.0) -> Floats:
    """An edge of known blur drawn with the error function, at an angle."""
    y, x = np.mgrid[:120, :160]
    away = (x - 80) * math.cos(math.radians(angle_deg)) + (y - 60) * math.sin(
        math.radians(angle_deg)
    )
    step = np.vectorize(math.erf)(away / sigma / math.sqrt(2)) * 0.5 + 0.5
    result: Floats = low + (high - low) * step
    return result


def slanted_edge_mtf(picture: Floats, frequencies: tuple[float, ...]) -> list[float]:
    """MTF by the steps of ISO 12233: row centroids, fit, quarter-pixel bins, derivative, DFT."""
    height, width = picture.shape
    spread = np.diff(picture, axis=1)
    centres = (spread * (np.arange(width - 1) + 0.5)).sum(1) / spread.sum(1)
    slope, start = np.polyfit(np.arange(height), centres, 1)
    y, x = np.mgrid[:height, :width]
    away = (x - (start + slope * y)) / math.hypot(1, slope)
    bins = np.floor(away * 4).astype(int)
    keep = np.abs(bins) < 120
    total = np.bincount(bins[keep] + 120, picture[keep], minlength=241)
    count = np.bincount(bins[keep] + 120, minlength=241)
    profile = (total / np.maximum(count, 1))[1:240]
    line = np.diff(profile) * np.hamming(len(profile) - 1)
    at = (np.arange(len(line)) - len(line) / 2) / 4
    power = [abs(np.sum(line * np.exp(-2j * np.pi * f * at))) for f in (0.0, *frequencies)]
    derivative = [np.sinc(f / 4) for f in frequencies]
    return [p / power[0] / d for p, d in zip(power[1:], derivative, strict=True)]


@pytest.mark.published
@pytest.mark.parametrize("sigma", [0.7, 1.0, 1.5])
def test_the_edge_reader_gives_back_a_known_blur(sigma: float) -> None:
    # a Gaussian's MTF is exp(-2 pi^2 sigma^2 f^2); tolerance 0.01 at 0.25 cycles a pixel
    f = 0.25 if sigma < 1.2 else 0.15
    got = slanted_edge_mtf(blurred_edge(20, 80, sigma), (f,))[0]

    assert got == pytest.approx(math.exp(-2 * math.pi**2 * sigma**2 * f**2), abs=0.012)


@pytest.mark.parametrize(("strength", "least"), [(0.6, 1.2), (1.0, 1.35), (1.5, 1.5)])
def test_edges_gain_acutance_in_the_order_of_strengths(strength: float, least: float) -> None:
    soft = blurred_edge(35, 60, 1.0)
    crisp = sharpened(soft, wish=strength)
    before = slanted_edge_mtf(soft, (0.05, 0.1, 0.2))
    after = slanted_edge_mtf(crisp, (0.05, 0.1, 0.2))

    assert after[1] / before[1] > least
    assert all(a > b for a, b in zip(after, before, strict=True))


@pytest.mark.parametrize("correlated", [False, True])
@pytest.mark.parametrize(("spread_l", "most"), [(1.0, 1.0005), (2.0, 1.01), (3.0, 1.03)])
def test_grain_on_flat_tones_is_left_alone(spread_l: float, most: float, correlated: bool) -> None:
    noise = np.random.default_rng(8).standard_normal((240, 240))
    if correlated:
        noise = noise + np.roll(noise, 1, 0) + np.roll(noise, 1, 1) + np.roll(noise, (1, 1), (0, 1))
        noise /= noise.std()
    grainy = 50 + spread_l * noise

    assert sharpened(grainy, wish=1.5).std() / grainy.std() <= most


def test_a_smooth_sky_is_not_touched_at_all() -> None:
    sky: Floats = np.fromfunction(lambda y, x: 60 + y / 12 + x / 50, (300, 200))

    assert (sharpened(sky, wish=3.0) == sky.astype(np.float32)).all()


@pytest.mark.parametrize("wish", [0.6, 1.0, 1.5, 3.0])
@pytest.mark.parametrize("surface", ["gloss", "canvas"])
def test_overshoot_stays_within_its_bound(wish: float, surface: str) -> None:
    picture = np.random.default_rng(9).uniform(5, 95, (12, 12))
    blocks = np.repeat(np.repeat(picture, 14, axis=0), 14, axis=1)
    plan = plan_with(wish=wish, surface=surface)
    got = sharpened(blocks, wish=wish, surface=surface)
    padded = np.pad(blocks, 3, mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, (7, 7))
    over = (got - windows.max(axis=(2, 3))).max()
    under = (windows.min(axis=(2, 3)) - got).max()

    assert 0.5 < over <= plan.overshoot_limit_l + 1e-4
    assert 0.5 < under <= plan.overshoot_limit_l + 1e-4
    assert got.min() >= 0
    assert got.max() <= 100


def test_the_halo_is_as_wide_as_the_plan_says() -> None:
    # with no limit in the way, the halo of an ideal strong edge has the plan's width
    edge = np.where(np.arange(200) < 100, 30.0, 70.0)
    plan = plan_with(ppi=1440)
    free = plan.model_copy(update={"overshoot_limit_l": 1e6})
    got = sharpened(np.tile(edge, (80, 1)), plan=free)[40] - edge
    bright = got[100:]
    half = np.interp(-bright[0] / 2, -bright[:60], np.arange(60) + 0.5)

    assert 2 * half * 25.4 / 1440 == pytest.approx(plan.halo_width_mm, rel=0.08)


def test_hue_and_chroma_stay_where_lightness_is_sharpened(colour: SourceColour) -> None:
    from skimage.color import xyz2lab

    picture = np.zeros((48, 120, 3), np.uint16)
    picture[:, :60] = (30000, 18000, 42000)
    picture[:, 60:] = (38000, 26000, 50000)
    job = job_for(picture, sharpen=plan_with(wish=1.5))
    got = picture_of(job, sheet_of(picture, job, colour))
    assert colour.decode is not None
    assert colour.to_xyz is not None

    def lab(codes: NDArray[np.uint16]) -> Floats:
        assert colour.decode is not None
        assert colour.to_xyz is not None
        light = np.stack([colour.decode[i][codes[..., i]] for i in range(3)], axis=-1)
        result: Floats = xyz2lab(light @ colour.to_xyz.T, illuminant="D50")
        return result

    before, after = lab(picture), lab(got)
    assert np.abs(after[..., 0] - before[..., 0]).max() > 1
    assert np.abs(after[..., 1:] - before[..., 1:]).max() < 0.02


def test_no_strength_means_no_tables() -> None:
    assert sharpen_tables(None) is None
    assert sharpen_tables(plan_with(wish="off")) is None


@pytest.mark.parametrize("model", ["rgb", "lab"])
def test_where_colorimetry_is_unknown_codes_move_along_a_stand_in(model: Any) -> None:
    picture = np.full((40, 80, 3), 20000, np.uint16)
    picture[:, 40:] = 40000
    job = job_for(picture, mode="as-is", sharpen=plan_with(), colour_model=model)
    moved = picture_of(job, sheet_of(picture, job)).astype(int) - picture

    assert np.abs(moved[:, :, 0]).max() > 300
    if model == "rgb":
        assert np.ptp(moved, axis=2).max() <= 1
    else:
        assert (moved[:, :, 1:] == 0).all()
