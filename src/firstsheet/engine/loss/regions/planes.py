"""A small picture measured once on a grid of cells, before it is asked from where it is seen.

Takes small pictures in CIELAB relative to the paper; gives everything about them that depends on
neither the size of the print nor, but for how far pixels are averaged, on the distance. What
depends on those is worked out from here in `cells` and `find`, at once.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_find_regions.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_94, delta_e_2000
from firstsheet.engine.colour.hue import hue_turn, oklab_of_lab
from firstsheet.engine.loss.regions.ends import (
    ClippedCounts,
    at_black,
    at_paper_white,
    clipped_counts,
)
from firstsheet.engine.loss.regions.masks import (
    TURN_APART,
    TURN_DEGREES,
    Mask,
    cast_marks,
    skin_marks,
)
from firstsheet.engine.loss.regions.separation import cell_means, shrunk, step_levels

__all__ = ["PrintedPlanes", "WantedPlanes", "printed_planes", "wanted_planes"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class WantedPlanes:
    """The picture's own side."""

    shape: tuple[int, int]  # of the small picture as given
    shrink: int  # pixels averaged into one before steps were measured
    lab: Floats  # (rows, columns, 3), means of cells
    oklab: Floats
    levels: Floats  # (3, rows, columns), steps by scale
    beside_de: Floats  # (rows, columns - 1), CIE94 from each cell to its right neighbour
    below_de: Floats  # (rows - 1, columns), to its lower neighbour


@dataclass(frozen=True, eq=False, kw_only=True)
class PrintedPlanes:
    """The paper's side, on the same grid."""

    shape: tuple[int, int]
    shrink: int
    lab: Floats
    oklab: Floats
    levels: Floats
    de00: Floats  # between the cells' mean colours
    turned: Mask  # hue turned
    cast: Mask  # neutral moved
    skin: Mask  # skin-like moved
    white: Mask  # mean colour at bare paper
    black: Mask  # mean colour at the paper's black
    ends: ClippedCounts


def wanted_planes(wanted_lab: NDArray[Any], shrink: int) -> WantedPlanes:
    """Measure the picture as it is meant, (h, w, 3) media-relative."""
    small = shrunk(wanted_lab, shrink)
    lab = cell_means(small)
    return WantedPlanes(
        shape=(wanted_lab.shape[0], wanted_lab.shape[1]),
        shrink=shrink,
        lab=lab,
        oklab=oklab_of_lab(lab),
        levels=step_levels(small),
        beside_de=delta_e_94(lab[:, :-1], lab[:, 1:]),
        below_de=delta_e_94(lab[:-1], lab[1:]),
    )


def printed_planes(
    wanted: WantedPlanes, printed_lab: NDArray[Any], *, black_l: float
) -> PrintedPlanes:
    """Measure what the paper shows of it.

    Parameters
    ----------
    printed_lab
        (h, w, 3), relative to the paper's white; as large as the wanted picture.
    black_l
        The darkest L* the paper shows, on the same footing.
    """
    if printed_lab.shape[:2] != wanted.shape:
        raise ValueError(f"printed is {printed_lab.shape[:2]}, wanted {wanted.shape}")
    small = shrunk(printed_lab, wanted.shrink)
    lab = cell_means(small)
    oklab = oklab_of_lab(lab)
    turn, apart = hue_turn(wanted.oklab, oklab)
    return PrintedPlanes(
        shape=wanted.shape,
        shrink=wanted.shrink,
        lab=lab,
        oklab=oklab,
        levels=step_levels(small),
        de00=np.asarray(delta_e_2000(wanted.lab, lab)),
        turned=(np.abs(turn) >= TURN_DEGREES) & (apart >= TURN_APART),
        cast=cast_marks(wanted.lab, lab),
        skin=skin_marks(wanted.lab, lab),
        white=at_paper_white(lab),
        black=at_black(lab, black_l),
        ends=clipped_counts(printed_lab, black_l),
    )
