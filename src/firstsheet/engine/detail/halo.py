"""Is the picture sharpened already?

Takes the edge profiles of a picture; gives how far bright and dark rims overshoot the edges and
how wide they are. Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_halo.py.
"""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.edges import OVERSAMPLING, REACH_PX, EdgeProfile
from firstsheet.engine.records.detail import HaloFacts

__all__ = [
    "halo_facts",
]

Floats = NDArray[np.float64]

_LEAST_EDGES: Final = 4
_SLIGHT, _CLEAR = 0.025, 0.06  # overshoot, share of the edge's height in L*; our own steps
_SEARCH_PX: Final = 7  # to each side of the edge


def halo_facts(profiles: list[EdgeProfile]) -> HaloFacts:
    """Measure the rims on the middle profile of the picture's sharper half of edges.

    Notes
    -----
    Taking the median over edges bin by bin leaves what they have in common: sharpening works
    on all of them, while a rim of the scene stands on one.
    """
    if len(profiles) < _LEAST_EDGES:
        return HaloFacts(
            edges=len(profiles),
            overshoot_percent=None,
            undershoot_percent=None,
            width_px=None,
            told="cannot tell",
            confidence=0.0,
        )
    halves = np.array([profile.half_cpp for profile in profiles])
    sharper = [one for one in profiles if one.half_cpp >= np.median(halves)]
    if len(sharper) < _LEAST_EDGES:
        sharper = profiles
    common = np.median(np.array([one.lightness for one in sharper]), axis=0)
    middle = REACH_PX * OVERSAMPLING
    near = _SEARCH_PX * OVERSAMPLING
    bright = common[middle : middle + near] - 1.0
    dark = -common[middle - near : middle][::-1]
    over, bright_px = _rim(bright)
    under, dark_px = _rim(dark)
    noise = float(np.median([1.0 / one.snr for one in sharper])) / np.sqrt(len(sharper))
    mean = 0.5 * (over + under)
    told: Literal["none", "slight", "clear"]
    told = "clear" if mean >= _CLEAR else "slight" if mean >= _SLIGHT else "none"
    distance = min(abs(mean - step) for step in (_SLIGHT, _CLEAR))
    confidence = (1.0 - np.exp(-len(sharper) / 5.0)) * (
        1.0 - 0.5 * np.exp(-distance / (0.01 + noise))
    )
    if told != "none":
        confidence *= _agreeing(sharper, over, under)
    return HaloFacts(
        edges=len(sharper),
        overshoot_percent=round(100.0 * over, 2),
        undershoot_percent=round(100.0 * under, 2),
        width_px=round(bright_px + dark_px, 2) if told != "none" else None,
        told=told,
        confidence=round(float(confidence), 3),
    )


def _agreeing(profiles: list[EdgeProfile], over: float, under: float) -> float:
    """Share of edges with both rims, about as high: sharpening spares none, a scene's rims do.

    "About" is between a third of the common rim and three times it: our own choice.
    """
    middle = REACH_PX * OVERSAMPLING
    near = _SEARCH_PX * OVERSAMPLING
    agreeing = 0
    for one in profiles:
        bright, _ = _rim(one.lightness[middle : middle + near] - 1.0)
        dark, _ = _rim(-one.lightness[middle - near : middle][::-1])
        agreeing += over / 3 <= bright <= 3 * over and under / 3 <= dark <= 3 * under
    return agreeing / len(profiles)


def _rim(beyond: Floats) -> tuple[float, float]:
    """Height of a rim and its width at half that height, px; `beyond` starts at the edge."""
    smooth = np.convolve(np.pad(beyond, 1, mode="edge"), [0.25, 0.5, 0.25], "valid")
    peak = int(smooth.argmax())
    height = float(smooth[peak])
    if height <= 0.0:
        return 0.0, 0.0
    half = 0.5 * height
    first, last = peak, peak
    while first > 0 and smooth[first - 1] >= half:
        first -= 1
    while last < smooth.size - 1 and smooth[last + 1] >= half:
        last += 1
    return height, (last - first + 1) / OVERSAMPLING
