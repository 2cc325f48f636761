"""The working spaces a picture may be read as, in exact numbers.

Holds two tables: SPACES (RGB, by the names of CSS Color Module Level 4) and GREYS (one
channel). Linear light is relative to the space's white; encoded values run 0 to 1 and are
never clipped: values outside are mirrored through zero, as CSS Color 4 section 10 does.
Theory: docs/theory/colour.md. Tests: tests/engine/colour/test_spaces.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.adaptation import bradford, white_from_xy
from firstsheet.engine.colour.lab import D50_XYZ, KAPPA

__all__ = ["GREYS", "SPACES", "GreySpace", "RgbSpace", "TransferCurve", "space_title"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TransferCurve:
    """A curve in the form of ICC parametric type 3.

    linear = (a * encoded + b) ** gamma where encoded >= d, and c * encoded below it.
    """

    gamma: float
    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 0.0  # encoded value where the power part begins

    @property
    def is_pure_power(self) -> bool:
        """Whether the curve is encoded ** gamma all the way."""
        return (self.a, self.b, self.d) == (1.0, 0.0, 0.0)

    def decode(self, encoded: ArrayLike) -> NDArray[np.float64]:
        """Linear light of encoded values, any shape; odd about zero."""
        value = np.asarray(encoded, dtype=np.float64)
        size = np.abs(value)
        power = np.maximum(self.a * size + self.b, 0.0) ** self.gamma
        return np.copysign(np.where(size >= self.d, power, self.c * size), value)[()]

    def encode(self, linear: ArrayLike) -> NDArray[np.float64]:
        """Encoded values of linear light, any shape; odd about zero."""
        value = np.asarray(linear, dtype=np.float64)
        size = np.abs(value)
        power = (size ** (1.0 / self.gamma) - self.b) / self.a
        if self.d == 0.0:
            return np.copysign(power, value)[()]
        return np.copysign(np.where(size >= self.c * self.d, power, size / self.c), value)[()]


@dataclass(frozen=True, kw_only=True)
class RgbSpace:
    """An RGB working space: three primaries, a white, one curve for all channels."""

    name: str  # the keyword of CSS Color Module Level 4
    title: str  # the name in its own standard
    standard: str
    profile_title: str  # description in the profiles that are built of it
    red_xy: tuple[float, float]
    green_xy: tuple[float, float]
    blue_xy: tuple[float, float]
    white_xy: tuple[float, float]
    curve: TransferCurve
    wide: bool  # clearly larger than sRGB: 8 bits are coarse in it

    @property
    def label(self) -> str:
        """Title and standard, for a list to choose from."""
        return f"{self.title} ({self.standard})"

    def decode(self, encoded: ArrayLike) -> NDArray[np.float64]:
        """Linear RGB of encoded RGB, any shape."""
        return self.curve.decode(encoded)

    def encode(self, linear: ArrayLike) -> NDArray[np.float64]:
        """Encoded RGB of linear RGB, any shape."""
        return self.curve.encode(linear)

    @cached_property
    def rgb_to_xyz(self) -> NDArray[np.float64]:
        """Matrix from linear RGB to XYZ under the space's own white (Y = 1)."""
        columns = np.column_stack(
            [white_from_xy(*xy) for xy in (self.red_xy, self.green_xy, self.blue_xy)]
        )
        amounts = np.linalg.solve(columns, white_from_xy(*self.white_xy))
        matrix: NDArray[np.float64] = columns * amounts
        matrix.setflags(write=False)
        return matrix

    @cached_property
    def rgb_to_xyz_d50(self) -> NDArray[np.float64]:
        """Matrix from linear RGB to XYZ adapted (Bradford) to the ICC D50."""
        matrix = bradford(white_from_xy(*self.white_xy), D50_XYZ) @ self.rgb_to_xyz
        matrix.setflags(write=False)
        return matrix

    def to_xyz_d50(self, encoded: ArrayLike) -> NDArray[np.float64]:
        """XYZ (ICC D50) of encoded RGB, (..., 3)."""
        xyz: NDArray[np.float64] = self.decode(encoded) @ self.rgb_to_xyz_d50.T
        return xyz

    def from_xyz_d50(self, xyz: ArrayLike) -> NDArray[np.float64]:
        """Encoded RGB of XYZ (ICC D50), (..., 3); values outside 0..1 are out of the space."""
        inverse = np.linalg.inv(self.rgb_to_xyz_d50)
        return self.encode(np.asarray(xyz, dtype=np.float64) @ inverse.T)


