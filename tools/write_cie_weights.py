"""Writes the tables that turn spectra into XYZ: src/firstsheet/data/cie/weights.csv.

Run: python tools/write_cie_weights.py. Needs colour-science, which carries the CIE's tables of
observers and illuminants and the weighting of ASTM E2022. Tests hold the file to it.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

TARGET = Path(__file__).parents[1] / "src/firstsheet/data/cie/weights.csv"
OBSERVERS = {
    "2": "CIE 1931 2 Degree Standard Observer",
    "10": "CIE 1964 10 Degree Standard Observer",
}
ILLUMINANTS = {"A": "A", "D50": "D50", "D65": "D65", "F2": "FL2", "F11": "FL11", "LED-B3": "LED-B3"}
STEPS_NM = (5, 10, 20)
LOW_NM, HIGH_NM = 360, 780

HEAD = """# Weights that turn reflectance (1 = perfect white) into XYZ on the scale 0 to 100.
# source: CIE 015:2018 observers and illuminants as tabulated in colour-science, weighted
#   after ASTM E2022 (Lagrange interpolation); where an illuminant is tabulated from 380 nm only,
#   its value there is held below
# written by tools/write_cie_weights.py
illuminant,observer,step_nm,wavelength_nm,x,y,z
"""


def weights(illuminant: str, observer: str, step_nm: int) -> NDArray[np.float64]:
    """Weights of one light, observer and sampling, (n, 3), wavelengths from 360 to 780 nm."""
    import colour
    from colour.colorimetry import tristimulus_weighting_factors_ASTME2022 as astm_e2022

    every_nm = colour.SpectralShape(LOW_NM, HIGH_NM, 1)
    eye = colour.MSDS_CMFS[OBSERVERS[observer]].copy().align(every_nm)
    light = colour.SDS_ILLUMINANTS[ILLUMINANTS[illuminant]]
    even = np.arange(LOW_NM, HIGH_NM + 1, dtype=np.float64)
    values = np.interp(even, light.wavelengths, light.values)  # CIE 015: linear between 5 nm
    lit: Any = colour.SpectralDistribution(values, even)
    shape = colour.SpectralShape(LOW_NM, HIGH_NM, step_nm)
    return np.asarray(astm_e2022(eye, lit, shape), dtype=np.float64)


def table() -> str:
    """Give the whole file."""
    rows = [HEAD]
    for illuminant in ILLUMINANTS:
        for observer in OBSERVERS:
            for step_nm in STEPS_NM:
                for index, (x, y, z) in enumerate(weights(illuminant, observer, step_nm)):
                    at_nm = LOW_NM + index * step_nm
                    rows.append(
                        f"{illuminant},{observer},{step_nm},{at_nm},{x:.5f},{y:.5f},{z:.5f}\n"
                    )
    return "".join(rows)


if __name__ == "__main__":
    warnings.simplefilter("ignore")  # the library speaks of optional parts that are not there
    TARGET.parent.mkdir(parents=True, exist_ok=True)
    TARGET.write_text(table(), encoding="utf-8")
    sys.stdout.write(f"{TARGET.name} written\n")
