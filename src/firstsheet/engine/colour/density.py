"""Density, lightness and contrast of neutral tones.

Takes luminous reflectance Y (0 to 1) or L*; gives density and contrast. From XYZ alone density
is right only for neutrals, to about 0.02: coloured inks need their spectra. Theory:
docs/theory/colour.md. Tests: tests/engine/colour/test_density.py.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.lab import lightness_to_y, y_to_lightness

__all__ = [
    "contrast_ratio",
    "density_from_lightness",
    "density_from_y",
    "lightness_from_density",
    "y_from_density",
]


def density_from_y(y: ArrayLike) -> NDArray[np.float64]:
    """Density of a luminous reflectance, D = -log10 Y (ISO 5-1, definition).

    Raises
    ------
    ValueError
        If any Y is not above 0: a perfect black has no finite density.

    Examples
    --------
    >>> round(float(density_from_y(0.18)), 4)
    0.7447
    """
    reflectance = np.asarray(y, dtype=np.float64)
    if not (reflectance > 0.0).all():
        raise ValueError("density needs Y above 0")
    return 0.0 - np.log10(reflectance)


def y_from_density(density: ArrayLike) -> NDArray[np.float64]:
    """Luminous reflectance of a density, 10^-D."""
    return np.power(10.0, -np.asarray(density, dtype=np.float64))[()]


def density_from_lightness(lightness: ArrayLike) -> NDArray[np.float64]:
    """Density of a neutral tone known by its L*.

    >>> round(float(density_from_lightness(16)), 4)
    1.6779
    """
    return density_from_y(lightness_to_y(lightness))


def lightness_from_density(density: ArrayLike) -> NDArray[np.float64]:
    """L* of a neutral tone known by its density.

    >>> round(float(lightness_from_density(2.0)), 2)
    8.99
    """
    return y_to_lightness(y_from_density(density))


def contrast_ratio(white_y: float, black_y: float) -> float:
    """How many times more light the white returns than the black.

    >>> round(contrast_ratio(0.89, 0.0089))
    100
    """
    if not (white_y > 0.0 and black_y > 0.0):
        raise ValueError("contrast needs white and black above 0")
    return white_y / black_y