@dataclass(frozen=True, kw_only=True)
class GreySpace:
    """A reading of one-channel values: how much light a code means."""

    name: str
    title: str
    curve: TransferCurve

    @property
    def label(self) -> str:
        """The title, for a list to choose from."""
        return self.title


_SRGB_CURVE: Final = TransferCurve(gamma=2.4, a=1 / 1.055, b=0.055 / 1.055, c=1 / 12.92, d=0.04045)
_D65_XY: Final = (0.3127, 0.3290)
_D50_XY: Final = (0.3457, 0.3585)

# Source of all four: W3C, CSS Color Module Level 4, section 10 (predefined colour spaces).
SPACES: Final[Mapping[str, RgbSpace]] = MappingProxyType(
    {
        space.name: space
        for space in (
            RgbSpace(
                name="srgb",
                title="sRGB",
                standard="IEC 61966-2-1",
                profile_title="sRGB",
                red_xy=(0.640, 0.330),
                green_xy=(0.300, 0.600),
                blue_xy=(0.150, 0.060),
                white_xy=_D65_XY,
                curve=_SRGB_CURVE,
                wide=False,
            ),
            RgbSpace(
                name="display-p3",
                title="Display P3",
                standard="CSS Color 4",
                profile_title="Display P3",
                red_xy=(0.680, 0.320),
                green_xy=(0.265, 0.690),
                blue_xy=(0.150, 0.060),
                white_xy=_D65_XY,
                curve=_SRGB_CURVE,
                wide=False,
            ),
            RgbSpace(
                name="a98-rgb",
                title="opRGB",
                standard="IEC 61966-2-5, the wide space of many cameras",
                profile_title="A98 RGB (wide-gamut camera space)",
                red_xy=(0.6400, 0.3300),
                green_xy=(0.2100, 0.7100),
                blue_xy=(0.1500, 0.0600),
                white_xy=_D65_XY,
                curve=TransferCurve(gamma=563 / 256),
                wide=True,
            ),
            RgbSpace(
                name="prophoto-rgb",
                title="ROMM RGB",
                standard="ISO 22028-2",
                profile_title="ROMM RGB (ISO 22028-2)",
                red_xy=(0.734699, 0.265301),
                green_xy=(0.159597, 0.840403),
                blue_xy=(0.036598, 0.000105),
                white_xy=_D50_XY,
                curve=TransferCurve(gamma=1.8, c=1 / 16, d=16 / 512),
                wide=True,
            ),
        )
    }
)

# Readings of grey files without a profile. L*: the curve of CIE 15:2004 as a code, L*/100.
GREYS: Final[Mapping[str, GreySpace]] = MappingProxyType(
    {
        grey.name: grey
        for grey in (
            GreySpace(
                name="grey-gamma-2.2",
                title="grey with gamma 2.2",
                curve=TransferCurve(gamma=2.2),
            ),
            GreySpace(
                name="grey-srgb",
                title="grey with the sRGB curve",
                curve=_SRGB_CURVE,
            ),
            GreySpace(
                name="grey-l-star",
                title="grey in even steps of L*",
                curve=TransferCurve(gamma=3.0, a=100 / 116, b=16 / 116, c=100 / KAPPA, d=0.08),
            ),
        )
    }
)


def space_title(name: str) -> str:
    """A space as people call it; one that is not known, as it was named.

    >>> space_title("srgb"), space_title("harbour-rgb")
    ('sRGB', 'harbour-rgb')
    """
    known = SPACES.get(name) or GREYS.get(name)
    return known.title if known is not None else name
