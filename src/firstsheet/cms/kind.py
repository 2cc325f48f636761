"""What a profile stands for: a working space, a screen, a scanner, a paper, a grey.

Takes a parsed profile; gives one of the kinds of ProfileFacts. The class in the header cannot
tell a working space from a screen (both are `mntr`), so form and contents are looked at.
Theory: docs/theory/icc.md, section 4. Tests: tests/cms/test_cms_kind.py.
"""

from __future__ import annotations

import re
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.container import Profile
from firstsheet.cms.tags import TagFault
from firstsheet.engine.colour.spaces import SPACES, RgbSpace, TransferCurve

__all__ = ["Kind", "is_wide", "matching_space", "profile_kind"]

Kind = Literal["working", "screen", "input", "output", "grey", "other", "broken"]
Floats = NDArray[np.float64]

# Tolerances: profiles of one space by different makers differ by 0.001 in x, y, and their
# curves by a straight foot or none (ROMM: 1/512 at the foot).
_XY_TOLERANCE = 0.003
_CURVE_TOLERANCE = 0.005
_SAME_CURVE = 0.002
_WIDE_FACTOR = 1.3  # area in x, y against sRGB's; our own limit
_DEVICE_TAGS = ("vcgt", "mmod", "ndin")  # a screen's calibration, model and native data
_SCREEN_WORDS = re.compile(r"\b(monitor|lcd|led|oled|crt|panel|screen|edid|display(?! p3))\b", re.I)
_GRID = np.linspace(0.0, 1.0, 101)
_REC709 = TransferCurve(gamma=1 / 0.45, a=1 / 1.099, b=0.099 / 1.099, c=1 / 4.5, d=0.081)
_L_STAR = TransferCurve(gamma=3.0, a=1 / 1.16, b=0.16 / 1.16, c=2700 / 24389, d=0.08)


def profile_kind(profile: Profile) -> Kind:
    """Decide by class, then by form.

    Rules, in order: `scnr` is input; grey by one curve is grey, whatever its class; `prtr` is
    output; `spac` is working; `mntr` RGB is a screen where anything points to a device (tables,
    calibration tags, three different curves, words in its name), working where primaries and
    curve are those of a known space or the profile is of the form of one (one standard curve
    for all three, primaries that add up to D50), a screen otherwise; all else is other.
    """
    has_tables = any(name[:3] in ("A2B", "B2A") for name in profile.tags)
    if profile.device_class == "scnr":
        return "input"
    if profile.colour_space == "GRAY" and not has_tables:
        return "grey"
    if profile.device_class == "prtr":
        return "output"
    if profile.device_class == "spac":
        return "working" if profile.channels else "other"
    if profile.device_class != "mntr" or profile.colour_space != "RGB":
        return "other"
    if has_tables or _points_to_a_device(profile):
        return "screen"
    return "working" if matching_space(profile) or _has_the_form_of_a_space(profile) else "screen"


def matching_space(profile: Profile) -> str:
    """The name in SPACES whose primaries and curve this RGB profile has, or nothing."""
    try:
        primaries, curves = _primaries_xy(profile), _curves(profile)
    except TagFault:
        return ""
    for name, space in SPACES.items():
        near = np.max(np.abs(primaries - _adapted_xy(space))) <= _XY_TOLERANCE
        wanted = np.asarray(space.decode(_GRID))
        if near and all(np.max(np.abs(c - wanted)) <= _CURVE_TOLERANCE for c in curves):
            return name
    return ""


def is_wide(profile: Profile) -> bool | None:
    """True where the triangle of the primaries is clearly larger than sRGB's; None: not judged."""
    name = matching_space(profile)
    if name:
        return SPACES[name].wide
    try:
        primaries = _primaries_xy(profile)
    except TagFault:
        return None
    return bool(_area_xy(primaries) > _WIDE_FACTOR * _area_xy(_adapted_xy(SPACES["srgb"])))


def _area_xy(primaries: Floats) -> float:
    """Area of the triangle of three chromaticities, columns of (2, 3)."""
    (x0, x1, x2), (y0, y1, y2) = primaries
    return float(abs((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) / 2.0)


def _points_to_a_device(profile: Profile) -> bool:
    if any(name in profile.tags for name in _DEVICE_TAGS):
        return True
    if _SCREEN_WORDS.search(profile.description):
        return True
    try:
        red, green, blue = _curves(profile)
    except TagFault:
        return True
    return bool(np.max(np.abs([green - red, blue - red])) > _SAME_CURVE)


def _has_the_form_of_a_space(profile: Profile) -> bool:
    """One curve of a standard form for all channels; primaries in order, adding up to D50."""
    try:
        columns = _columns(profile)
        curve = _curves(profile)[0]
    except TagFault:
        return False
    if np.max(np.abs(columns.sum(axis=1) - (0.9642, 1.0, 0.8249))) > 5e-4:
        return False
    return bool(np.linalg.det(columns) > 0) and _is_standard(curve)


def _is_standard(curve: Floats) -> bool:
    """A pure power from 1 to 2.6, or the curve of sRGB, of Rec. 709 or of L*."""
    middle = float(curve[50])
    power = np.log(middle) / np.log(0.5) if 0.0 < middle < 1.0 else 0.0
    forms = [np.asarray(c.decode(_GRID)) for c in (SPACES["srgb"].curve, _REC709, _L_STAR)]
    if 0.99 <= power <= 2.61:
        forms.append(_GRID**power)
    return any(np.max(np.abs(curve - form)) <= _CURVE_TOLERANCE for form in forms)


def _columns(profile: Profile) -> Floats:
    return np.column_stack([profile.colorant(f"{letter}XYZ") for letter in "rgb"])


def _curves(profile: Profile) -> list[Floats]:
    return [profile.curve(f"{letter}TRC").at(_GRID) for letter in "rgb"]


def _primaries_xy(profile: Profile) -> Floats:
    columns = _columns(profile)
    total = columns.sum(axis=0)
    if (np.abs(total) < 1e-6).any():
        raise TagFault("has a primary without light")
    return np.asarray(columns[:2] / total)


def _adapted_xy(space: RgbSpace) -> Floats:
    columns = np.asarray(space.rgb_to_xyz_d50)
    return np.asarray(columns[:2] / columns.sum(axis=0))
