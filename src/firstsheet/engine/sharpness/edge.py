"""What output sharpening really does to an edge: gate, gain and limit, as the pixels do it.

Takes how a file falls off, the scale, and the numbers of a SharpenPlan; gives the edge after
sharpening, its response, its overshoot and the width of its rims. The sums of an unlimited
filter would promise too much: the limit on overshoot takes up to two thirds of the gain back.
Theory: docs/theory/acutance.md. Tests: tests/engine/test_edgesharp.py, tests/pixels/.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.lab import lightness_to_y, y_to_lightness
from firstsheet.engine.sharpness.print_chain import Chain, file_response

__all__ = ["EDGE_L", "EdgeAfter", "edge_after", "edge_spectrum"]

Floats = NDArray[np.float64]

EDGE_L: Final = (30.0, 70.0)  # the edge judged by: 40 L* about the middle, our own choice
_PHASES: Final = 4  # positions of the edge between pixels, as ISO 12233 oversamples
_HALF_PX: Final = 64  # to each side of the edge
_FFT: Final = 1024  # quarter pixels
_WAVES: Final = 256
_SOFT: Final = np.array([1.0, 4.0, 6.0, 4.0, 1.0]) / 16.0  # of the edge's energy
_SEEN_L: Final = 1.0  # L*: lower rims are not counted, about one just noticeable difference
_RANGE_PX: Final = 3  # the local range looks this far to each side


@dataclass(frozen=True, slots=True, eq=False)
class EdgeAfter:
    """An edge on the print's pixels, dark side first, and what sharpening did to it."""

    x_px: Floats  # distance from the edge, quarter pixels
    plain_l: Floats
    sharpened_l: Floats
    overshoot_l: float  # the larger of bright and dark rim, L*
    halo_px: float  # both rims, each at half its height; 0 where there are none
    steepened: float  # steepest slope after over before


@lru_cache(maxsize=32)
def _places() -> Floats:
    places: Floats = np.arange(-_HALF_PX * _PHASES, _HALF_PX * _PHASES) / _PHASES
    places = places + 0.5 / _PHASES
    places.setflags(write=False)
    return places


@lru_cache(maxsize=32)
def _plain_linear(bare: Chain) -> Floats:
    """A step of height 1 in linear light, as file and resampling leave it, on fine places."""
    top = 2.0 if bare.scale == 1.0 else 1.0 / max(1.0, bare.scale)  # cycles per print pixel
    step = top / _WAVES
    f = (np.arange(_WAVES) + 0.5) * step
    response = file_response(f, bare)
    half = _places()[_HALF_PX * _PHASES :]
    swing = np.sin(2 * math.pi * np.outer(half, f)) @ (response / (math.pi * f)) * step
    linear: Floats = np.concatenate([0.5 - swing[::-1], 0.5 + swing])
    linear.setflags(write=False)
    return linear


@lru_cache(maxsize=64)
def _bell(radius_px: float) -> tuple[Floats, float]:
    """Weights of the blur, and the factor from its gradient's energy to an edge's height."""
    reach = max(1, math.ceil(3 * radius_px))
    bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) / radius_px) ** 2)
    bell /= bell.sum()
    step = np.concatenate([np.zeros(64), np.ones(64)])
    blurred = np.convolve(step, bell, mode="same")[16:-16]
    energy = np.convolve((blurred[2:] - blurred[:-2]) ** 2, _SOFT, mode="same")
    return bell, float(1.0 / np.sqrt(energy.max()))


def _along(lines: Floats, weights: Floats) -> Floats:
    """Symmetric sum along the second axis, ends held."""
    reach = len(weights) // 2
    padded = np.pad(lines, ((0, 0), (reach, reach)), mode="edge")
    n = lines.shape[1]
    out: Floats = weights[reach] * lines
    for k in range(reach):
        out += weights[k] * (padded[:, k : k + n] + padded[:, 2 * reach - k : 2 * reach - k + n])
    return out


