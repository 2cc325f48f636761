"""A print as its ink spreads and as the eye takes it in from a distance; and where to look closely.

Takes light (XYZ) of a picture on paper; gives light after ink and eye. Nothing here knows a
profile. Theory: docs/theory/acutance.md. Tests: tests/engine/test_seeing.py.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.sharpness.eye import (
    MANNOS_PEAK,
    MANNOS_PEAK_CPD,
    cycles_per_degree,
    cycles_per_mm,
    gaussian_mtf,
    mannos_sakrison,
    pixel_mtf,
)
from firstsheet.engine.units import MM_PER_INCH

__all__ = ["detail_place", "eye_passes", "reach_px", "seen_light", "seen_part", "seen_step"]

Floats = NDArray[np.float64]

_ENOUGH_CPD: Final = 45.0  # the eye passes 4 % there
_LONGEST_PX: Final = 3000


def eye_passes(frequency_per_degree: ArrayLike) -> Floats:
    """Share of a detail's contrast that reaches the mind, held at 1 up to the eye's peak.

    Notes
    -----
    A(f) / A(peak) after Mannos and Sakrison (1974) beyond the peak. Below it the curve falls
    again, but a picture is to keep its tones when it is shown, so 1 is held: our own choice.

    Examples
    --------
    >>> eye_passes([0.0, 4.0, 20.0, 40.0]).round(3)
    array([1.   , 1.   , 0.512, 0.06 ])
    """
    f = np.maximum(np.asarray(frequency_per_degree, dtype=np.float64), MANNOS_PEAK_CPD)
    return np.where(f <= MANNOS_PEAK_CPD, 1.0, np.minimum(mannos_sakrison(f) / MANNOS_PEAK, 1.0))


def seen_step(ppi: float, distance_mm: float, long_side_px: int) -> int:
    """Print pixels to average into one so that the eye's finest detail is still there.

    >>> seen_step(360.0, 500.0, 4000), seen_step(360.0, 2000.0, 4000), seen_step(360.0, 300.0, 9000)
    (2, 5, 3)
    """
    needed_ppi = 2.0 * float(cycles_per_mm(_ENOUGH_CPD, distance_mm)) * MM_PER_INCH
    return max(1, int(ppi / needed_ppi), math.ceil(long_side_px / _LONGEST_PX))


def reach_px(pitch_mm: float, *, distance_mm: float | None, spread_mm: float) -> int:
    """Pixels beyond a part that its look still depends on."""
    eye_mm = 0.0 if distance_mm is None else 3.0 * math.radians(1.0 / 20.0) * distance_mm
    return max(2, math.ceil((eye_mm + 4.0 * spread_mm) / pitch_mm))


def seen_light(
    light_xyz: NDArray[np.floating],
    *,
    pitch_mm: float,
    spread_mm: float,
    distance_mm: float | None = None,
    averaged: int = 1,
) -> Floats:
    """Light of a picture after ink spread and, from a distance, the eye.

    Parameters
    ----------
    light_xyz
        (h, w, 3), linear light; edges are continued outwards.
    pitch_mm
        Side of a pixel of `light_xyz` on paper.
    distance_mm
        From where it is seen; None shows ink spread alone.
    averaged
        Print pixels along a side that were averaged into each; what that took away below the
        new limit is given back.

    Notes
    -----
    One radial response for all three channels: the eye resolves colour less finely than
    lightness, which is not modelled. Light spreads as light, so the sum is linear.
    """
    light = np.asarray(light_xyz, dtype=np.float64)
    margin = reach_px(pitch_mm, distance_mm=distance_mm, spread_mm=spread_mm)
    return seen_part(
        np.pad(light, ((margin, margin), (margin, margin), (0, 0)), mode="edge"),
        margin_px=margin,
        pitch_mm=pitch_mm,
        spread_mm=spread_mm,
        distance_mm=distance_mm,
        averaged=averaged,
    )


def seen_part(
    wide_xyz: NDArray[np.floating],
    *,
    margin_px: int,
    pitch_mm: float,
    spread_mm: float,
    distance_mm: float | None = None,
    averaged: int = 1,
) -> NDArray[Any]:
    """As `seen_light`, of a part that comes with its neighbours; gives it without them.

    Parameters
    ----------
    wide_xyz
        (h + 2 m, w + 2 m, 3), linear light: the part and, on all sides, `margin_px` of what lies
        around it, which should be at least `reach_px`.

    Returns
    -------
    NDArray
        (h, w, 3); single precision where the light was given so, else double.
    """
    kind = np.float32 if wide_xyz.dtype == np.float32 else np.float64
    bottom, right = wide_xyz.shape[0] - margin_px, wide_xyz.shape[1] - margin_px
    height, width = (_fast_length(side) for side in wide_xyz.shape[:2])
    beyond = ((0, height - wide_xyz.shape[0]), (0, width - wide_xyz.shape[1]))
    response = _response(
        (height, width), pitch_mm, spread_mm, distance_mm, averaged, single=kind == np.float32
    )
    out = np.empty((bottom - margin_px, right - margin_px, wide_xyz.shape[2]), kind)
    for channel in range(wide_xyz.shape[2]):
        plane = np.pad(np.asarray(wide_xyz[..., channel], kind), beyond, mode="edge")
        shown = np.fft.irfft2(np.fft.rfft2(plane) * response, s=(height, width))
        out[..., channel] = shown[margin_px:bottom, margin_px:right]
    return out


@lru_cache(maxsize=8)
def _response(
    size: tuple[int, int],
    pitch_mm: float,
    spread_mm: float,
    distance_mm: float | None,
    averaged: int,
    *,
    single: bool,
) -> NDArray[Any]:
    """What is left of each frequency of a picture of a size, laid out as `rfft2` gives them."""
    height, width = size
    down, across = np.fft.fftfreq(height)[:, None], np.fft.rfftfreq(width)[None, :]
    per_pixel = np.hypot(down, across)
    per_mm = per_pixel / pitch_mm
    response = gaussian_mtf(per_mm, spread_mm)
    if averaged > 1:
        response = (
            response * pixel_mtf(per_pixel / averaged) / pixel_mtf(np.minimum(per_pixel, 0.7))
        )
    if distance_mm is not None:
        response = response * eye_passes(cycles_per_degree(per_mm, distance_mm))
    return np.asarray(response, np.float32 if single else np.float64)


def _fast_length(least: int) -> int:
    """The next length that is a product of twos, threes and fives, quick to transform.

    >>> _fast_length(640), _fast_length(1478)
    (640, 1500)
    """
    length = least
    while True:
        rest = length
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return length
        length += 1


def detail_place(
    lightness: NDArray[np.floating], *, width_px: int, height_px: int
) -> tuple[int, int]:
    """Left and top of the box with most edges, neither empty nor all texture.

    The score of a box is the share of its cells that hold a strong step beside its mean step:
    edges with calm around them show sharpening best. Our own choice.
    """
    plane = np.asarray(lightness, dtype=np.float64)
    rows, columns = plane.shape
    across = np.abs(np.diff(plane, axis=1))[: rows - 1]
    down = np.abs(np.diff(plane, axis=0))[:, : columns - 1]
    step = np.maximum(across, down)
    strong = np.minimum(step, 20.0) ** 2
    sums = np.pad(strong, ((1, 0), (1, 0))).cumsum(axis=0).cumsum(axis=1)
    calm = np.pad(step < 2.0, ((1, 0), (1, 0))).cumsum(axis=0).cumsum(axis=1)
    w, h = min(width_px, columns - 1), min(height_px, rows - 1)

    def boxes(table: NDArray[Any]) -> Floats:
        total = table[h:, w:] - table[:-h, w:] - table[h:, :-w] + table[:-h, :-w]
        return np.asarray(total / (w * h), dtype=np.float64)

    score = boxes(sums) * (0.2 + boxes(calm))
    top, left = np.unravel_index(int(score.argmax()), score.shape)
    return int(left), int(top)
