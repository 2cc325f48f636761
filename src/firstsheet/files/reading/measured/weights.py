"""The CIE's tables of light and eye, kept as weights in a text file.

Takes a light, an observer and a sampling; gives `SpectralWeights`.
Written by tools/write_cie_weights.py. Tests: tests/engine/colour/test_spectra.py.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

import numpy as np

from firstsheet.engine.colour.spectra import SpectralWeights

__all__ = ["STEPS_NM", "spectral_weights", "weights_known"]

STEPS_NM = (5, 10, 20)


@lru_cache(maxsize=1)
def _tables() -> dict[tuple[str, str, int], SpectralWeights]:
    text = (files("firstsheet") / "data" / "cie" / "weights.csv").read_text(encoding="utf-8")
    rows: dict[tuple[str, str, int], list[list[float]]] = {}
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    for line in lines[1:]:
        light, eye, sampling, *numbers = line.split(",")
        rows.setdefault((light, eye, int(sampling)), []).append([float(n) for n in numbers])
    tables = {}
    for (illuminant, observer, step), held in rows.items():
        values = np.array(held)
        tables[illuminant, observer, step] = SpectralWeights(
            illuminant, observer, values[:, 0], values[:, 1:]
        )
    return tables


def weights_known() -> tuple[tuple[str, str], ...]:
    """Lights and observers (degrees) that are kept."""
    return tuple(dict.fromkeys((light, eye) for light, eye, _ in _tables()))


def spectral_weights(illuminant: str, observer: str, step_nm: int) -> SpectralWeights:
    """The weights of one light and observer.

    Raises
    ------
    KeyError
        If they are not kept.
    """
    return _tables()[illuminant, observer, step_nm]
