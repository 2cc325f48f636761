"""Was a JPEG saved twice, and how hard the first time?

Takes squares of luma from the block grid and the table the file was last saved with; gives
DoubleJpegFacts. A first save leaves its own steps in the coefficients; after the second, some
multiples are too frequent and some are missing. Theory: docs/theory/jpeg-twice.md.
Tests: tests/engine/detail/test_twice.py.
"""

from __future__ import annotations

import math
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.file.jpeg import standard_luma
from firstsheet.engine.records.detail import DoubleJpegFacts

__all__ = [
    "LEAST_BLOCKS",
    "LEAST_SURPLUS",
    "QUALITIES",
    "coefficients",
    "double_jpeg_sentence",
    "gains_by_quality",
    "shares_of_multiples",
    "twice_facts",
]

Floats = NDArray[np.float64]

LEAST_BLOCKS: Final = 400
_SIDE: Final = 8
_MODES: Final = ((0, 1), (1, 0), (1, 1), (0, 2), (2, 0), (1, 2), (2, 1), (0, 3), (3, 0), (2, 2))
QUALITIES: Final = tuple(range(30, 100))
_REACH: Final = 30  # multiples of the step to each side
_LEAST_MODES: Final = 3  # frequencies that must be readable
_LEAST_USED: Final = 150  # coefficients that are not zero, for a frequency to be read
_BLUR: Final = 0.02  # share of doubt mixed into each expected share
LEAST_SURPLUS: Final = 0.025  # nats per coefficient by which a first save must explain it better
_AGREE: Final = 0.6  # share of frequencies that must say so
_ROUNDING: Final = 0.3  # standard deviation that rounding to whole codes leaves in a coefficient


def double_jpeg_sentence(facts: DoubleJpegFacts | None) -> str:
    """What was found, in words; nothing where nothing can be told."""
    if facts is None or facts.told != "twice":
        return ""
    return (
        f"Was saved as JPEG at least twice, before this at a quality of about "
        f"{facts.first_quality} (confidence {100 * facts.confidence:.0f} %): what that save took "
        "is gone; ask for the original."
    )


def _answer(
    told: Literal["twice", "no sign", "cannot tell"],
    quality: int | None,
    surplus: float,
    confidence: float,
    blocks: int,
) -> DoubleJpegFacts:
    return DoubleJpegFacts(
        told=told,
        first_quality=quality,
        surplus=round(surplus, 4),
        confidence=round(confidence, 3),
        blocks=blocks,
    )


def twice_facts(squares: ArrayLike, table: ArrayLike) -> DoubleJpegFacts:
    """Look for the steps of an earlier save under those of the last one.

    Parameters
    ----------
    squares
        (n, 16, 16) luma codes 0..255, each with its upper left corner on the block grid.
    table
        The 64 steps of the last save for luma, natural order.

    Notes
    -----
    After J. Lukáš and J. Fridrich, "Estimation of primary quantization matrix in double compressed
    JPEG images", Digital Forensic Research Workshop, 2003: the picture moved off its grid by half
    a block shows how coefficients lie without any steps; from that the shares of all multiples
    are foretold for every earlier quality, and held against those found.
    """
    tiles, gains = gains_by_quality(squares, table)
    if len(gains) < _LEAST_MODES:
        return _answer("cannot tell", None, 0.0, 0.0, tiles)
    mean = gains.mean(axis=0)
    best = int(mean.argmax())
    agreeing = float((gains[:, best] > 0.3 * LEAST_SURPLUS).mean())
    if mean[best] >= LEAST_SURPLUS and agreeing >= _AGREE:
        over = float(mean[best]) / LEAST_SURPLUS
        sure = 0.7 + 0.28 * (1.0 - math.exp(-(over - 1.0)))
        return _answer("twice", QUALITIES[best], float(mean[best]), sure, tiles)
    doubt = float(mean[best]) / LEAST_SURPLUS
    return _answer("no sign", None, float(mean[best]), 0.5 * (1.0 - min(1.0, doubt)), tiles)


def gains_by_quality(squares: ArrayLike, table: ArrayLike) -> tuple[int, Floats]:
    """How much better each earlier save explains a picture than none.

    Parameters
    ----------
    squares, table
        As `twice_facts` takes them.

    Returns
    -------
    int
        Blocks that are clipped nowhere.
    NDArray
        (frequencies that could be read, qualities of `QUALITIES`), nats per coefficient; no rows
        where there are too few blocks.
    """
    tiles = np.asarray(squares, dtype=np.float64)
    steps = np.asarray(table, dtype=np.float64).reshape(_SIDE, _SIDE)
    if len(tiles):
        tiles = tiles[(tiles.min(axis=(1, 2)) > 1) & (tiles.max(axis=(1, 2)) < 254)]
    if len(tiles) < LEAST_BLOCKS:
        return len(tiles), np.zeros((0, len(QUALITIES)))
    on_grid = coefficients(tiles[:, :_SIDE, :_SIDE])
    off_grid = np.concatenate(
        [coefficients(tiles[:, y : y + 8, x : x + 8]) for y, x in ((4, 4), (3, 5), (5, 3))]
    )
    gains = []
    for row, column in _MODES:
        step = steps[row, column]
        found = np.rint(on_grid[:, row, column] / step)
        if int((found != 0).sum()) >= _LEAST_USED:
            gains.append(_surplus(found, off_grid[:, row, column], step, row * _SIDE + column))
    return len(tiles), np.array(gains).reshape(len(gains), len(QUALITIES))


def coefficients(blocks: Floats) -> Floats:
    """The two-dimensional cosine transform of ITU-T T.81, A.3.3."""
    n = np.arange(_SIDE)
    base = np.cos((2 * n[None, :] + 1) * n[:, None] * np.pi / (2 * _SIDE)) * 0.5
    base[0] /= math.sqrt(2.0)
    return np.asarray(base @ (blocks - 128.0) @ base.T)


def shares_of_multiples(multiples: Floats) -> Floats:
    """Share of every multiple from -30 to 30; the outermost hold the rest."""
    held = np.clip(multiples, -_REACH, _REACH).astype(np.int64) + _REACH
    return np.asarray(np.bincount(held, minlength=2 * _REACH + 1) / multiples.size)


def _surplus(found: Floats, free: Floats, step: float, at: int) -> Floats:
    """How much better each earlier quality explains a frequency than none, nats per coefficient."""
    seen = shares_of_multiples(found)
    free = np.sort(free)
    noise = _ROUNDING * _normal_steps(free.size)
    once = shares_of_multiples(np.rint((free + noise) / step))
    once = _even(once)
    gains = np.zeros(len(QUALITIES))
    known: dict[int, float] = {}
    for index, quality in enumerate(QUALITIES):
        first = int(standard_luma(quality)[at])
        if first not in known:
            twice = shares_of_multiples(np.rint((np.rint(free / first) * first + noise) / step))
            twice = (1.0 - _BLUR) * _even(twice) + _BLUR * once
            base = (1.0 - _BLUR) * once + _BLUR / once.size
            twice = (1.0 - _BLUR) * twice + _BLUR / once.size
            known[first] = 0.0 if first == step else float((seen * np.log(twice / base)).sum())
        gains[index] = known[first]
    return gains


def _even(shares: Floats) -> Floats:
    """The same for both signs."""
    return np.asarray(0.5 * (shares + shares[::-1]))


def _normal_steps(count: int) -> Floats:
    """Values spread as a normal distribution, in an order without a trend; the same every time."""
    return np.asarray(np.random.default_rng(7).standard_normal(count))
