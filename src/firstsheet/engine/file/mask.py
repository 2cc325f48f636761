"""Two suspicions about scans of film: an uninverted colour negative, and film edges left in.

Takes channel histograms, or a small grey picture; gives a confidence or a share. Both are
suspicions for a person to confirm: they rather miss a case than cry wolf. Theory:
docs/theory/judging.md. Tests: tests/engine/file/test_mask.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["MASK_ASKS_FROM", "film_border_percent", "mask_confidence"]

MASK_ASKS_FROM: Final = 0.6  # confidence at which the person is asked

_PERCENTS: Final = np.array([1.0, 5.0, 25.0, 50.0, 75.0, 95.0, 99.5])
_HOLDER_BLACK: Final = 1e-4  # of the lightest light (density 4); darker is holder, never film
_MIN_PIXELS: Final = 1000


def mask_confidence(histograms: Sequence[ArrayLike], gamma: float = 2.2) -> float:
    """How surely a picture is a colour negative that was not inverted, 0 to 1.

    Parameters
    ----------
    histograms
        Counts of R, G and B per code, black first.
    gamma
        Exponent that brings codes (0 to 1) to linear light; 1 for linear files.

    Notes
    -----
    The orange mask adds a nearly constant density to green and more to blue. So a negative is
    orange at its bright end (clear film) and equally orange at its dark end (the scene's
    lights), its red never gets near black, and between the ends the scene's colours move the
    balance. A warm-lit positive keeps black and usually white, and one orange material shows
    no change of balance. Each sign is a factor of the confidence. The limits are ours, chosen
    on made negatives and photographs; docs/theory/judging.md.
    """
    if len(histograms) != 3:
        raise ValueError(f"R, G and B are needed, got {len(histograms)} histograms")
    levels = [_percentiles(one, gamma) for one in histograms]
    if any(one is None for one in levels):
        return 0.0
    red, green, blue = (-gamma * np.log10(one) for one in levels if one is not None)
    green_over, blue_over = green - red, blue - red  # densities over red, dark end first
    red_range = float(red[0] - red[-1])
    drift = abs(float(blue_over[0] - blue_over[-1]))
    variety = max(float(np.ptp(blue_over)), float(np.ptp(green_over)))
    confidence = 1.0
    for end in (0, -1):
        blue_end, green_end = float(blue_over[end]), float(green_over[end])
        confidence *= _rise(blue_end, 0.25, 0.45) * (1.0 - _rise(blue_end, 1.2, 1.5))
        confidence *= _rise(green_end, 0.10, 0.20) * _rise(blue_end - green_end, 0.08, 0.16)
    confidence *= 1.0 - _rise(drift, 0.25, 0.50)
    confidence *= _rise(red_range, 0.60, 0.85) * (1.0 - _rise(red_range, 1.5, 1.8))
    return confidence * _rise(variety, 0.08, 0.16)


def _percentiles(histogram: ArrayLike, gamma: float) -> NDArray[np.float64] | None:
    """Codes (0 to 1) at _PERCENTS, the holder's black left out; None where too little is left."""
    counts = np.array(histogram, dtype=np.float64)
    top = len(counts) - 1
    counts[: int(_HOLDER_BLACK ** (1.0 / gamma) * top) + 1] = 0.0
    up_to = np.cumsum(counts)
    if up_to[-1] < _MIN_PIXELS:
        return None
    index = np.searchsorted(up_to, _PERCENTS / 100.0 * up_to[-1])
    codes: NDArray[np.float64] = np.minimum(index, top) / top
    return codes


def _rise(value: float, low: float, high: float) -> float:
    """0 up to low, 1 from high, straight between."""
    return min(1.0, max(0.0, (value - low) / (high - low)))


_EVEN: Final = 0.02  # standard deviation along an edge row that counts as even
_BLACK: Final = 0.05
_SHARE_NEEDED: Final = 0.004  # of the side's length, on two opposite sides at least


def film_border_percent(small_grey: ArrayLike) -> float:
    """Share of a picture that looks like film edge or holder around it, per cent.

    Parameters
    ----------
    small_grey
        The whole picture made small, (H, W), encoded 0 to 1; some 500 pixels a side serve.

    Returns
    -------
    float
        0 unless even rows, black or as bright as anything in the picture, stand along at least
        two opposite sides.
    """
    grey = np.asarray(small_grey, dtype=np.float64)
    if grey.ndim != 2 or min(grey.shape) < 16:
        return 0.0
    bright = float(np.percentile(grey, 99.9))
    if float(np.ptp(grey)) < 0.2:
        return 0.0
    height, width = grey.shape
    top, bottom = (_even_rows(side, bright) for side in (grey, grey[::-1]))
    left, right = (_even_rows(side, bright) for side in (grey.T, grey.T[::-1]))
    framed = min(top, bottom) >= _SHARE_NEEDED * height or (
        min(left, right) >= _SHARE_NEEDED * width
    )
    inner = max(0, height - top - bottom) * max(0, width - left - right)
    if not framed or inner == 0:
        return 0.0
    return float((1.0 - inner / grey.size) * 100.0)


def _even_rows(grey: NDArray[np.float64], bright: float) -> int:
    """Even black or bright rows from the first row on; the middle four fifths are looked at."""
    margin = grey.shape[1] // 10
    rows = grey[:, margin : grey.shape[1] - margin]
    mean = rows.mean(axis=1)
    even = (rows.std(axis=1) < _EVEN) & ((mean < _BLACK) | (mean > bright - _EVEN))
    return len(grey) if even.all() else int(np.argmin(even))
