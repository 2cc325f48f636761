"""An image-dependent mapping of our own into a paper's true gamut, tried against the intents.

Takes a picture in CIELAB and a paper; gives colours for the paper's colorimetric table. Two
steps, both in Oklab and at constant hue: a tone curve from this picture's own darkest and
lightest tones onto the paper's, then a soft knee of chroma at constant lightness, from this
picture's reach into the paper's. What is free is chosen by the judge of the losses.
It is no choice in the program. Theory: docs/theory/repairs.md.
Tests: tests/benchmarks/test_own_way.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from leaves import (  # type: ignore[import-not-found]  # beside this script
    Chromas,
    chromas,
    segment_maxima,
)
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.hue import lab_of_oklab, oklab_of_lab
from firstsheet.engine.colour.lab import D50_XYZ, lab_to_xyz, xyz_to_lab
from firstsheet.engine.loss.repair.colours import knee

__all__ = ["CHOICES", "OwnPaper", "OwnWay", "chosen_way", "own_paper", "tone_curve"]

_HUNDRED: Final = 100.0  # Oklab is told in hundredths here, as large as CIELAB
_NEAR_GREY: Final = 3.0  # chroma let be: a paper's black has a tint, its greys need none
_MOST_LIFT_L: Final = 10.0  # that a picture's lightest tone may rise
_LIGHTEST: Final = 99.9  # per cent
_STEPS: Final = np.linspace(0.0, 100.0, 401)

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class OwnPaper:
    """What is worked out of a paper once."""

    black_l: float  # L* it prints of black
    vivid: Chromas  # Oklab, hundredths


@dataclass(frozen=True)
class OwnWay:
    """What is chosen picture by picture."""

    dark_share: float = 0.2  # per cent of the picture that prints as one black
    lift: float = 0.0  # 0..1: how far its lightest tone rises towards bare paper
    root: float = 1.0  # 1: tones make room as light adds up, 3: in even steps of L*
    knee_start: float = 1.0  # share of the paper's reach below which nothing is duller


# One at a time, in this order, twice: the first of equals is kept.
CHOICES: Final[tuple[tuple[str, tuple[float, ...]], ...]] = (
    ("root", (0.6, 0.8, 1.0, 1.5, 2.0, 3.0)),
    ("dark_share", (0.2, 1.0, 3.0)),
    ("lift", (0.0, 0.5, 1.0)),
    ("knee_start", (1.0, 0.7, 0.5)),
)


def own_paper(surface: Floats, *, black_l: float) -> OwnPaper:
    """Measure a paper.

    Parameters
    ----------
    surface
        (n, 3, 3): triangles in CIELAB, from `leaves.cube_surface`.
    black_l
        L* that it prints of black.
    """
    return OwnPaper(black_l, chromas(_HUNDRED * oklab_of_lab(surface)))


def tone_curve(
    lightness: ArrayLike,
    *,
    dark_l: float,
    light_l: float,
    black_l: float,
    top_l: float,
    root: float,
) -> Floats:
    """L* of the print: from a picture's dark and light tones to the paper's black and `top_l`.

    Notes
    -----
    Straight in the given root of luminance. Root 1 with `dark_l` 0 and both light tones 100 is
    black point compensation; root 3 is even in L* but for its darkest. Tones above `light_l` go
    on evenly to 100, those below `dark_l` become the paper's black. Where the picture's tones
    need no room, nothing is made: its dark tone never prints lighter for it, nor darker.
    """
    low, high, bottom, top = (
        _luminance(np.array(one)) ** (1.0 / root)
        for one in (dark_l, light_l, max(black_l, dark_l), top_l)
    )
    there = bottom + (_luminance(_STEPS) ** (1.0 / root) - low) * (top - bottom) / (high - low)
    told = _lightness(np.maximum(there, bottom) ** root)
    rest = top_l + (_STEPS - light_l) * (100.0 - top_l) / max(100.0 - light_l, 1e-9)
    told = np.where(light_l < _STEPS, rest, told)
    return np.interp(np.asarray(lightness, dtype=np.float64), _STEPS, told)


def _luminance(lightness: Floats) -> Floats:
    lab = np.zeros((*np.shape(lightness), 3))
    lab[..., 0] = lightness
    return np.asarray(lab_to_xyz(lab))[..., 1]


def _lightness(luminance: Floats) -> Floats:
    return np.asarray(xyz_to_lab(np.asarray(luminance)[..., None] * D50_XYZ))[..., 0]


@dataclass(frozen=True, eq=False)
class OwnPicture:
    """A picture, with what is worked out of it once."""

    oklab: Floats
    grey_l: Floats  # L* of the grey as light as each pixel
    lightest_l: float

    @classmethod
    def of(cls, lab: NDArray[Any]) -> OwnPicture:
        """Measure a picture, (h, w, 3) CIELAB."""
        oklab = oklab_of_lab(lab)
        grey_l = _lightness(np.clip(oklab[..., 0], 0.0, 1.0) ** 3)
        return cls(oklab, grey_l, float(np.percentile(grey_l, _LIGHTEST)))

    def printed_as(self, paper: OwnPaper, way: OwnWay) -> Floats:
        """CIELAB to ask of the paper, relative to its white, black point not compensated."""
        dark_l = float(np.percentile(self.grey_l, way.dark_share))
        top_l = self.lightest_l + way.lift * min(100.0 - self.lightest_l, _MOST_LIFT_L)
        told = tone_curve(
            self.grey_l,
            dark_l=dark_l,
            light_l=max(self.lightest_l, dark_l + 1.0),
            black_l=paper.black_l,
            top_l=max(top_l, paper.black_l + 1.0),
            root=way.root,
        )
        oklab = self.oklab.copy()
        oklab[..., 0] += np.cbrt(_luminance(told)) - np.cbrt(_luminance(self.grey_l))
        if way.knee_start < 1.0:
            oklab = _kneed(_HUNDRED * oklab, paper, way.knee_start) / _HUNDRED
        return lab_of_oklab(oklab)


def _kneed(oklab: Floats, paper: OwnPaper, start: float) -> Floats:
    own = chromas(segment_maxima(oklab))
    chroma = np.hypot(oklab[..., 1], oklab[..., 2])
    hue = np.arctan2(oklab[..., 2], oklab[..., 1])
    to = np.maximum(paper.vivid.at(hue, oklab[..., 0]), _NEAR_GREY)
    most = np.maximum(own.at(hue, oklab[..., 0]), to)
    bent = knee(chroma, start=start * to, most=most, to=to)
    kneed = oklab.copy()
    kneed[..., 1:] *= (bent / np.maximum(chroma, 1e-9))[..., None]
    return kneed


def chosen_way(
    lab: NDArray[Any], paper: OwnPaper, loss: Callable[[Floats], float]
) -> tuple[OwnWay, Floats]:
    """The way that loses least, and what it asks of the paper.

    Parameters
    ----------
    lab
        (h, w, 3), the picture.
    paper
        From `own_paper`.
    loss
        What is lost and plainly moved when these colours are asked of the paper.
    """
    picture = OwnPicture.of(lab)
    known: dict[OwnWay, float] = {}

    def loses(way: OwnWay) -> float:
        if way not in known:
            known[way] = loss(picture.printed_as(paper, way))
        return known[way]

    best = OwnWay()
    for _ in range(2):
        for name, values in CHOICES:
            best = min((replace(best, **{name: one}) for one in values), key=loses)
    return best, picture.printed_as(paper, best)
