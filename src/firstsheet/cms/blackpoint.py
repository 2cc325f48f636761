"""Black points of profiles, and the arithmetic of black point compensation.

Takes profiles; gives black points as media-relative XYZ and the affine map between two of them.
Source of the rules: two open implementations of ISO 18619, as docs/theory/black-point.md lists.
Tests: tests/cms/test_cms_blackpoint.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.cms import lcms
from firstsheet.engine.colour.lab import D50_XYZ, lab_to_xyz, xyz_to_lab

if TYPE_CHECKING:
    from firstsheet.cms.container import Profile

__all__ = ["compensation", "destination_black", "source_black"]

Floats = NDArray[np.float64]
_V4_BLACK = (0.00336, 0.0034731, 0.00287)  # the perceptual reference medium, ICC.1 annex
_STEPS = 256
_INTENT_RELATIVE = 1
_DARKEST = {"GRAY": (0.0,), "RGB": (0.0, 0.0, 0.0), "CMYK": (1.0, 1.0, 1.0, 1.0)}


def compensation(black_in: ArrayLike, black_out: ArrayLike) -> tuple[Floats, Floats]:
    """Scale and offset with XYZ' = scale * XYZ + offset, that keep D50 and move the black.

    >>> scale, offset = compensation([0, 0, 0], [0.017385, 0.018031, 0.014874])
    >>> scale.round(6)
    array([0.98197 , 0.981969, 0.981969])
    """
    dark = np.asarray(black_in, dtype=np.float64)
    goal = np.asarray(black_out, dtype=np.float64)
    span = dark - D50_XYZ
    return (goal - D50_XYZ) / span, -D50_XYZ * (goal - dark) / span


def source_black(profile: Profile, intent_number: int) -> Floats:
    """The black point a picture in this profile starts from, XYZ."""
    if profile.device_class in ("link", "abst", "nmcl") or intent_number == 3:
        return np.zeros(3)
    if _fixed_black(profile, intent_number):
        return np.array(_V4_BLACK)
    press = profile.device_class == "prtr" and profile.colour_space == "CMYK"
    if press and intent_number == _INTENT_RELATIVE and profile.table_from_pcs(0):
        return _neutral(_round_trip(profile, 0, np.zeros((1, 3)))[0])
    if profile.colour_space not in _DARKEST:
        return np.zeros(3)  # Lab and XYZ files reach zero
    single = lcms.one_table_profile(profile, to_pcs=profile.table_to_pcs(intent_number))
    darkest = np.array([_DARKEST[profile.colour_space]])
    return _neutral(lcms.to_lab(single, profile.colour_space, darkest)[0])


def destination_black(profile: Profile, intent_number: int) -> Floats:
    """The darkest the paper gives on the grey axis, XYZ."""
    if profile.device_class in ("link", "abst", "nmcl") or intent_number == 3:
        return np.zeros(3)
    if _fixed_black(profile, intent_number):
        return np.array(_V4_BLACK)
    if not profile.table_from_pcs(intent_number) or profile.colour_space not in _DARKEST:
        return source_black(profile, intent_number)
    relative = intent_number == _INTENT_RELATIVE
    first = source_black(profile, intent_number) if relative else np.zeros(3)
    wanted = np.linspace(0.0, 100.0, _STEPS)
    greys = np.stack([wanted, np.zeros(_STEPS), np.zeros(_STEPS)], axis=-1)
    given = _round_trip(profile, intent_number, greys)[:, 0]
    given[:-1] = np.minimum.accumulate(given[::-1])[::-1][:-1]  # falling steps are levelled
    lowest, highest = given[0], given[-1]
    if not lowest < highest:
        return np.zeros(3)
    if relative:
        toe = wanted <= lowest + 0.2 * (highest - lowest)
        if np.all(toe | (np.abs(wanted - given) < 4.0)):
            return first
    share = (given - lowest) / (highest - lowest)
    low, high = (0.1, 0.5) if relative else (0.03, 0.25)
    chosen = (share >= low) & (share < high)
    if np.count_nonzero(chosen) < 3:
        return np.zeros(3)
    lightness = _root_of_fit(wanted[chosen], share[chosen])
    return np.asarray(lab_to_xyz([lightness, 0.0, 0.0]))


def _fixed_black(profile: Profile, intent_number: int) -> bool:
    """Version 4 table profiles share one black for perceptual and saturation."""
    tables = bool(profile.table_to_pcs(intent_number) or profile.table_from_pcs(intent_number))
    return profile.version[0] >= 4 and tables and intent_number in (0, 2)


def _round_trip(profile: Profile, intent_number: int, lab: Floats) -> Floats:
    """Lab → device by the intent → Lab by relative colorimetric."""
    single = lcms.one_table_profile(
        profile,
        to_pcs=profile.table_to_pcs(_INTENT_RELATIVE),
        from_pcs=profile.table_from_pcs(intent_number),
    )
    device = lcms.from_lab(single, profile.colour_space, profile.channels, lab)
    return lcms.to_lab(single, profile.colour_space, device)


def _neutral(lab: Floats) -> Floats:
    """The grey of this lightness, held to L* 0..50 (lighter is no black), XYZ."""
    lightness = 0.0 if lab[0] > 95.0 else min(max(float(lab[0]), 0.0), 50.0)
    return np.asarray(lab_to_xyz([lightness, 0.0, 0.0]))


def _root_of_fit(x: Floats, y: Floats) -> float:
    """Where the least-squares parabola through the toe meets zero, held to 0..50."""
    square, slope, constant = np.polyfit(x, y, 2)
    if abs(square) < 1e-10:
        return float(min(max(-constant / slope, 0.0), 50.0)) if slope else 0.0
    inside = slope * slope - 4.0 * square * constant
    if inside <= 0.0:
        return 0.0
    return float(min(max((-slope + np.sqrt(inside)) / (2.0 * square), 0.0), 50.0))


def black_lightness(xyz: ArrayLike) -> float:
    """L* of a black point, for texts."""
    return float(xyz_to_lab(xyz)[0])
