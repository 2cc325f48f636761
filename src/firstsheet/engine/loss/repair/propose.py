"""The smallest repair of each place that loses: searched for and tried; never applied here.

Takes the regions of a picture on a paper, and a way to print it with a repair; gives wishes that
help, each with its print. What they gain is measured in `facts`. Theory: docs/theory/repairs.md.
Tests: tests/engine/loss/repair/test_propose_repairs.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.cells import WantedCells
from firstsheet.engine.loss.regions.find import RegionMap, find_regions
from firstsheet.engine.loss.regions.masks import TURN_DEGREES
from firstsheet.engine.loss.repair.elsewhere import away_from, moved_de00
from firstsheet.engine.loss.repair.reach import Paper
from firstsheet.engine.loss.repair.sample import RegionSample, sampled_region
from firstsheet.engine.records.losses import PictureLosses, RegionLoss
from firstsheet.engine.records.repair import RepairKind, RepairWish

__all__ = ["KEPT_SHARE", "OUTSIDE_MAX", "OUTSIDE_MEAN", "propose_repairs"]

KEPT_SHARE: Final = 0.8  # of the wanted modelling; below 0.75 the judge calls it lost
OUTSIDE_MEAN: Final = 0.5  # Delta E00 on the print, over everything outside the region
OUTSIDE_MAX: Final = 1.5
_TRIES: Final = 5  # halvings of the strength: to a thirty-second
_LEAST_GAIN: Final = 0.1  # of what the place loses

Shown = Callable[[RepairWish], NDArray[Any]]


def propose_repairs(
    found: RegionMap,
    *,
    wanted: WantedCells,
    picture_lab: NDArray[Any],
    printed_lab: NDArray[Any],
    paper: Paper,
    near: NDArray[np.bool_],
    shown: Shown,
    floor_de00: float,
    black_l: float,
    most: int = 4,
    watch: Callable[[float], None] = lambda _share: None,
) -> Iterator[tuple[RepairWish, NDArray[Any]]]:
    """Try a repair for each region that truly loses, most lost first; gives those that help.

    Parameters
    ----------
    found
        From `find_regions`, for the picture without repairs.
    wanted
        The picture's own side, without repairs.
    picture_lab, printed_lab
        (h, w, 3), what the picture means and what the paper shows of it.
    paper
        What the paper shows of any colours the picture means.
    near
        (h, w), pixels that lose something or lie beside such: `Needs.near`.
    shown
        (h, w, 3), what the paper shows of the picture with one repair.
    floor_de00, black_l
        As for `find_regions`.
    most
        How many regions are tried.
    watch
        Told before each trial how far the search is, 0 to 1; may raise to end it.

    Yields
    ------
    tuple
        A wish on the picture given, and its print.
    """
    minded = [at for at, one in enumerate(found.losses.regions, 1) if one.weight == "caution"]
    hurt = np.isin(found.labels, minded)
    outside = ~near & away_from(hurt, wanted.cell_px, near.shape)
    tried = min(most, len(found.losses.regions))
    for number, region in enumerate(found.losses.regions[:most], start=1):
        kinds = _kinds(region)
        if region.weight != "caution" or not kinds:
            continue
        sample = sampled_region(wanted, picture_lab, found.labels == number, region)
        for wish in _candidates(kinds, region, sample, paper):
            watch((number - 1) / tried)
            if sample.judged(wish, paper).lost > (1.0 - _LEAST_GAIN) * region.lost:
                continue
            repaired = shown(wish)
            if not _stays(printed_lab, repaired, outside):
                continue
            after = find_regions(wanted, repaired, floor_de00=floor_de00, black_l=black_l).losses
            if _helps(region, found.losses, after):
                yield wish, repaired
                break


def _kinds(region: RegionLoss) -> tuple[RepairKind, ...]:
    """Kinds worth trying, the likelier first."""
    light, a, b = region.wanted_lab
    if "paper-white" in region.kinds:
        return ("highlight",)
    if "black" in region.kinds:
        return ("shadow",)
    if not {"flattened", "hue"} & set(region.kinds):
        return ()
    if math.hypot(a, b) >= 15.0:
        return ("chroma", "shadow") if light < 40.0 else ("chroma",)
    return ("shadow", "chroma") if light < 50.0 else ("chroma", "highlight")


def _candidates(
    kinds: Sequence[RepairKind], region: RegionLoss, sample: RegionSample, paper: Paper
) -> Iterator[RepairWish]:
    """Wishes to try, each worked out when it is asked for.

    The kind that gives most back comes first, with the least strength that reaches the set share,
    or all of it; then half of that; then the same of the other kind.
    """
    full = []
    for kind in kinds:
        wish = RepairWish(
            kind=kind,
            box=region.box,
            lab=region.wanted_lab,
            reach=sample.reach if kind == "chroma" else sample.reach_l,
            strength=1.0,
        )
        told = sample.judged(wish, paper)
        full.append((not _reaches(told, region), told.lost, wish))
    for missed, _, wish in sorted(full, key=lambda one: one[:2]):
        least = wish if missed else _least(wish, region, sample, paper)
        yield least
        yield least.model_copy(update={"strength": 0.5 * least.strength})


def _least(full: RepairWish, region: RegionLoss, sample: RegionSample, paper: Paper) -> RepairWish:
    """The least strength that reaches the set share, by halving."""
    low, high = 0.0, 1.0
    for _ in range(_TRIES):
        middle = 0.5 * (low + high)
        told = sample.judged(full.model_copy(update={"strength": middle}), paper)
        low, high = (low, middle) if _reaches(told, region) else (middle, high)
    return full.model_copy(update={"strength": high})


def _reaches(tried: RegionLoss, before: RegionLoss) -> bool:
    if tried.modelling_kept is not None and tried.modelling_kept < KEPT_SHARE and tried.lost:
        return False
    turned = tried.hue_turn_degrees
    return "hue" not in before.kinds or turned is None or abs(turned) < TURN_DEGREES


def _stays(before: NDArray[Any], after: NDArray[Any], outside: NDArray[np.bool_]) -> bool:
    """Whether the print moves by little enough, on average and at most, where nothing is lost."""
    mean, most = moved_de00(before, after, outside)
    return mean <= OUTSIDE_MEAN and most <= OUTSIDE_MAX


def _helps(region: RegionLoss, before: PictureLosses, after: PictureLosses) -> bool:
    """Whether less is lost, all told."""
    gained = before.lost_total - after.lost_total
    all_told = gained + before.moved_total - after.moved_total
    return min(gained, all_told) >= _LEAST_GAIN * region.rank
