"""One region: what is truly lost there, how visible that is, and how it is said.

Takes planes of cells and the region's cells; gives a RegionLoss.
Theory: docs/theory/regions.md. Tests: tests/engine/loss/regions/test_find_regions.py.
"""

from __future__ import annotations

import math
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.hue import hue_turn
from firstsheet.engine.loss.regions.areas import LEAST_PERCENT, Area, Cells
from firstsheet.engine.loss.regions.cells import PrintedCells, WantedCells
from firstsheet.engine.loss.regions.masks import (
    FLAT_KEPT,
    NEUTRAL_CHROMA,
    NEUTRAL_SHIFT,
    SKIN_SHIFT,
    TURN_APART,
    TURN_DEGREES,
    VISIBLE_STEP_DE,
    colour_shift,
)
from firstsheet.engine.loss.regions.neutral import cast_words
from firstsheet.engine.loss.regions.separation import lightness_weight
from firstsheet.engine.loss.regions.words import region_words, share_words
from firstsheet.engine.naming import toward_words
from firstsheet.engine.records.losses import RegionKind, RegionLoss

__all__ = ["WORTH_RANK", "Cells", "End", "judged"]

WORTH_RANK: Final = 0.5  # per cent of the picture times visible steps; less is not worth a repair
_BROAD_DE: Final = 2.0  # spread of a smooth area, Delta E, that counts as modelling
_WIDE_DEGREES: Final = 1.0  # areas seen under less than this are overlooked in proportion
_SHARE: Final = 0.4  # of a region's area that must show a kind of loss
_LEAST_LOST: Final = 1.0  # visible steps

End = Literal["black", "paper-white"]


def judged(
    wanted: WantedCells, printed: PrintedCells, told: Area, *, end: End | None
) -> RegionLoss | None:
    """Judge one region; None where it prints at an end of the scale and holds nothing to lose.

    Figures are rounded here, once, so that plan, page and words say the same.

    Parameters
    ----------
    told
        The region's cells and its name.
    end
        Whether it prints as the paper's black or as bare paper.
    """
    cells, colour, place, pieces = told.cells, told.colour, told.place, told.pieces
    at = np.ravel_multi_index(cells, wanted.area.shape)
    area = wanted.area.ravel()[at]
    area_mm2 = float(area.sum())
    weight = area / area_mm2
    wanted_lab = wanted.lab.reshape(-1, 3).take(at, axis=0)
    printed_lab = printed.lab.reshape(-1, 3).take(at, axis=0)
    before, after = _mean(weight, wanted_lab), _mean(weight, printed_lab)
    kept, steps, lost_steps = _modelling(
        (_share(weight, wanted.steps, at), _share(weight, printed.steps, at)),
        (_spread(wanted_lab - before, before, weight), _spread(printed_lab - after, after, weight)),
    )
    turned, apart = hue_turn(
        *(_mean(weight, one.oklab.reshape(-1, 3).take(at, axis=0)) for one in (wanted, printed))
    )
    shift = after - before
    skin = 0.0
    de00 = _share(weight, printed.de00, at)
    kinds: list[tuple[float, RegionKind]] = []
    if lost_steps > 0.0:
        kinds.append((lost_steps, end or "flattened"))
    if end is None:
        if abs(float(turned)) >= TURN_DEGREES and float(apart) >= TURN_APART:
            kinds.append((float(apart) / TURN_APART, "hue"))
        if _share(weight, printed.cast, at) >= _SHARE:
            kinds.append((math.hypot(shift[1], shift[2]) / NEUTRAL_SHIFT, "neutral"))
        if _share(weight, printed.skin, at) >= _SHARE:
            skin = float(colour_shift(before, after))
            kinds.append((skin / SKIN_SHIFT, "skin-like"))
    elif not kinds:
        return None
    kinds.sort(key=lambda one: -one[0])
    lost = sum(size for size, _ in kinds)
    seen = _visibility(area_mm2, wanted.distance_mm)
    share = area_mm2 / wanted.whole_mm2 * 100.0
    rank = lost * share * seen
    hurt = lost >= _LEAST_LOST and rank >= WORTH_RANK and share >= LEAST_PERCENT
    said: tuple[RegionKind, ...] = tuple(kind for _, kind in kinds) if hurt else ("moved",)
    has_hue = float(apart) > 0.0 and math.hypot(before[1], before[2]) > 8.0
    turn, de00, share = round(float(turned), 2), round(de00, 3), round(share, 3)
    kept = None if kept is None else round(kept, 4)
    toward = toward_words(before.tolist(), turn) if "hue" in said else ""
    return RegionLoss(
        colour=colour,
        place=place,
        kinds=said,
        weight="caution" if hurt else "fine",
        pieces=pieces,
        area_percent=share,
        area_mm2=round(area_mm2, 1),
        box=_four(told.box),
        wanted_lab=_three(before),
        printed_lab=_three(after),
        mean_de00=de00,
        wanted_steps_de=round(steps, 3),
        modelling_kept=kept,
        hue_turn_degrees=turn if has_hue else None,
        hue_toward=toward,
        lost=round(lost, 3) if hurt else 0.0,
        visibility=round(seen, 3),
        rank=round(rank, 3) if hurt else 0.0,
        words=region_words(
            name=f"{colour}, {place}, {share_words(share)} of the picture{_in_pieces(pieces)}",
            kinds=said,
            modelling_kept=kept,
            turn_degrees=turn,
            toward=toward,
            moved_de00=de00,
            skin_shift=skin,
            cast_words=cast_words(float(shift[1]), float(shift[2])),
            neutral=math.hypot(before[1], before[2]) <= NEUTRAL_CHROMA,
        ),
    )


