"""From spectra to XYZ, by tables of weights.

Takes reflectances and weights on evenly spaced wavelengths; gives XYZ, Y = 1 for a perfect white.
The tables themselves: data/cie/weights.csv, read by `files.reading.measured.weights`.
Theory: docs/theory/verify.md. Tests: tests/engine/colour/test_spectra.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["SpectralWeights", "spectra_to_xyz"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SpectralWeights:
    """What each wavelength adds to X, Y and Z under one light for one observer."""

    illuminant: str
    observer: str  # 2 or 10 degrees
    wavelengths_nm: Floats  # (n,), evenly spaced
    weights: Floats  # (n, 3), on the scale 0 to 100

    @property
    def white_xyz(self) -> Floats:
        """XYZ of a perfect white, Y = 1."""
        return np.asarray(self.weights.sum(axis=0) / 100.0)


def spectra_to_xyz(
    reflectance: ArrayLike, wavelengths_nm: ArrayLike, table: SpectralWeights
) -> Floats:
    """XYZ of reflectances, Y = 1 for a perfect white.

    Parameters
    ----------
    reflectance
        (..., m), 1 = perfect white.
    wavelengths_nm
        (m,), rising; each must be one of the table's.
    table
        Weights for this sampling.

    Raises
    ------
    ValueError
        If a wavelength is none of the table's, or the range does not cover 400 to 680 nm.

    Notes
    -----
    Weights beyond the measured range are added to its first and last wavelength: ASTM E308,
    7.3.2.2 (from memory), as instruments begin at 380 or 400 nm and end at 680 to 730 nm.
    """
    measured = np.asarray(wavelengths_nm, dtype=np.float64)
    start = int(np.argmin(np.abs(table.wavelengths_nm - measured[0])))
    stop = start + len(measured)
    if stop > len(table.wavelengths_nm) or not np.allclose(
        table.wavelengths_nm[start:stop], measured, atol=0.01
    ):
        raise ValueError("the wavelengths are not those of the table")
    if measured[0] > 400.0 or measured[-1] < 680.0:
        raise ValueError("reflectance must cover 400 to 680 nm")
    folded = table.weights[start:stop].copy()
    folded[0] += table.weights[:start].sum(axis=0)
    folded[-1] += table.weights[stop:].sum(axis=0)
    return np.asarray(np.asarray(reflectance, dtype=np.float64) @ folded / 100.0)
