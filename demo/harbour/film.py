"""From light to a developed photograph: lens blur, glow, tone curve, grain, encoded 16-bit.

Takes linear light; gives code values. Tone: x^g / (x^g + k^g), the saturation curve that
K. Naka and W. Rushton (J. Physiol. 185, 1966) fitted to receptors; it has the toe and shoulder
of film. Theory: docs/theory/harbour.md. Tests: tests/harbour/test_film.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from harbour.compiled import compiled
from harbour.noise import four_chances

__all__ = ["Film", "develop_rows", "soften", "tone_curve"]

Floats = NDArray[np.float64]
Floats32 = NDArray[np.float32]
CURVE_STEPS = 1024


@dataclass(frozen=True, kw_only=True)
class Film:
    """One emulsion, lens and development."""

    exposure: float
    contrast: float = 1.15  # g
    half: float = 0.72  # k: light that gives half of the densest white
    white: float = 9.0  # light that becomes paper white
    grain: float = 0.012  # standard deviation in mid-tones, encoded
    colour_grain: float = 0.5  # share of the grain that differs between channels
    lens_px: float = 0.75  # blur, standard deviation
    glow: float = 0.05
    vignette: float = 0.28
    grey: tuple[float, float, float] | None = None  # weights of a panchromatic film


def _taps(sigma: float) -> Floats32:
    n = max(int(np.ceil(3 * sigma)), 1)
    x = np.arange(-n, n + 1)
    weights = np.exp(-0.5 * (x / sigma) ** 2)
    taps: Floats32 = (weights / weights.sum()).astype(np.float32)
    return taps


@compiled
def _across(rows: Any, taps: Any, out: Any) -> None:
    """Blur along the rows."""
    h, w, c = rows.shape
    n = taps.size // 2
    for y in range(h):
        for x in range(w):
            for k in range(c):
                total = np.float32(0)
                for i in range(taps.size):
                    total += taps[i] * rows[y, min(max(x + i - n, 0), w - 1), k]
                out[y, x, k] = total


@compiled
def _down(rows: Any, taps: Any, out: Any, first: int) -> None:
    """Blur along the columns; `out` starts `first` rows below the top of `rows`."""
    h, w, c = out.shape
    n = taps.size // 2
    out[:] = 0
    for y in range(h):
        for i in range(taps.size):
            source = min(max(y + first + i - n, 0), rows.shape[0] - 1)
            weight = taps[i]
            for x in range(w):
                for k in range(c):
                    out[y, x, k] += weight * rows[source, x, k]


def soften(picture: Floats32, sigma: float) -> Floats32:
    """Gaussian blur of a whole small picture."""
    taps = _taps(sigma)
    middle, out = np.empty_like(picture), np.empty_like(picture)
    _across(picture, taps, middle)
    _down(middle, taps, out, 0)
    return out


@compiled
def _grain_rows(top: int, field: int, out: Any) -> None:
    """Even random numbers of standard deviation 1; the blur that follows makes them normal."""
    for y in range(out.shape[0]):
        for x in range(out.shape[1]):
            a, b, c, d = four_chances(x, y + top, field)
            out[y, x, 0] = (a - 0.5) * 3.4641
            if out.shape[2] > 1:
                out[y, x, 1] = (b - 0.5) * 3.4641
                out[y, x, 2] = (c - 0.5) * 3.4641
                out[y, x, 3] = (d - 0.5) * 3.4641


@compiled
def _expose(
    sharp: Any, wide: Any, blend: Any, grain: Any, glow: Any, glow_step: float, numbers: Any,
    weights: Any, curve: Any, top: int, height: int, out: Any,
) -> None:  # fmt: skip
    """Tone curve, vignette, glow and grain, row by row."""
    exposure, strength, colour, glow_share, vignette = (
        numbers[0], numbers[1], numbers[2], numbers[3], numbers[4],
    )  # fmt: skip
    rows, width, channels = out.shape
    tint = (1.0, 0.62, 0.42)
    light = np.empty(3)
    last = curve.size - 2
    for y in range(rows):
        for x in range(width):
            dx, dy = 2.0 * x / width - 1, 2.0 * (y + top) / height - 1
            r2 = (dx * dx + dy * dy) * 0.5
            fall = exposure * (1 - vignette * r2 * (0.6 + 0.4 * r2))
            gx, gy = x / glow_step - 0.5, (y + top) / glow_step - 0.5
            ix = min(max(int(gx), 0), glow.shape[1] - 2)
            iy = min(max(int(gy), 0), glow.shape[0] - 2)
            fx, fy = min(max(gx - ix, 0.0), 1.0), min(max(gy - iy, 0.0), 1.0)
            soft = blend[y, x]
            for c in range(3):
                halo = (
                    glow[iy, ix, c] * (1 - fx) * (1 - fy) + glow[iy, ix + 1, c] * fx * (1 - fy)
                    + glow[iy + 1, ix, c] * (1 - fx) * fy + glow[iy + 1, ix + 1, c] * fx * fy
                )  # fmt: skip
                s = sharp[y, x, c] * (1 - soft) + wide[y, x, c] * soft
                light[c] = (s + glow_share * tint[c] * halo) * fall
            if channels == 1:
                light[0] = light[0] * weights[0] + light[1] * weights[1] + light[2] * weights[2]
            common = grain[y, x, 0]
            for c in range(channels):
                at = min(math.sqrt(max(light[c], 0.0)) * CURVE_STEPS, last + 0.999)
                code = curve[int(at)] + (curve[int(at) + 1] - curve[int(at)]) * (at - int(at))
                own = (
                    common if channels == 1 else common * (1 - colour) + grain[y, x, 1 + c] * colour
                )
                amount = strength * (0.35 + 2.6 * code * (1 - code)) * min(1.0, (1.02 - code) * 14)
                code += own * amount
                out[y, x, c] = np.uint16(min(max(code, 0.0), 1.0) * 65535.0 + 0.5)


def tone_curve(film: Film, encode: Callable[[Floats], Floats]) -> NDArray[np.float64]:
    """Encoded value over the square root of light, `CURVE_STEPS` steps to one."""
    light = (np.arange(int(4.0 * CURVE_STEPS)) / CURVE_STEPS) ** 2
    raised, half = light**film.contrast, film.half**film.contrast
    full = film.white**film.contrast / (film.white**film.contrast + half)
    tone = np.minimum(raised / (raised + half) / full, 1.0)
    return np.ascontiguousarray(encode(tone))


def develop_rows(
    picture: Floats32,
    blend: Floats32,
    glow: Floats32,
    film: Film,
    curve: Floats,
    top: int,
    bottom: int,
) -> NDArray[np.uint16]:
    """Develop some rows of a whole linear picture (height, width, 3)."""
    height, width, _ = picture.shape
    numbers = np.array([film.exposure, film.grain, film.colour_grain, film.glow, film.vignette])
    weights = np.asarray(film.grey if film.grey is not None else (1.0, 0.0, 0.0))
    channels = 3 if film.grey is None else 1
    layers = []
    deep = float(blend[top:bottom].max()) > 0
    for sigma in (film.lens_px, 3.2 * film.lens_px + 1.2) if deep else (film.lens_px,):
        taps = _taps(sigma)
        n = taps.size // 2
        low, high = max(top - n, 0), min(bottom + n, height)
        middle = np.empty((high - low, width, 3), np.float32)
        _across(picture[low:high], taps, middle)
        layer = np.empty((bottom - top, width, 3), np.float32)
        _down(middle, taps, layer, top - low)
        layers.append(layer)
    planes = 1 if channels == 1 else 4
    raw = np.empty((bottom - top + 4, width, planes), np.float32)
    _grain_rows(top - 2, 2001, raw)
    taps = _taps(0.62)
    middle = np.empty_like(raw)
    _across(raw, taps, middle)
    grain = np.empty((bottom - top, width, planes), np.float32)
    _down(middle, taps, grain, 2)
    grain *= 2.15
    out = np.empty((bottom - top, width, channels), np.uint16)
    step = height / glow.shape[0]
    _expose(
        layers[0],
        layers[-1],
        blend[top:bottom],
        grain,
        glow,
        step,
        numbers,
        weights,
        curve,
        top,
        height,
        out,
    )
    return out
