"""Colours and places in a picture as people name them.

Takes CIELAB and boxes; gives words. Hue names follow the Oklab hue circle: where sRGB's own
primaries lie on it is checked in the tests; the limits between names are ours.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_region_words.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from firstsheet.engine.colour.hue import oklab_of_lab

__all__ = ["colour_words", "colours_words", "place_words", "tones_words", "toward_words"]

# name and the Oklab hue, degrees, at which it ends; pink-red closes the circle
_HUES: Final = (
    ("crimson", 12.0),
    ("red", 40.0),
    ("orange", 80.0),
    ("yellow", 118.0),
    ("green", 165.0),
    ("turquoise", 225.0),
    ("blue", 280.0),
    ("violet", 312.0),
    ("magenta", 345.0),
    ("crimson", 360.0),
)
_CIRCLE: Final = tuple(name for name, _ in _HUES[1:])  # each name once, in order
_GREY_CHROMA: Final = 0.018  # Oklab
_DULL_CHROMA: Final = 0.05
_VIVID_CHROMA: Final = 0.16


def _hue_name(degrees: float) -> str:
    return next(name for name, end in _HUES if degrees % 360.0 < end)


def colour_words(lab: Sequence[float]) -> str:
    """Name a colour, CIELAB D50.

    Examples
    --------
    >>> colour_words([30.0, 68.0, -112.0]), colour_words([96.0, 0.0, 0.0])
    ('deep vivid blue', 'near white')
    >>> colour_words([40.0, 20.0, 35.0])
    'brown'
    """
    return colours_words([lab])[0]


def colours_words(labs: ArrayLike) -> list[str]:
    """Name many colours, (n, 3)."""
    found = np.asarray(labs, dtype=np.float64)
    pairs = zip(found[:, 0].tolist(), oklab_of_lab(found).tolist(), strict=True)
    return [_colour_words(lightness, oklab) for lightness, oklab in pairs]


def _colour_words(lightness: float, oklab: Sequence[float]) -> str:
    light, a, b = oklab
    chroma = math.hypot(a, b)
    if chroma < _GREY_CHROMA or lightness < 4.0:
        return _grey_words(lightness)
    name = _hue_name(math.degrees(math.atan2(b, a)))
    if name in ("orange", "yellow") and light < 0.6 and chroma < 0.14:
        return "dark brown" if lightness < 25.0 else "brown"
    if lightness > 60.0 and (name in ("crimson", "magenta") or (name == "red" and chroma < 0.12)):
        name = "pink"
    tone = "deep" if lightness < 38.0 else "pale" if lightness > 78.0 else ""
    depth = "greyish" if chroma < _DULL_CHROMA else "vivid" if chroma > _VIVID_CHROMA else ""
    return " ".join(word for word in (tone, depth, name) if word)


def _grey_words(lightness: float) -> str:
    for limit, word in ((8.0, "black"), (25.0, "near black"), (42.0, "dark grey")):
        if lightness < limit:
            return word
    for limit, word in ((68.0, "grey"), (92.0, "light grey"), (98.0, "near white")):
        if lightness < limit:
            return word
    return "white"


def tones_words(lightness: float) -> str:
    """Name an area of many colours by how light it is on average."""
    if lightness < 40.0:
        return "dark tones"
    return "mid tones" if lightness < 70.0 else "light tones"


def toward_words(wanted_lab: Sequence[float], turn_degrees: float) -> str:
    """Name the hue that a turn leads to: its own name, or the next one on the circle.

    Examples
    --------
    >>> toward_words([30.0, 68.0, -112.0], 20.0), toward_words([30.0, 68.0, -112.0], -20.0)
    ('violet', 'turquoise')
    """
    _, a, b = (float(one) for one in oklab_of_lab(wanted_lab))
    hue = math.degrees(math.atan2(b, a))
    start, end = _hue_name(hue), _hue_name(hue + turn_degrees)
    if start != end:
        return end
    step = 1 if turn_degrees > 0 else -1
    return _CIRCLE[(_CIRCLE.index(start) + step) % len(_CIRCLE)]


def place_words(box: tuple[float, float, float, float], centre: tuple[float, float]) -> str:
    """Say where an area lies, from its box and centre of mass, 0..1 from the upper left.

    Examples
    --------
    >>> place_words((0.05, 0.7, 0.3, 0.95), (0.2, 0.8))
    'lower left'
    >>> place_words((0.0, 0.0, 1.0, 0.4), (0.5, 0.2))
    'across the top'
    """
    left, top, right, bottom = box
    wide, tall = right - left > 0.75, bottom - top > 0.75
    if wide and tall:
        return "all over"
    row = ("upper", "", "lower")[min(2, int(3.0 * centre[1]))]
    column = ("left", "", "right")[min(2, int(3.0 * centre[0]))]
    if wide:
        return {"upper": "across the top", "": "across the middle", "lower": "across the foot"}[row]
    if tall:
        return {"left": "down the left", "": "down the middle", "right": "down the right"}[column]
    if not column:
        return {"upper": "top centre", "": "centre", "lower": "foot centre"}[row]
    return f"{row} {column}" if row else column
