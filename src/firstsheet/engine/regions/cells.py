"""The picture on a grid of cells: wanted side, printed side, and what changed in each cell.

Takes small pictures in CIELAB relative to the paper; gives planes of cells.
Theory: docs/theory/regions.md. Tests: tests/engine/regions/test_find_regions.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_94, delta_e_2000
from firstsheet.engine.colour.lab import lab_to_lch
from firstsheet.engine.regions.hue import hue_turn, oklab_of_lab
from firstsheet.engine.regions.separation import (
    CELL,
    EyeScales,
    cell_means,
    cell_steps,
    eye_scales,
    shrunk,
)

__all__ = [
    "FLAT_KEPT",
    "NEUTRAL_SHIFT",
    "SKIN_SHIFT",
    "TURN_APART",
    "TURN_DEGREES",
    "VISIBLE_STEP_DE",
    "PrintedCells",
    "WantedCells",
    "colour_shift",
    "like_skin",
    "printed_cells",
    "wanted_cells",
]

# Limits of what counts as lost; our own choices, reasoned in docs/theory/regions.md.
VISIBLE_STEP_DE: Final = 0.5  # each side of the mean, so a step of 1
FLAT_KEPT: Final = 0.75  # modelling kept below this is lost
TURN_DEGREES: Final = 8.0
TURN_APART: Final = 2.5  # 100 x Oklab
NEUTRAL_SHIFT: Final = 2.5  # in a*, b*
SKIN_SHIFT: Final = 3.5  # of hue and chroma, CIE94; lightness is left to the modelling
_NEUTRAL_CHROMA: Final = 4.0

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]


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
    flat: Marks  # modelling lost
    turned: Marks  # hue turned
    cast: Marks  # neutral moved
    skin: Marks  # skin-like moved


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
    small = shrunk(wanted_lab, scales.shrink)
    lab = cell_means(small)
    side = CELL * scales.shrink
    rows = np.minimum(side, height - side * np.arange(lab.shape[0]))
    columns = np.minimum(side, width - side * np.arange(lab.shape[1]))
    return WantedCells(
        scales=scales,
        distance_mm=distance_mm,
        mm_per_px=mm_per_px,
        shape=(height, width),
        area=rows[:, None] * columns[None, :] * mm_per_px**2,
        lab=lab,
        oklab=oklab_of_lab(lab),
        steps=cell_steps(small, scales.weights),
    )


def printed_cells(wanted: WantedCells, printed_lab: NDArray[Any]) -> PrintedCells:
    """Lay the same grid over what the paper shows, and mark what is lost."""
    if printed_lab.shape[:2] != wanted.shape:
        raise ValueError(f"printed is {printed_lab.shape[:2]}, wanted {wanted.shape}")
    small = shrunk(printed_lab, wanted.scales.shrink)
    lab, steps = cell_means(small), cell_steps(small, wanted.scales.weights)
    oklab = oklab_of_lab(lab)
    de00 = np.asarray(delta_e_2000(wanted.lab, lab))
    turn, apart = hue_turn(wanted.oklab, oklab)
    light = wanted.lab[..., 0]
    chroma = np.hypot(wanted.lab[..., 1], wanted.lab[..., 2])
    shift = np.hypot(*np.moveaxis(lab[..., 1:] - wanted.lab[..., 1:], -1, 0))
    return PrintedCells(
        lab=lab,
        oklab=oklab,
        steps=steps,
        de00=de00,
        flat=(wanted.steps >= VISIBLE_STEP_DE) & (steps < FLAT_KEPT * wanted.steps),
        turned=(np.abs(turn) >= TURN_DEGREES) & (apart >= TURN_APART),
        cast=(chroma <= _NEUTRAL_CHROMA) & (shift >= NEUTRAL_SHIFT) & (light > 8.0),
        skin=like_skin(wanted.lab) & (colour_shift(wanted.lab, lab) >= SKIN_SHIFT),
    )


def colour_shift(wanted_lab: NDArray[Any], printed_lab: NDArray[Any]) -> Floats:
    """CIE94 distance in hue and chroma, lightness left out."""
    level = np.array(printed_lab, dtype=np.float64)
    level[..., 0] = wanted_lab[..., 0]
    return delta_e_94(wanted_lab, level)


def like_skin(lab: NDArray[Any]) -> Marks:
    """Colours that skin takes in photographs: common practice, no source.

    Wood, sand and brick lie there too, so this says like skin, never skin.
    """
    light, chroma, hue = np.moveaxis(lab_to_lch(lab), -1, 0)
    marks: Marks = (
        (light > 28.0) & (light < 90.0) & (chroma > 10.0) & (chroma < 42.0)
        & (hue > 30.0) & (hue < 78.0)
    )  # fmt: skip
    return marks
