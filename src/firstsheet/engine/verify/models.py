"""Small models of what goes wrong on paper: another white, another ink load, one weak ink.

Takes aims and readings; gives the best fit and what it would read. Densities are relative to the
paper; the three dye channels are those of linear RGB light (red light sees cyan, green magenta,
blue yellow). Theory: docs/theory/verify.md. Tests: tests/engine/verify/test_causes.py.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lab_to_xyz, xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES

__all__ = ["black_fit", "ink_fit", "load_fit", "paper_scaled"]

Floats = NDArray[np.float64]
_LEAST = 1e-4  # share of light; four densities are more than any print has
_TO_RGB = np.linalg.inv(SPACES["prophoto-rgb"].rgb_to_xyz_d50)  # wide: inks stay inside it
# Densities of solid cyan, magenta and yellow in the three channels, each over its own: FOGRA39L's
# solids over its paper (Lab 55 -37 -50, 48 74 -3, 89 -5 93 over 95 0 -2).
_INKS = np.array([[1.0, 0.575, 0.171], [0.327, 1.0, 0.657], [0.072, 0.070, 1.0]])
_BLACK_FROM = (0.0, 0.35, 0.8)  # neutral densities from which printers mix in black ink; ours


def paper_scaled(aim: Floats, read: Floats, paper: int) -> Floats:
    """The aims on the paper that was read: XYZ times the ratio of the two whites."""
    ratio = lab_to_xyz(read[paper]) / lab_to_xyz(aim[paper])
    return xyz_to_lab(lab_to_xyz(aim) * ratio)


def load_fit(aim: Floats, read: Floats, paper: int) -> tuple[float, Floats]:
    """Factor on all densities (1 = as meant), and Lab with it."""
    white = lab_to_xyz(aim[paper])
    density = _density(lab_to_xyz(aim) / white)

    def printed(factor: float) -> Floats:
        return xyz_to_lab(white * 10.0 ** (-factor * density))

    return _best(printed, read, 0.5, 1.6)


def ink_fit(aim: Floats, read: Floats, paper: int, ink: int) -> tuple[float, Floats]:
    """Share left of one ink (0 = missing, 1 = as meant), and Lab with it.

    Parameters
    ----------
    ink
        0 cyan, 1 magenta, 2 yellow.

    Notes
    -----
    A colour's ink amounts are solved from its densities in the directions of the three solids of
    FOGRA39L; other inks differ by a few per cent. How much of a neutral is made of the three
    and how much of black ink is not known: none, half and all are tried.
    """
    white, density = _dyes(aim, paper)
    amounts = density @ np.linalg.inv(_INKS)
    grey = amounts.min(axis=1)
    found = []
    for share in (0.0, 0.5, 1.0):
        own = amounts[:, ink] - (1.0 - share) * grey

        def printed(left: float, own: Floats = own) -> Floats:
            return _lab_of(white, density - (1.0 - left) * own[:, None] * _INKS[ink])

        found.append(_best(printed, read, 0.0, 1.0))
    return min(found, key=lambda one: float(np.mean(delta_e_2000(one[1], read))))


def black_fit(aim: Floats, read: Floats, paper: int) -> tuple[float, Floats]:
    """Share left of the black ink, and Lab with it.

    Notes
    -----
    Black makes the part of a colour's density that all channels share, from some tone on; printers
    differ in where it begins, so three tones are tried.
    """
    white, density = _dyes(aim, paper)
    amounts = density @ np.linalg.inv(_INKS)
    common = amounts.min(axis=1, keepdims=True) @ _INKS.sum(axis=0, keepdims=True)
    found = []
    for begin in _BLACK_FROM:
        black = np.maximum(common - begin, 0.0)

        def printed(left: float, black: Floats = black) -> Floats:
            return _lab_of(white, density - (1.0 - left) * black)

        found.append(_best(printed, read, 0.0, 1.0))
    return min(found, key=lambda one: float(np.mean(delta_e_2000(one[1], read))))


def _density(share: Floats) -> Floats:
    return np.asarray(-np.log10(np.maximum(share, _LEAST)))


def _dyes(lab: Floats, paper: int) -> tuple[Floats, Floats]:
    """The paper in linear RGB, and densities of the three dyes."""
    light = lab_to_xyz(lab) @ _TO_RGB.T
    return light[paper], _density(light / light[paper])


def _lab_of(white: Floats, density: Floats) -> Floats:
    return xyz_to_lab(white * 10.0**-density @ np.linalg.inv(_TO_RGB).T)


def _best(
    printed: Callable[[float], Floats], read: Floats, low: float, high: float
) -> tuple[float, Floats]:
    """The number whose print is nearest to what was read: a grid, then a finer one about it."""
    for _ in range(3):
        tries = np.linspace(low, high, 21)
        gaps = [float(np.mean(delta_e_2000(printed(float(one)), read))) for one in tries]
        at = int(np.argmin(gaps))
        low, high = float(tries[max(0, at - 1)]), float(tries[min(20, at + 1)])
    best = float(tries[at])
    return best, printed(best)
