"""Our scale of colours for magnitudes: shallow water, weed, wet bark.

Takes a share 0..1; gives encoded sRGB. Drawn in Oklab (B. Ottosson, 2020; in CSS Color 4): the
lightness falls in a straight line, the hue turns once from pale blue over weed green to umber, the
chroma is one half wave. The steps are then evened out in CIEDE2000, so that equal differences
of the number look equally large. Order never depends on hue: lightness alone carries it.
Theory: docs/theory/proof.md. Tests: tests/pixels/test_scale.py.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import xyz_to_lab
from firstsheet.engine.colour.spaces import SPACES

__all__ = ["SCALE_STEPS", "scale_colour", "scale_table"]

SCALE_STEPS: Final = 1024
Floats = NDArray[np.float64]

_LIGHT, _DARK = 0.965, 0.225  # Oklab lightness of both ends
_HUE_FROM, _HUE_TO = 232.0, 48.0  # degrees: pale blue, weed green, umber
_CHROMA_ENDS, _CHROMA_RISE = 0.016, 0.082

# Oklab to linear sRGB: W3C, CSS Color Module Level 4, section 18, sample code.
_OKLAB_TO_LMS: Final[Floats] = np.array(
    [
        [1.0, 0.3963377773761749, 0.2158037573099136],
        [1.0, -0.1055613458156586, -0.0638541728258133],
        [1.0, -0.0894841775298119, -1.2914855480194092],
    ]
)
_LMS_TO_XYZ_D65: Final[Floats] = np.array(
    [
        [1.2268798758459243, -0.5578149944602171, 0.2813910456659647],
        [-0.0405757452148008, 1.1122868032803170, -0.0717110580655164],
        [-0.0763729366746601, -0.4214933324022432, 1.5869240198367816],
    ]
)


def _path(share: Floats) -> Floats:
    """The curve through Oklab as linear sRGB, before its steps are evened."""
    lightness = _LIGHT + (_DARK - _LIGHT) * share
    hue = np.radians(_HUE_FROM + (_HUE_TO - _HUE_FROM) * share)
    chroma = _CHROMA_ENDS + _CHROMA_RISE * np.sin(np.pi * share)
    oklab = np.stack([lightness, chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1)
    xyz = (oklab @ _OKLAB_TO_LMS.T) ** 3 @ _LMS_TO_XYZ_D65.T
    linear: Floats = xyz @ np.linalg.inv(SPACES["srgb"].rgb_to_xyz).T
    return linear


@lru_cache(maxsize=1)
def scale_table() -> Floats:
    """The whole scale, (SCALE_STEPS + 1, 3) encoded sRGB 0..1, in equal steps of CIEDE2000."""
    space = SPACES["srgb"]
    fine = np.linspace(0.0, 1.0, 8 * SCALE_STEPS + 1)
    lab = xyz_to_lab(_path(fine) @ space.rgb_to_xyz_d50.T)
    length = np.concatenate([[0.0], np.cumsum(delta_e_2000(lab[:-1], lab[1:]))])
    even = np.linspace(0.0, length[-1], SCALE_STEPS + 1)
    table: Floats = space.encode(_path(np.interp(even, length, fine)))
    table.setflags(write=False)
    return table


def scale_colour(share: ArrayLike) -> Floats:
    """Encoded sRGB of a share of the scale; below 0 and above 1 the ends hold.

    Parameters
    ----------
    share
        0 = nothing, 1 = the most that is told apart. Any shape; gives (..., 3).
    """
    at = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0) * SCALE_STEPS
    low = np.minimum(at.astype(np.intp), SCALE_STEPS - 1)
    part = (at - low)[..., None]
    table = scale_table()
    colour: Floats = table[low] * (1.0 - part) + table[low + 1] * part
    return colour