def _sharpened(lines: Floats, chain: Chain, limit_l: float) -> Floats:
    """The rule of docs/theory/sharpening.md across a straight edge; (phases, pixels) of L*."""
    bell, scale = _bell(chain.radius_px)
    blurred = _along(lines, bell)
    gradient = np.zeros_like(lines)
    gradient[:, 1:-1] = blurred[:, 2:] - blurred[:, :-2]
    height = scale * np.sqrt(_along(gradient**2, _SOFT))
    share = np.clip((height - chain.gate_l[0]) / (chain.gate_l[1] - chain.gate_l[0]), 0.0, 1.0)
    share = share * share * (3.0 - 2.0 * share)
    wanted = lines + chain.gain * share * (lines - blurred)
    padded = np.pad(lines, ((0, 0), (_RANGE_PX, _RANGE_PX)), mode="edge")
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * _RANGE_PX + 1, axis=1)
    low, high = around.min(axis=2), around.max(axis=2)
    over, under = np.maximum(wanted - high, 0.0), np.maximum(low - wanted, 0.0)
    held: Floats = np.clip(wanted, low, high)
    held += limit_l * over / (limit_l + over) - limit_l * under / (limit_l + under)
    return held


@lru_cache(maxsize=512)
def edge_after(chain: Chain) -> EdgeAfter:
    """A straight edge of `EDGE_L` after file, resampling and sharpening; no ink, no eye.

    Parameters
    ----------
    chain
        With `limit_l` set; spread and ppi do not matter here.
    """
    assert chain.limit_l is not None
    low_y, high_y = (float(lightness_to_y(edge)) for edge in EDGE_L)
    bare = _bare(chain)
    plain = np.asarray(y_to_lightness(low_y + (high_y - low_y) * _plain_linear(bare)))
    lines = np.ascontiguousarray(plain.reshape(-1, _PHASES).T)
    after = _sharpened(lines, chain, max(chain.limit_l, 1e-3)).T.reshape(-1)
    bright = np.maximum(after - plain.max(), 0.0)
    dark = np.maximum(plain.min() - after, 0.0)
    return EdgeAfter(
        x_px=_places(),
        plain_l=plain,
        sharpened_l=after,
        overshoot_l=float(max(bright.max(), dark.max())),
        halo_px=_width(bright) + _width(dark),
        steepened=float(np.diff(after).max() / np.diff(plain).max()),
    )


def _bare(chain: Chain) -> Chain:
    """What the edge before sharpening depends on, so that it is made once."""
    return Chain(shape=chain.shape, scale=chain.scale, kernel=chain.kernel)


def _width(rim: Floats) -> float:
    """Width of a rim at half its height, px."""
    peak = int(rim.argmax())
    height = float(rim[peak])
    if height < _SEEN_L:
        return 0.0
    above = rim >= 0.5 * height
    first, last = peak, peak
    while first > 0 and above[first - 1]:
        first -= 1
    while last < rim.size - 1 and above[last + 1]:
        last += 1
    return (last - first + 1) / _PHASES


@lru_cache(maxsize=512)
def edge_spectrum(chain: Chain) -> tuple[Floats, Floats]:
    """Response of that edge in linear light: frequencies in cycles per print pixel, and values.

    Notes
    -----
    The line spread's Fourier transform over its value at 0, divided by the difference filter's
    own response: the last steps of the slanted edge of ISO 12233.
    """
    after = edge_after(chain)
    line = np.diff(np.asarray(lightness_to_y(after.sharpened_l)))
    whole = np.abs(np.fft.rfft(line, _FFT))[: _FFT // (2 * _PHASES) + 1]
    f = np.arange(whole.size, dtype=np.float64) * (_PHASES / _FFT)
    values: Floats = whole / whole[0] / np.sinc(f / _PHASES)
    return f, values
