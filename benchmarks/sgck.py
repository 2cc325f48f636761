"""SGCK, the yardstick of the guidelines for gamut mapping: sigmoid lightness, then a cusp knee.

Takes colours in CIELAB and the boundaries of two gamuts; gives colours inside the second. It is
no choice in the program: it says how well the intents and our own way do.

The steps are those of the method's author (J. Morovic, "Public Gamut Mapping Algorithm", release
2.1, 2001, made for CIE TC 8-03, whose guidelines are CIE 156:2004), retold from the formulas. The
lightness curve is G. J. Braun's and M. D. Fairchild's ("Image lightness rescaling using sigmoidal
contrast enhancement functions", Journal of Electronic Imaging 8(4), 1999, table 3).
Theory: docs/theory/repairs.md. Tests: tests/benchmarks/test_sgck.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from leaves import (  # type: ignore[import-not-found]  # beside this script
    Reaches,
    cusps,
    reaches,
    segment_maxima,
)
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "Sgck",
    "SgckPaper",
    "chroma_share",
    "knee_distance",
    "lightness_mapped",
    "s_curve",
    "sgck_for",
    "sgck_paper",
]

# Black of the print, then centre and width of the curve, for pictures of normal lightness.
_BLACKS: Final = (5.0, 10.0, 15.0, 20.0)
_CENTRES: Final = (53.7, 56.8, 58.2, 60.6)
_WIDTHS: Final = (43.0, 40.0, 35.0, 34.5)
_KEPT: Final = 0.9  # of the way to the print's boundary nothing moves
_HALF_CHROMA: Final = 500_000.0

Floats = NDArray[np.float64]


def s_curve(lightness: ArrayLike, *, black_l: float, white_l: float = 100.0) -> Floats:
    """L* of the print for L* 0..100 of the original: a cumulative normal curve.

    Parameters
    ----------
    lightness
        L*, 0 the original's black and 100 its white.
    black_l, white_l
        L* of the print's black and white. Blacks beyond 5..20 take the table's ends, as the
        author does.
    """
    centre = float(np.interp(black_l, _BLACKS, _CENTRES))
    width = float(np.interp(black_l, _BLACKS, _WIDTHS))
    steps = np.linspace(0.0, 100.0, 1001)
    sums = np.array([math.erf((one - centre) / (width * math.sqrt(2.0))) for one in steps])
    share = (sums - sums[0]) / (sums[-1] - sums[0])
    at = np.asarray(lightness, dtype=np.float64)
    told: Floats = np.interp(at, steps, black_l + share * (white_l - black_l))
    return told


def chroma_share(chroma: ArrayLike) -> Floats:
    """How much of the lightness curve a colour takes: greys all, vivid colours little."""
    cubed = np.asarray(chroma, dtype=np.float64) ** 3
    share: Floats = 1.0 - np.sqrt(cubed / (cubed + _HALF_CHROMA))
    return share


def knee_distance(distance: ArrayLike, *, print_reach: ArrayLike, own_reach: ArrayLike) -> Floats:
    """Distance from the focus after the knee.

    Notes
    -----
    Nothing moves within 0.9 of the print's reach, nor on lines where the print reaches as far
    as the original. What lies beyond the original's boundary, which is known only roughly, comes
    to the print's: the author lets it go past.
    """
    here, to, own = (
        np.asarray(one, dtype=np.float64) for one in (distance, print_reach, own_reach)
    )
    start = _KEPT * to
    past = (1.0 - _KEPT) * to * (here - start) / np.maximum(own - start, 1e-9)
    bent: Floats = np.where(here > start, start + past, here)
    fits = (to >= own) & (here <= to)
    return np.where(fits, here, np.minimum(bent, np.where(here > start, to, here)))


@dataclass(frozen=True, eq=False)
class SgckPaper:
    """What is worked out of a paper once."""

    black_l: float
    white_l: float
    reach: Reaches


@dataclass(frozen=True, eq=False)
class Sgck:
    """The method between two gamuts."""

    paper: SgckPaper
    own_reach: Reaches  # of the original, its lightness mapped, from the same points

    def mapped(self, lab: ArrayLike) -> Floats:
        """Colours inside the paper's gamut, (..., 3), at the same CIELAB hue."""
        colours = lightness_mapped(lab, self.paper)
        chroma = np.hypot(colours[..., 1], colours[..., 2])
        hue = np.arctan2(colours[..., 2], colours[..., 1])
        focus = self.paper.reach.focus_at(hue)
        up = colours[..., 0] - focus
        distance = np.hypot(chroma, up)
        angle = np.arctan2(up, chroma)
        bent = knee_distance(
            distance,
            print_reach=self.paper.reach.at(hue, angle),
            own_reach=self.own_reach.at(hue, angle),
        )
        part = bent / np.maximum(distance, 1e-9)
        colours[..., 0] = focus + part * up
        colours[..., 1:] *= part[..., None]
        return colours


def lightness_mapped(lab: ArrayLike, paper: SgckPaper) -> Floats:
    """The first step: lightness by the curve, the less the more vivid."""
    colours = np.array(lab, dtype=np.float64)
    share = chroma_share(np.hypot(colours[..., 1], colours[..., 2]))
    curved = s_curve(colours[..., 0], black_l=paper.black_l, white_l=paper.white_l)
    colours[..., 0] += share * (curved - colours[..., 0])
    return colours


def sgck_paper(surface: Floats) -> SgckPaper:
    """Measure a paper's surface, from `leaves.cube_surface`."""
    lightness = surface[..., 0]
    reach = reaches(surface, cusps(surface)[:, 0])
    return SgckPaper(float(lightness.min()), float(lightness.max()), reach)


def sgck_for(
    paper: SgckPaper, *, picture_lab: NDArray[Any] | None = None, space: Floats | None = None
) -> Sgck:
    """SGCK from a picture's own gamut, or from the whole gamut of the space it is in.

    Parameters
    ----------
    paper
        From `sgck_paper`.
    picture_lab
        (..., 3): the picture whose gamut is the original's.
    space
        (n, 3, 3): triangles of the space's surface, instead.
    """
    if space is not None:
        around = lightness_mapped(space, paper)
    elif picture_lab is not None:
        around = segment_maxima(lightness_mapped(picture_lab, paper))
    else:
        raise ValueError("either a picture or a space is needed")
    return Sgck(paper, reaches(around, paper.reach.focus_l))
