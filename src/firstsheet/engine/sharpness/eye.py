"""What the eye makes of fine detail: contrast sensitivity, acutance, SQF, elementary MTFs.

Takes spatial frequencies (cycles/degree, cycles/mm or cycles/pixel, as each name says) and
modulation transfer functions; gives sensitivities and single numbers for sharpness. Nothing
here knows a picture. Theory: docs/theory/acutance.md. Tests: tests/engine/test_eye.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "EYE_WEIGHTS",
    "F10_SIGMA",
    "F50_SIGMA",
    "MANNOS_PEAK",
    "MANNOS_PEAK_CPD",
    "acutance",
    "barten_sensitivity",
    "colour_response",
    "cpiq_weight",
    "cycles_per_degree",
    "cycles_per_mm",
    "gaussian_mtf",
    "mannos_sakrison",
    "pixel_mtf",
    "retinal_illuminance_trolands",
    "sqf",
]

Floats = NDArray[np.float64]
Response = Callable[[Floats], Floats]  # frequency -> response, the unit set by the caller

F50_SIGMA: Final = math.sqrt(math.log(2.0) / 2.0) / math.pi  # f50 * sigma of a Gaussian, 0.18739
F10_SIGMA: Final = math.sqrt(math.log(10.0) / 2.0) / math.pi  # f10 * sigma, 0.34154
MANNOS_PEAK_CPD: Final = 7.8909  # where `mannos_sakrison` is highest
MANNOS_PEAK: Final = 0.980878  # its height there
_COLOUR_FILTERS: Final = (
    ((0.531, 0.330), (0.0392, 0.494)),  # red-green: weights, spreads in degrees
    ((0.488, 0.371), (0.0536, 0.386)),  # blue-yellow
)
_STEPS: Final = 2048  # of the integration rule; even
_HIGHEST: Final = 400.0  # cycles/degree; the eye weighs nothing beyond
_SQF_BAND: Final = (3.0, 12.0)  # cycles/degree; from memory, see docs/theory/acutance.md


def cycles_per_degree(frequency_per_mm: ArrayLike, distance_mm: float) -> Floats:
    """Frequency on paper as the eye meets it at a distance.

    >>> cycles_per_degree(300 / 25.4 / 2, 400.0).round(2)
    np.float64(41.23)
    """
    return np.asarray(frequency_per_mm, dtype=np.float64) * (distance_mm * math.pi / 180.0)


def cycles_per_mm(frequency_per_degree: ArrayLike, distance_mm: float) -> Floats:
    """Frequency on paper, cycles/mm, of a frequency at the eye; inverse of `cycles_per_degree`."""
    return np.asarray(frequency_per_degree, dtype=np.float64) / (distance_mm * math.pi / 180.0)


def mannos_sakrison(frequency_per_degree: ArrayLike) -> Floats:
    """Relative contrast sensitivity after Mannos and Sakrison; peak 0.981 at 7.89 c/deg.

    Notes
    -----
    A(f) = 2.6 (0.0192 + 0.114 f) exp(-(0.114 f)^1.1), f in cycles/degree. Source: J. L. Mannos,
    D. J. Sakrison, "The effects of a visual fidelity criterion on the encoding of images",
    IEEE Trans. Inf. Theory 20(4), 1974.

    Examples
    --------
    >>> mannos_sakrison([1.0, 8.0, 30.0]).round(5)
    array([0.31596, 0.98078, 0.18698])
    """
    scaled = 0.114 * np.asarray(frequency_per_degree, dtype=np.float64)
    return 2.6 * (0.0192 + scaled) * np.exp(-(scaled**1.1))


def cpiq_weight(frequency_per_degree: ArrayLike) -> Floats:
    """Luminance weight in the manner of IEEE 1858 (CPIQ); constants second-hand.

    Notes
    -----
    75 f^0.8 exp(-0.2 f) / 34.05, f in cycles/degree; peak 3.0002 at 4 c/deg. As a public
    implementation of the metric gives it; the standard's own text was not read. In `acutance`
    the constant factor cancels.

    Examples
    --------
    >>> cpiq_weight(4.0).round(4)
    np.float64(3.0002)
    """
    f = np.asarray(frequency_per_degree, dtype=np.float64)
    return 75.0 * f**0.8 * np.exp(-0.2 * f) / 34.05


EYE_WEIGHTS: Mapping[str, Response] = MappingProxyType(
    {"mannos-sakrison": mannos_sakrison, "cpiq-style": cpiq_weight}
)


def retinal_illuminance_trolands(luminance_cd_m2: float, pupil_mm: float = 2.1) -> float:
    """Retinal illuminance with the Stiles-Crawford correction, trolands.

    Notes
    -----
    E = pi d^2/4 L (1 - (d/9.7)^2 + (d/12.4)^4). Source: P. G. J. Barten, "Contrast sensitivity
    of the human eye and its effects on image quality", 1999.

    Examples
    --------
    >>> round(retinal_illuminance_trolands(20.0), 2)
    66.08
    """
    correction = 1.0 - (pupil_mm / 9.7) ** 2 + (pupil_mm / 12.4) ** 4
    return math.pi * pupil_mm**2 / 4.0 * luminance_cd_m2 * correction


def barten_sensitivity(
    frequency_per_degree: ArrayLike,
    *,
    retinal_trolands: float = 66.0824,
    pupil_mm: float = 2.1,
    field_degrees: float = 60.0,
) -> Floats:
    """Absolute contrast sensitivity (1 / threshold modulation) after Barten's simple model.

    Parameters
    ----------
    frequency_per_degree
        Cycles/degree, above 0.
    retinal_trolands
        From `retinal_illuminance_trolands`; the default is 20 cd/m2 through a 2.1 mm pupil.
    pupil_mm
        Widens the optical blur: sigma^2 = 0.5'^2 + (0.08' per mm x pupil)^2.
    field_degrees
        Side of the square field.

    Notes
    -----
    Constants (k 3, T 0.1 s, Xmax 12 degrees, Nmax 15, n 0.03, p 1.2274e6, phi0 3e-8, u0 7) from
    Barten 1999 as colour-science gives them; our tests compare with that library.

    Examples
    --------
    >>> barten_sensitivity([4.0, 16.0]).round(1)
    array([360.9,  71. ])
    """
    u = np.asarray(frequency_per_degree, dtype=np.float64)
    sigma_degrees = math.hypot(0.5, 0.08 * pupil_mm) / 60.0
    optics = np.exp(-2.0 * math.pi**2 * sigma_degrees**2 * u**2)
    summation = 2.0 / 0.1 * (1.0 / field_degrees**2 + 1.0 / 12.0**2 + u**2 / 15.0**2)
    photons = 1.0 / (0.03 * 1.2274e6 * retinal_trolands)
    inhibition = 3.0e-8 / -np.expm1(-((u / 7.0) ** 2))
    sensitivity: Floats = optics / 3.0 / np.sqrt(summation * (photons + inhibition))
    return sensitivity


def colour_response(frequency_per_degree: ArrayLike) -> Floats:
    """How much of a ripple of pure colour the eye keeps, 1 for the coarsest.

    Notes
    -----
    Mean of the red-green and the blue-yellow filter of S-CIELAB: X. Zhang, B. A. Wandell, "A
    spatial extension of CIELAB for digital color image reproduction", SID 1996; weights 0.531 and
    0.330, 0.488 and 0.371; spreads 0.0392 and 0.494, 0.0536 and 0.386 degrees, read as standard
    deviations (as several public implementations do; read as widths the eye would keep more).

    Examples
    --------
    >>> colour_response([0.01, 2.0, 10.0]).round(2)
    array([1.  , 0.5 , 0.02])
    """
    u = np.asarray(frequency_per_degree, dtype=np.float64)
    kept = np.zeros_like(u)
    for weights, spreads in _COLOUR_FILTERS:
        for weight, spread in zip(weights, spreads, strict=True):
            kept += 0.5 * weight / sum(weights) * gaussian_mtf(u, spread)
    return kept


def gaussian_mtf(frequency: ArrayLike, sigma: float) -> Floats:
    """MTF of a Gaussian spread; frequency and sigma in reciprocal units.

    >>> gaussian_mtf(0.5, 0.7).round(6)
    np.float64(0.089095)
    """
    f = np.asarray(frequency, dtype=np.float64)
    return np.exp(-2.0 * math.pi**2 * sigma**2 * f**2)[()]


def pixel_mtf(frequency_per_pixel: ArrayLike) -> Floats:
    """MTF of an ideal square pixel, |sinc|, frequency in cycles/pixel.

    >>> pixel_mtf([0.25, 0.5]).round(6)
    array([0.900316, 0.63662 ])
    """
    return np.abs(np.sinc(np.asarray(frequency_per_pixel, dtype=np.float64)))


def _simpson(values: Floats, low: float, high: float) -> float:
    """Integrate evenly spaced values (an odd number of them) by Simpson's rule."""
    step = (high - low) / (values.size - 1)
    return float(
        step / 3.0 * (values[0] + values[-1] + 4 * values[1:-1:2].sum() + 2 * values[2:-1:2].sum())
    )


