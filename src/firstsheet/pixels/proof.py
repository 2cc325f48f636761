"""The soft proof: what the printed sheet looks like, for a screen.

Takes a small picture and the chain of its print; gives 16-bit RGB in a screen space. Absolute:
the paper's white and the ink's black stand against the brightest white of the space, which the
surround shows nowhere, so that the sheet is not judged beside a lamp. Relative: paper white is
screen white. What the screen's space cannot show is clipped and counted.
Theory: docs/theory/proof.md. Tests: tests/pixels/test_proof.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.cms.chain import Chain
from firstsheet.engine.colour.density import contrast_ratio
from firstsheet.engine.colour.lab import lab_to_xyz
from firstsheet.engine.colour.spaces import SPACES
from firstsheet.engine.records.plan import SheetPlan, SizePlan
from firstsheet.engine.streams import StopCheck
from firstsheet.pixels.lettering import draw_words, fold_words

__all__ = [
    "TABLE_TOP",
    "Proof",
    "ProofSpace",
    "ProofWhite",
    "proof_caption",
    "proof_on_sheet",
    "proof_picture",
    "screen_rgb",
    "show_printed",
]

ProofSpace = Literal["display-p3", "srgb"]
ProofWhite = Literal["paper", "screen"]
Floats = NDArray[np.float64]

_SHADOW_ROWS = 128  # shaded at a time
_THREADS = 2
_BAND_PIXELS = 100_000
_ROUNDING = 0.5 / 255  # further out than this counts as clipped
TABLE_TOP = 0.46  # encoded grey the sheet lies on: R = G = B


@dataclass(frozen=True, eq=False)
class Proof:
    """A proofed picture with the facts that belong to it."""

    rgb: NDArray[np.uint16]  # (h, w, 3), encoded in `space`
    space: ProofSpace
    white: ProofWhite
    bare_paper: tuple[int, int, int]  # the same codes for paper without ink
    out_of_screen_percent: float  # pixels the space cannot show, clipped at its edge


def screen_rgb(
    printed_lab: ArrayLike, chain: Chain, *, space: ProofSpace, white: ProofWhite
) -> Floats:
    """Encoded screen RGB of printed Lab relative to the paper; outside 0..1 = not showable.

    Parameters
    ----------
    printed_lab
        (..., 3), as `Chain.printed_lab` gives it.
    white
        `paper`: the paper's white and black are shown as they are against the screen's white
        (ICC-absolute). `screen`: paper white becomes screen white.
    """
    lab = chain.absolute_lab(printed_lab) if white == "paper" else printed_lab
    return SPACES[space].from_xyz_d50(lab_to_xyz(lab))


def show_printed(
    printed_lab: ArrayLike,
    chain: Chain,
    *,
    space: ProofSpace = "display-p3",
    white: ProofWhite = "paper",
    stop: StopCheck | None = None,
) -> Proof:
    """The proof of colours that were already taken through the chain, (h, w, 3)."""
    lab = np.asarray(printed_lab, dtype=np.float64)
    out = np.empty(lab.shape, np.uint16)
    counts = _in_bands(
        lab, lambda band, to: _screen_codes(band, to, chain, space, white), out, stop
    )
    return _finish(out, sum(counts), chain, space, white)


def proof_picture(
    encoded: ArrayLike,
    chain: Chain,
    *,
    space: ProofSpace = "display-p3",
    white: ProofWhite = "paper",
    stop: StopCheck | None = None,
) -> Proof:
    """The proof of a picture through its print's own chain.

    Parameters
    ----------
    encoded
        (h, w, channels), codes 0..1 as `Chain.device` takes them.
    stop
        Asked between bands; raises StoppedError when the person stopped the work.
    """
    codes = np.asarray(encoded)
    out = np.empty((*codes.shape[:2], 3), np.uint16)

    def work(band: Floats, to: NDArray[np.uint16]) -> int:
        printed = chain.printed_lab(chain.device(band))
        return _screen_codes(printed, to, chain, space, white)

    counts = _in_bands(codes, work, out, stop)
    return _finish(out, sum(counts), chain, space, white)


def _screen_codes(
    printed: Floats, to: NDArray[np.uint16], chain: Chain, space: ProofSpace, white: ProofWhite
) -> int:
    """Write the codes of a band; gives how many pixels had to be clipped."""
    rgb = screen_rgb(printed, chain, space=space, white=white)
    to[:] = np.rint(np.clip(rgb, 0.0, 1.0) * 65535.0)
    outside = (rgb < -_ROUNDING) | (rgb > 1.0 + _ROUNDING)
    return int(np.count_nonzero(outside.any(axis=-1)))


def _in_bands(
    source: NDArray[Any],
    work: Callable[[NDArray[Any], NDArray[np.uint16]], int],
    out: NDArray[np.uint16],
    stop: StopCheck | None,
) -> list[int]:
    """Run `work(band, out band)` over rows on two threads, in order of their rows."""
    rows = max(1, _BAND_PIXELS // source.shape[1])
    tops = range(0, source.shape[0], rows)

    def one(top: int) -> int:
        if stop is not None:
            stop()
        return work(source[top : top + rows], out[top : top + rows])

    with ThreadPoolExecutor(_THREADS) as pool:
        return list(pool.map(one, tops))


def _finish(
    rgb: NDArray[np.uint16], clipped: int, chain: Chain, space: ProofSpace, white: ProofWhite
) -> Proof:
    bare = screen_rgb(np.array([100.0, 0.0, 0.0]), chain, space=space, white=white)
    codes = np.rint(np.clip(bare, 0, 1) * 65535).astype(int)
    percent = 100.0 * clipped / max(rgb.shape[0] * rgb.shape[1], 1)
    return Proof(rgb, space, white, (int(codes[0]), int(codes[1]), int(codes[2])), percent)


def proof_caption(chain: Chain, *, white: ProofWhite = "paper") -> str:
    """Black, white and contrast of the print in one line.

    The figures are the paper's own (absolute), whichever white the proof shows.
    """
    white_lab, black_lab = chain.paper_white_lab_absolute, chain.paper_black_lab_absolute
    ratio = contrast_ratio(*(float(lab_to_xyz(lab)[1]) for lab in (white_lab, black_lab)))
    shown = (
        "shown against the screen's white"
        if white == "paper"
        else "paper white shown as screen white"
    )
    return (
        f"Paper white L* {white_lab[0]:.1f} · ink black L* {black_lab[0]:.1f} · "
        f"contrast {ratio:.0f} : 1 · {shown}"
    )


def proof_on_sheet(
    proof: Proof,
    *,
    sheet: SheetPlan,
    size: SizePlan,
    caption: Sequence[str] = (),
) -> NDArray[np.uint16]:
    """The proof in its place on the bare sheet, on an exact neutral grey, words below.

    Parameters
    ----------
    proof
        The whole picture, upright and cropped, at any number of pixels.
    sheet, size
        From the plan; only their proportions matter here.
    caption
        Sentences set below the sheet, one after the other.

    Returns
    -------
    NDArray
        (H, W, 3) uint16 in the proof's space. Each picture pixel of the proof is kept as it is.
    """
    height, width = proof.rgb.shape[:2]
    scale = width / size.width_px
    sheet_w = max(round(sheet.width_px * scale), width)
    sheet_h = max(round(sheet.height_px * scale), height)
    left = min(round(sheet.picture_left_px * scale), sheet_w - width)
    top = min(round(sheet.picture_top_px * scale), sheet_h - height)
    around = max(24, round(0.045 * max(sheet_w, sheet_h)))
    type_px = max(15.0, 0.0155 * max(sheet_w, sheet_h))
    lines = [line for words in caption for line in fold_words(words, type_px, sheet_w)]
    line_px = math.ceil(1.45 * type_px)
    below = (
        around if not lines else round(0.6 * around) + line_px * len(lines) + round(0.7 * around)
    )
    grey = round(TABLE_TOP * 65535)
    out = np.full((around + sheet_h + below, sheet_w + 2 * around, 3), grey, np.uint16)
    _cast_shadow(out, around, around, sheet_w, sheet_h)
    out[around : around + sheet_h, around : around + sheet_w] = proof.bare_paper
    y, x = around + max(top, 0), around + max(left, 0)
    out[y : y + height, x : x + width] = proof.rgb
    at = around + sheet_h + round(0.6 * around)
    for line in lines:
        draw_words(out, line, around, at, type_px, (65535 * 0.97,) * 3)
        at += line_px
    return out


def _cast_shadow(out: NDArray[np.uint16], left: int, top: int, width: int, height: int) -> None:
    """A soft neutral shadow below and to the right, so that the sheet's edge is seen."""
    soft = max(4, round(0.006 * max(width, height)))
    y = np.arange(out.shape[0])[:, None] - (top + soft * 0.8)
    x = np.arange(out.shape[1])[None, :] - (left + soft * 0.5)

    def inside(at: NDArray[np.floating], length: int) -> Floats:
        result: Floats = np.clip(at / soft + 0.5, 0, 1) * np.clip((length - at) / soft + 0.5, 0, 1)
        return result

    down, across, grey = inside(y, height), inside(x, width), out[0, 0, 0]
    for first in range(0, len(out), _SHADOW_ROWS):
        rows = slice(first, first + _SHADOW_ROWS)
        dark = 1.0 - 0.38 * down[rows] * across
        out[rows] = np.rint(grey * dark)[..., None]
