"""Which cells lose something, by colour alone: turned hues, casts, skin-like colours moved.

Takes means of cells, wanted and printed; gives marks. Holds the limits of what counts as lost.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_find_regions.py.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_94
from firstsheet.engine.colour.lab import lab_to_lch

__all__ = [
    "FLAT_KEPT",
    "NEUTRAL_CHROMA",
    "NEUTRAL_SHIFT",
    "SKIN_SHIFT",
    "TURN_APART",
    "TURN_DEGREES",
    "VISIBLE_STEP_DE",
    "Mask",
    "cast_marks",
    "colour_shift",
    "like_skin",
    "skin_marks",
]

# Limits of what counts as lost; our own choices, reasoned in docs/theory/regions.md.
VISIBLE_STEP_DE: Final = 0.5  # each side of the mean, so a step of 1
FLAT_KEPT: Final = 0.75  # modelling kept below this is lost
TURN_DEGREES: Final = 8.0
TURN_APART: Final = 2.5  # 100 x Oklab
NEUTRAL_SHIFT: Final = 2.5  # in a*, b*
SKIN_SHIFT: Final = 3.5  # of hue and chroma, CIE94; lightness is left to the modelling
NEUTRAL_CHROMA: Final = 4.0
_DARKEST_L: Final = 8.0  # below it the eye tells no cast

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]


def cast_marks(wanted_lab: Floats, printed_lab: Floats) -> Mask:
    """Where a neutral takes on a cast."""
    chroma = np.hypot(wanted_lab[..., 1], wanted_lab[..., 2])
    shift = np.hypot(*np.moveaxis(printed_lab[..., 1:] - wanted_lab[..., 1:], -1, 0))
    marks: Mask = (
        (chroma <= NEUTRAL_CHROMA) & (shift >= NEUTRAL_SHIFT) & (wanted_lab[..., 0] > _DARKEST_L)
    )
    return marks


def skin_marks(wanted_lab: Floats, printed_lab: Floats) -> Mask:
    """Where a skin-like colour moves in hue or chroma."""
    return like_skin(wanted_lab) & (colour_shift(wanted_lab, printed_lab) >= SKIN_SHIFT)


def colour_shift(wanted_lab: NDArray[Any], printed_lab: NDArray[Any]) -> Floats:
    """CIE94 distance in hue and chroma, lightness left out."""
    level = np.array(printed_lab, dtype=np.float64)
    level[..., 0] = wanted_lab[..., 0]
    return delta_e_94(wanted_lab, level)


def like_skin(lab: NDArray[Any]) -> Mask:
    """Colours that skin takes in photographs: common practice, no source.

    Wood, sand and brick lie there too, so this says like skin, never skin.
    """
    light, chroma, hue = np.moveaxis(lab_to_lch(lab), -1, 0)
    marks: Mask = (
        (light > 28.0) & (light < 90.0) & (chroma > 10.0) & (chroma < 42.0)
        & (hue > 30.0) & (hue < 78.0)
    )  # fmt: skip
    return marks
