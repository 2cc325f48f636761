"""The ruler and the key that stand in the border and prove what the print path did.

Takes the sheet in pixels; gives small arrays of device codes with their places, or findings where
the border has no room. Theory: docs/theory/files.md. Tests: tests/files/test_rulerkey.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.findings import choice, finding
from firstsheet.engine.records import Finding
from firstsheet.engine.records.plan import SheetPlan
from firstsheet.engine.units import mm_to_px
from firstsheet.files.writing.glyphs import draw_text, text_width_px

__all__ = ["RULER_MM", "BorderMarks", "KeyPatch", "Overlay", "border_marks", "key_patches"]

Codes = NDArray[np.uint16]
RULER_MM = 100
_FULL = 65535
_TICK_MM = {1: 1.6, 5: 2.4, 10: 3.4}  # length of a tick by the step it belongs to
_TICK_WIDTH_MM = 0.15
_TEXT_MM = 1.5
_GAP_MM = 1.0  # from the picture, from the printable edge, between ruler and key
_PATCH_MM = (6.0, 4.0)  # as large as there is room for
_RAMP_STEPS = 8
_NO_HUE = (128 / 255, 128 / 255)  # a* = b* = 0


class Overlay(NamedTuple):
    """Device codes to be laid on the sheet at a place, in sheet pixels."""

    left_px: int
    top_px: int
    codes: Codes  # (h, w, channels)


class KeyPatch(NamedTuple):
    """A patch of the key: device value 0..1 per channel, as it stands in the file."""

    name: str
    device: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class BorderMarks:
    """Everything to lay on the border, and what had no room."""

    names: tuple[str, ...]  # `ruler`, `key`, in the order of the overlays
    overlays: tuple[Overlay, ...]
    findings: tuple[Finding, ...]


def key_patches(channels: int, *, lab: bool = False) -> tuple[KeyPatch, ...]:
    """The key's patches from left to right; the first eight are the neutral ramp.

    Device values are those of the file: grey (1), RGB (3) or CMYK (4) with ink as 1. A file kept
    in Lab (L*, a*, b* as shares of their ranges) has the ramp only: it knows no device.

    Examples
    --------
    >>> [patch.name for patch in key_patches(3)][8:]
    ['red', 'green', 'blue', 'cyan', 'magenta', 'yellow']
    >>> key_patches(3)[7].device
    (1.0, 1.0, 1.0)
    """
    ramp = [step / (_RAMP_STEPS - 1) for step in range(_RAMP_STEPS)]
    if lab:
        return tuple(KeyPatch(f"grey {i}", (v, *_NO_HUE)) for i, v in enumerate(ramp))
    if channels == 1:
        return tuple(KeyPatch(f"grey {i}", (v,)) for i, v in enumerate(ramp))
    if channels == 3:
        solid = {
            "red": (1.0, 0.0, 0.0),
            "green": (0.0, 1.0, 0.0),
            "blue": (0.0, 0.0, 1.0),
            "cyan": (0.0, 1.0, 1.0),
            "magenta": (1.0, 0.0, 1.0),
            "yellow": (1.0, 1.0, 0.0),
        }
        greys = [KeyPatch(f"grey {i}", (v, v, v)) for i, v in enumerate(ramp)]
        return (*greys, *(KeyPatch(name, device) for name, device in solid.items()))
    inks = {
        "cyan": (1.0, 0.0, 0.0, 0.0),
        "magenta": (0.0, 1.0, 0.0, 0.0),
        "yellow": (0.0, 0.0, 1.0, 0.0),
        "red": (0.0, 1.0, 1.0, 0.0),
        "green": (1.0, 0.0, 1.0, 0.0),
        "blue": (1.0, 1.0, 0.0, 0.0),
    }
    blacks = [KeyPatch(f"black {i}", (0.0, 0.0, 0.0, 1.0 - v)) for i, v in enumerate(ramp)]
    return (*blacks, *(KeyPatch(name, device) for name, device in inks.items()))


def border_marks(
    sheet: SheetPlan,
    *,
    picture_width_px: int,
    picture_height_px: int,
    ppi: float,
    channels: int,
    ruler: bool,
    key: bool,
    identifier: str = "",
    lab: bool = False,
) -> BorderMarks:
    """Draw the wished marks and find room for each in the border, inside the printable area.

    Parameters
    ----------
    sheet
        The sheet as planned.
    picture_width_px, picture_height_px
        The picture on the sheet.
    ppi
        Raster of the sheet.
    channels
        1 grey, 3 RGB or Lab, 4 CMYK.
    ruler, key
        Which marks are wished.
    identifier
        Short text beside the key, such as the plan's digest; capitals and digits are drawn.
    lab
        The file is kept in Lab.
    """
    room = _free_strips(sheet, picture_width_px, picture_height_px, ppi)
    names: list[str] = []
    overlays: list[Overlay] = []
    findings: list[Finding] = []
    gap = mm_to_px(_GAP_MM, ppi)
    wished = []
    patches = key_patches(channels, lab=lab)
    if ruler:
        wished.append(("ruler", [_ruler(ppi, patches)]))
    if key:
        wished.append(("key", [_key(size, ppi, patches, identifier) for size in _PATCH_MM]))
    for name, sizes in wished:
        placed = next((spot for codes in sizes if (spot := _place(room, codes, gap))), None)
        if placed is None:
            findings.append(_no_room(name, sizes[-1], ppi))
        else:
            names.append(name)
            overlays.append(placed)
    return BorderMarks(tuple(names), tuple(overlays), tuple(findings))


@dataclass(slots=True)
class _Strip:
    """Free paper of one border, in sheet pixels; `left`..`right` shrink as marks are placed."""

    left: int
    top: int
    right: int
    bottom: int
    upright: bool  # marks are turned a quarter to run along it
    outer_is_far: bool  # the sheet's edge lies at the bottom or right of the strip


def _free_strips(sheet: SheetPlan, width_px: int, height_px: int, ppi: float) -> list[_Strip]:
    gap = mm_to_px(_GAP_MM, ppi)
    margin = {
        side: math.ceil(getattr(sheet.margins, side) / 25.4 * ppi) + gap
        for side in ("top", "right", "bottom", "left")
    }
    left, right = margin["left"], sheet.width_px - margin["right"]
    top, bottom = margin["top"], sheet.height_px - margin["bottom"]
    above = sheet.picture_top_px - gap
    below = sheet.picture_top_px + height_px + gap
    before = sheet.picture_left_px - gap
    after = sheet.picture_left_px + width_px + gap
    middle_top, middle_bottom = max(top, above + gap), min(bottom, below - gap)
    return [
        _Strip(left, below, right, bottom, False, True),
        _Strip(left, top, right, above, False, False),
        _Strip(left, middle_top, before, middle_bottom, True, False),
        _Strip(after, middle_top, right, middle_bottom, True, True),
    ]


def _place(room: list[_Strip], codes: Codes, gap: int) -> Overlay | None:
    """Lay a mark against the outer edge of the first border that has room."""
    for strip in room:
        shown = np.rot90(codes) if strip.upright else codes
        height, width = shown.shape[:2]
        if width > strip.right - strip.left or height > strip.bottom - strip.top:
            continue
        if strip.upright:
            left = strip.right - width if strip.outer_is_far else strip.left
            top = strip.bottom - height
            strip.bottom = top - 2 * gap
        else:
            left = strip.left
            top = strip.bottom - height if strip.outer_is_far else strip.top
            strip.left = left + width + 2 * gap
        return Overlay(left, top, np.ascontiguousarray(shown))
    return None


def _no_room(name: str, smallest: Codes, ppi: float) -> Finding:
    height_mm, width_mm = (side / ppi * 25.4 for side in smallest.shape[:2])
    return finding(
        code=f"no-room-for-{name}",
        weight="caution",
        found=f"The {name} needs {width_mm:.0f} × {height_mm:.0f} mm of printable border; no side "
        "has that.",
        consequence=f"The sheet is made without the {name}.",
        choices=(
            "Make the picture smaller or the sheet larger.",
            choice(f"Do without the {name}.", {f"output.{name}": ""}),
        ),
        figures={"needed_width_mm": round(width_mm, 1), "needed_height_mm": round(height_mm, 1)},
    )


def _device(values: tuple[float, ...]) -> Codes:
    return np.array([round(value * _FULL) for value in values], dtype=np.uint16)


def _paper(height: int, width: int, patches: Sequence[KeyPatch]) -> Codes:
    """Bare paper, the last step of the ramp."""
    white = _device(patches[_RAMP_STEPS - 1].device)
    return np.broadcast_to(white, (height, width, len(white))).copy()


def _ruler(ppi: float, patches: Sequence[KeyPatch]) -> Codes:
    """100 mm from the left edge of the first tick to the left edge of the last, to the pixel."""
    thick = max(1, mm_to_px(_TICK_WIDTH_MM, ppi))
    scale = _text_scale(ppi)
    tall = mm_to_px(_TICK_MM[10], ppi)
    pad = text_width_px("100", scale) // 2 + 1
    length = mm_to_px(RULER_MM, ppi)
    codes = _paper(tall + 9 * scale, length + thick + 2 * pad, patches)
    ink = _device(patches[0].device)
    codes[0:thick, pad : pad + length + thick] = ink
    for mm in range(RULER_MM + 1):
        step = next(step for step in (10, 5, 1) if mm % step == 0)
        left = pad + mm_to_px(mm, ppi)
        codes[: mm_to_px(_TICK_MM[step], ppi), left : left + thick] = ink
        if mm % 10 == 0:
            words = str(mm) if mm else "0 MM"
            centre = left + thick // 2
            start = centre - text_width_px(str(mm), scale) // 2
            draw_text(codes, words, left_px=start, top_px=tall + 2 * scale, scale=scale, ink=ink)
    return codes


def _key(patch_mm: float, ppi: float, patches: Sequence[KeyPatch], identifier: str) -> Codes:
    """The patches side by side, the identifier below them."""
    side, scale = mm_to_px(patch_mm, ppi), _text_scale(ppi)
    codes = _paper(side + 9 * scale, side * len(patches), patches)
    ink = _device(patches[0].device)
    for index, patch in enumerate(patches):
        codes[:side, index * side : (index + 1) * side] = _device(patch.device)
    hair = max(1, mm_to_px(0.1, ppi))  # so that the white patch has an edge
    codes[:hair, :], codes[side - hair : side, :] = ink, ink
    codes[:side, :hair], codes[:side, -hair:] = ink, ink
    room = max(0, codes.shape[1] // (6 * scale))
    draw_text(codes, identifier[:room], left_px=0, top_px=side + 2 * scale, scale=scale, ink=ink)
    return codes


def _text_scale(ppi: float) -> int:
    """Whole pixels per dot of the seven-dot letters."""
    return max(1, mm_to_px(_TEXT_MM, ppi) // 7)