def acutance(
    mtf: Response,
    *,
    cut_off_per_degree: float,
    weight: Response = mannos_sakrison,
) -> float:
    """Share of the eye's weighted band that a system passes; 1 is a perfect system.

    Parameters
    ----------
    mtf
        Response of the whole chain as a function of cycles/degree at the eye.
    cut_off_per_degree
        Upper limit of the numerator: the Nyquist frequency of file or raster.
    weight
        One of `EYE_WEIGHTS`.

    Notes
    -----
    A = integral_0^fN MTF W df / integral_0^inf W df; the definition of IEEE 1858 (CPIQ)
    as public summaries give it, see docs/theory/acutance.md. The infinite integral ends at
    400 c/deg, where both weights are below 1e-15 of their peak.

    Examples
    --------
    >>> round(acutance(lambda f: pixel_mtf(f / (2 * 41.228)), cut_off_per_degree=41.228), 4)
    0.9187
    """
    top = min(cut_off_per_degree, _HIGHEST)
    inner = np.linspace(0.0, top, _STEPS // 8 + 1)
    return _simpson(mtf(inner) * weight(inner), 0.0, top) / _whole(weight)


@lru_cache(maxsize=8)
def _whole(weight: Response) -> float:
    """Integral of a weight over every frequency."""
    return _simpson(weight(np.linspace(0.0, _HIGHEST, 8 * _STEPS + 1)), 0.0, _HIGHEST)


def sqf(mtf: Response, *, band_per_degree: tuple[float, float] = _SQF_BAND) -> float:
    """Subjective quality factor, per cent: mean MTF over log frequency.

    Notes
    -----
    100 * integral MTF d(ln f) / integral d(ln f). Source of the definition: E. M. Granger,
    K. N. Cupery, Photographic Science and Engineering 16(3), 221-230, 1972; the band of 3 to
    12 cycles/degree is from memory.

    Examples
    --------
    >>> round(sqf(lambda f: gaussian_mtf(f, 0.01)), 2)
    91.07
    """
    low, high = (math.log(limit) for limit in band_per_degree)
    log_f = np.linspace(low, high, _STEPS + 1)
    return 100.0 * _simpson(mtf(np.exp(log_f)), low, high) / (high - low)