def _modelling(
    fine_steps: tuple[float, float], broad_steps: tuple[float, float]
) -> tuple[float | None, float, float]:
    """Share kept, size wanted, and how many visible steps are lost: fine drawing or broad form."""
    (fine, fine_printed), (broad, broad_printed) = fine_steps, broad_steps
    judged_by = []
    if fine >= VISIBLE_STEP_DE:
        lost = (fine - fine_printed) / VISIBLE_STEP_DE
        judged_by.append((fine_printed / fine, fine, lost))
    if broad >= _BROAD_DE:
        judged_by.append((broad_printed / broad, broad, (broad - broad_printed) / _BROAD_DE))
    if not judged_by:
        return None, fine, 0.0
    kept, size, lost = min(judged_by)
    return kept, size, lost if kept < FLAT_KEPT else 0.0


def _spread(
    away: NDArray[np.float64], mean: NDArray[np.float64], weight: NDArray[np.float64]
) -> float:
    """Root mean square distance from the mean, weighted as `step_levels` weighs."""
    light, a, b = mean.tolist()
    chroma = math.hypot(a, b)
    cosine, sine = (a / chroma, b / chroma) if chroma > 0.0 else (1.0, 0.0)
    for_chroma, for_hue = 1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma
    away_a, away_b = away[:, 1], away[:, 2]
    squares = np.square(away[:, 0] / lightness_weight(light))
    squares += np.square((away_a * cosine + away_b * sine) / for_chroma)
    squares += np.square((away_b * cosine - away_a * sine) / for_hue)
    return math.sqrt(float((squares * weight).sum()))


def _mean(weight: NDArray[np.float64], colours: NDArray[np.float64]) -> NDArray[np.float64]:
    mean: NDArray[np.float64] = np.einsum("n,nc->c", weight, colours)
    return mean


def _share(weight: NDArray[np.float64], plane: NDArray[Any], at: NDArray[np.intp]) -> float:
    """Weighted mean of a plane over some cells."""
    return float((plane.ravel()[at] * weight).sum())


def _in_pieces(pieces: int) -> str:
    return "" if pieces == 1 else f" in {pieces} pieces"


def _visibility(area_mm2: float, distance_mm: float) -> float:
    """1 for areas seen under a degree or more, in proportion below."""
    across = 2.0 * math.sqrt(area_mm2 / math.pi)
    degrees = math.degrees(2.0 * math.atan(0.5 * across / distance_mm))
    return min(1.0, degrees / _WIDE_DEGREES)


def _three(lab: NDArray[np.float64]) -> tuple[float, float, float]:
    lightness, a, b = (round(one, 2) for one in lab.tolist())
    return lightness, a, b


def _four(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    left, top, right, bottom = (round(one, 4) for one in box)
    return left, top, right, bottom
