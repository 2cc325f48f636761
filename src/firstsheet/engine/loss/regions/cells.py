"""The picture on a grid of cells: wanted side, printed side, and what changed in each cell.

Takes small pictures in CIELAB relative to the paper; gives planes of cells.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_find_regions.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.ends import ClippedCounts
from firstsheet.engine.loss.regions.masks import FLAT_KEPT, VISIBLE_STEP_DE
from firstsheet.engine.loss.regions.planes import (
    PrintedPlanes,
    WantedPlanes,
    printed_planes,
    wanted_planes,
)
from firstsheet.engine.loss.regions.separation import CELL, EyeScales, eye_scales, steps_seen

__all__ = [
    "PrintedCells",
    "WantedCells",
    "printed_cells",
    "printed_seen",
    "wanted_cells",
    "wanted_seen",
]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False, kw_only=True)
class WantedCells:
    """The picture's own side."""

    scales: EyeScales
    distance_mm: float
    mm_per_px: float  # of the small picture as given
    shape: tuple[int, int]  # of the small picture as given
    area: Floats  # mm2 of each cell that lies in the picture
    lab: Floats  # (rows, columns, 3), means
    oklab: Floats
    steps: Floats  # modelling, Delta E
    planes: WantedPlanes
    whole_mm2: float  # of the picture

    @property
    def cell_px(self) -> int:
        """Side of a cell in pixels of the small picture."""
        return CELL * self.scales.shrink


@dataclass(frozen=True, eq=False, kw_only=True)
class PrintedCells:
    """The paper's side, and what changed."""

    lab: Floats
    oklab: Floats
    steps: Floats
    de00: Floats  # between the cells' mean colours
    flat: Mask  # modelling lost
    turned: Mask  # hue turned
    cast: Mask  # neutral moved
    skin: Mask  # skin-like moved
    white: Mask  # mean colour at bare paper
    black: Mask  # mean colour at the paper's black
    ends: ClippedCounts


def wanted_cells(wanted_lab: NDArray[Any], *, mm_per_px: float, distance_mm: float) -> WantedCells:
    """Lay the grid over the picture as it is meant.

    Parameters
    ----------
    wanted_lab
        (h, w, 3), media-relative.
    mm_per_px
        Size of its pixels on paper.
    distance_mm
        From where it is seen.
    """
    height, width = wanted_lab.shape[:2]
    scales = eye_scales(
        mm_per_px=mm_per_px, distance_mm=distance_mm, long_side_px=max(height, width)
    )
    return wanted_seen(
        wanted_planes(wanted_lab, scales.shrink),
        scales,
        mm_per_px=mm_per_px,
        distance_mm=distance_mm,
    )


def wanted_seen(
    planes: WantedPlanes, scales: EyeScales, *, mm_per_px: float, distance_mm: float
) -> WantedCells:
    """The measured picture, as large as it prints, from where it is seen."""
    if planes.shrink != scales.shrink:
        raise ValueError(f"measured at 1/{planes.shrink}, asked at 1/{scales.shrink}")
    height, width = planes.shape
    side = CELL * scales.shrink
    rows = np.minimum(side, height - side * np.arange(planes.lab.shape[0]))
    columns = np.minimum(side, width - side * np.arange(planes.lab.shape[1]))
    return WantedCells(
        scales=scales,
        distance_mm=distance_mm,
        mm_per_px=mm_per_px,
        shape=planes.shape,
        area=rows[:, None] * columns[None, :] * mm_per_px**2,
        whole_mm2=height * width * mm_per_px**2,
        lab=planes.lab,
        oklab=planes.oklab,
        steps=steps_seen(planes.levels, scales.weights),
        planes=planes,
    )


def printed_cells(
    wanted: WantedCells, printed_lab: NDArray[Any], *, black_l: float = 0.0
) -> PrintedCells:
    """Lay the same grid over what the paper shows, and mark what is lost."""
    return printed_seen(wanted, printed_planes(wanted.planes, printed_lab, black_l=black_l))


def printed_seen(wanted: WantedCells, planes: PrintedPlanes) -> PrintedCells:
    """Mark what is lost of a measured print."""
    steps = steps_seen(planes.levels, wanted.scales.weights)
    return PrintedCells(
        lab=planes.lab,
        oklab=planes.oklab,
        steps=steps,
        de00=planes.de00,
        flat=(wanted.steps >= VISIBLE_STEP_DE) & (steps < FLAT_KEPT * wanted.steps),
        turned=planes.turned,
        cast=planes.cast,
        skin=planes.skin,
        white=planes.white,
        black=planes.black,
        ends=planes.ends,
    )
