"""The loss map: how far the printed colour is from the wanted one, as a magnitude.

Takes wanted and printed Lab; gives CIEDE2000 per pixel, and a tagged-sRGB picture of it with a
legend. Below the profile's own noise nothing is called a loss. No colour here means "wrong": the
scale only says how much. Thin numbered lines go round the places that lose.
Theory: docs/theory/proof.md. Tests: tests/pixels/test_lossmap.py, test_outlines.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.loss.regions.outline import Outline
from firstsheet.pixels.lettering import draw_words, fold_words, words_width
from firstsheet.pixels.outlines import draw_outlines
from firstsheet.pixels.scale import scale_colour

__all__ = ["OUTLINES_WORDS", "SCALE_TOP_DE00", "band_words", "loss_map", "loss_picture"]

SCALE_TOP_DE00: Final = 10.0
_TICKS: Final = (0, 1, 2, 5, 10)
_TONES = 8192  # of the scale: 0.0012 each, in CIEDE2000
_SURROUND: Final = 119  # R = G = B
_INK: Final = (246, 246, 246)
_TYPE_OF_PAGE: Final = 17.0  # px of the words beside which lines are one unit wide
OUTLINES_WORDS: Final = (
    "Numbered lines go round the places where the print shows less than the file holds; the job "
    "sheet and firstsheet losses tell them by number."
)
_BANDS: Final = ("below 1", "1 to 2", "2 to 5", "5 to 10", "above 10")
Bytes = NDArray[np.uint8]


def loss_map(
    wanted_lab: ArrayLike, printed_lab: ArrayLike, floor_de00: float
) -> NDArray[np.float64]:
    """CIEDE2000 between wanted and printed colour; 0 where it is below the profile's noise.

    Parameters
    ----------
    wanted_lab, printed_lab
        (..., 3), on the same footing (both relative, or both absolute).
    floor_de00
        The profile's own round-trip noise.
    """
    de00 = np.asarray(delta_e_2000(wanted_lab, printed_lab), dtype=np.float64)
    return np.where(de00 < floor_de00, 0.0, de00)


def band_words(bands_percent: Sequence[float]) -> tuple[str, ...]:
    """The shares of the picture, as short phrases; a share that rounds to nothing says so."""
    words = []
    for name, share in zip(_BANDS, bands_percent, strict=True):
        number = f"{share:.0f} %" if share >= 9.95 or share == 0 else f"{share:.1f} %"
        if 0 < share < 0.05:
            number = "under 0.1 %"
        words.append(f"{name}: {number}")
    return tuple(words)


def loss_picture(
    de00: ArrayLike,
    *,
    floor_de00: float,
    bands_percent: Sequence[float],
    title: str,
    notes: Sequence[str] = (),
    outlines: Sequence[Outline] = (),
) -> Bytes:
    """The map in colour, with its legend below, on an exact neutral grey.

    Parameters
    ----------
    de00
        (h, w), from `loss_map`.
    bands_percent
        Shares below 1, 1-2, 2-5, 5-10 and above 10, as the plan has them.
    title
        What was compared, such as “Ferry stairs on Chalk Matte 310”.
    notes
        Further sentences for the legend.
    outlines
        Lines round the places that truly lose, in the order in which they are told.

    Returns
    -------
    NDArray
        (H, W, 3) uint8, encoded sRGB: write it with the sRGB profile.
    """
    values = np.asarray(de00, dtype=np.float64)
    height, width = values.shape
    around = max(24, round(0.03 * max(height, width)))
    inner = max(width, 640)
    type_px = max(17.0, 0.0195 * min(max(inner, 0.75 * height), 1.3 * inner))
    told = (*notes, OUTLINES_WORDS) if outlines else notes
    legend = _legend(inner, type_px, floor_de00, bands_percent, title, told)
    out = np.full(
        (around + height + around // 2 + legend.shape[0] + around, inner + 2 * around, 3),
        _SURROUND, np.uint8,
    )  # fmt: skip
    x = around + (inner - width) // 2
    colours = np.rint(scale_colour(np.linspace(0.0, 1.0, _TONES)) * 255).astype(np.uint8)
    tones = np.clip(values * ((_TONES - 1) / SCALE_TOP_DE00), 0.0, _TONES - 1)
    out[around : around + height, x : x + width] = colours[np.rint(tones).astype(np.uint16)]
    draw_outlines(
        out, outlines, left_px=x, top_px=around, size_px=(width, height),
        unit_px=max(1.0, type_px / _TYPE_OF_PAGE),
    )  # fmt: skip
    y = around + height + around // 2
    out[y : y + legend.shape[0], around : around + inner] = legend
    return out


def _legend(
    width: int, type_px: float, floor_de00: float, bands: Sequence[float], title: str,
    notes: Sequence[str],
) -> Bytes:  # fmt: skip
    """Title, scale with ticks, shares of the picture, and what the floor means."""
    small = 0.86 * type_px
    line, small_line = math.ceil(1.5 * type_px), math.ceil(1.45 * small)
    sentences = [
        "How far the printed colour is from the wanted one, in CIEDE2000: 1 is just seen side "
        "by side, 5 is plain."
    ]
    if floor_de00 > 0:
        sentences.append(
            f"Differences below the profile's round-trip error ({floor_de00:.1f}) are not counted."
        )
    sentences += list(notes)
    lines = [part for words in sentences for part in fold_words(words, small, width)]
    heading = fold_words(title, type_px * 1.15, width)
    bar = round(1.35 * type_px)
    shares = band_words(bands)
    height = (
        line * len(heading)
        + line // 3
        + bar
        + 2 * small_line
        + line // 3
        + small_line * (1 + len(lines))
    )
    out = np.full((height, width, 3), _SURROUND, np.uint8)
    y = 0
    for words in heading:
        draw_words(out, words, 0, y, type_px * 1.15, _INK)
        y += line
    y += line // 3
    _bar(out, y, bar, width, small)
    y += bar + small_line + line // 3
    _spread(out, y, ("Of the picture", *shares), small)
    y += small_line + line // 3
    for words in lines:
        draw_words(out, words, 0, y, small, _INK)
        y += small_line
    return out


def _bar(out: Bytes, top: int, bar: int, width: int, type_px: float) -> None:
    """The scale itself: even from 0 to 10, a flat end for what lies beyond, ticks below."""
    beyond = round(0.09 * width)
    span = width - beyond
    ramp = scale_colour(np.arange(span) / (span - 1))
    out[top : top + bar, :span] = np.rint(ramp * 255)
    out[top : top + bar, span + 3 :] = np.rint(scale_colour(1.0) * 255)
    for tick in _TICKS:
        x = round(tick / SCALE_TOP_DE00 * (span - 1))
        out[top + bar : top + bar + max(4, bar // 4), max(x - 1, 0) : x + 2] = _INK
        align = "left" if tick == 0 else "middle"
        draw_words(out, str(tick), x, top + bar + bar // 4, type_px, _INK, align=align)
    draw_words(
        out, "more", width - beyond // 2, top + bar + bar // 4, type_px, _INK, align="middle"
    )


def _spread(out: Bytes, top: int, words: Sequence[str], type_px: float) -> None:
    """Set phrases side by side with even gaps; smaller where they would not fit."""
    widths = [words_width(one, type_px) for one in words]
    gap = (out.shape[1] - sum(widths)) / (len(words) - 1)
    if gap < 0.4 * type_px and type_px > 9:
        _spread(out, top, words, type_px * 0.93)
        return
    gap = min(gap, 2.5 * type_px)
    x = 0.0
    for one, wide in zip(words, widths, strict=True):
        draw_words(out, one, round(x), top, type_px, _INK)
        x += wide + gap
