"""The smallest repair of each place that loses: tried, measured, and told; never applied here.

Takes the regions of a picture on a paper; gives proposals with what each gains and what it moves
elsewhere. Theory: docs/theory/repairs.md. Tests: tests/engine/repair/test_propose_repairs.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.records import Record
from firstsheet.engine.regions.cells import WantedCells
from firstsheet.engine.regions.find import RegionMap, find_regions
from firstsheet.engine.regions.marks import TURN_DEGREES
from firstsheet.engine.regions.record import PictureLosses, RegionLoss
from firstsheet.engine.repair.field import field_of
from firstsheet.engine.repair.grid import apply_fields
from firstsheet.engine.repair.place import Needs, places_in_need, spread
from firstsheet.engine.repair.reach import Paper, Printed
from firstsheet.engine.repair.record import RepairField, RepairKind, RepairWish
from firstsheet.engine.repair.sample import RegionSample, sampled_region
from firstsheet.engine.repair.words import proposal_words

__all__ = ["KEPT_SHARE", "OUTSIDE_MAX", "OUTSIDE_MEAN", "RepairProposal", "propose_repairs"]

KEPT_SHARE: Final = 0.8  # of the wanted modelling; below 0.75 the judge calls it lost
OUTSIDE_MEAN: Final = 0.5  # Delta E00 on the print, over everything outside the region
OUTSIDE_MAX: Final = 1.5
_TRIES: Final = 5  # halvings of the strength: to a thirty-second
_LEAST_GAIN: Final = 0.1  # of what the place loses

Fields = Callable[[NDArray[Any], Sequence[RepairField]], NDArray[Any]]


class RepairProposal(Record):
    """One repair that was tried and helps."""

    wish: RepairWish
    region: int  # place in the losses' regions, from 1, as on the map of regions
    words: str  # which place
    sentence: str
    reached: bool  # whether the set share came back
    kept_before: float | None  # modelling, printed : wanted
    kept_after: float | None
    turn_before_degrees: float | None
    turn_after_degrees: float | None
    lost_before: float  # lost_total of the whole picture
    lost_after: float
    before_lab: tuple[float, float, float]  # mean printed colour of the place
    after_lab: tuple[float, float, float]
    outside_mean_de00: float  # moved on the print outside the place
    outside_max_de00: float


def propose_repairs(
    found: RegionMap,
    *,
    wanted: WantedCells,
    picture_lab: NDArray[Any],
    printed_lab: NDArray[Any],
    printed: Printed,
    floor_de00: float,
    black_l: float,
    most: int = 4,
    applied: Fields = apply_fields,
) -> tuple[RepairProposal, ...]:
    """Try a repair for each region that truly loses, most lost first.

    Parameters
    ----------
    found
        From `find_regions`, for the picture without repairs.
    wanted
        The picture's own side, without repairs.
    picture_lab, printed_lab
        (h, w, 3), what the picture means and what the paper shows of it.
    printed
        What the paper shows of any colours the picture means.
    floor_de00, black_l
        As for `find_regions`.
    most
        How many regions are tried.
    applied
        Puts fields on a picture; the reference unless a faster one is given.
    """
    paper, needs = Paper(printed), places_in_need(picture_lab, printed)
    minded = [at for at, one in enumerate(found.losses.regions, 1) if one.weight == "mind"]
    hurt = np.isin(found.labels, minded)
    proposals = []
    for number, region in enumerate(found.losses.regions[:most], start=1):
        kinds = _kinds(region)
        if region.weight != "mind" or not kinds:
            continue
        cells = found.labels == number
        sample = sampled_region(wanted, picture_lab, cells, region)
        for tried, enough in _candidates(kinds, region, sample, paper):
            place = sample.judged(tried, paper)
            if place.lost > (1.0 - _LEAST_GAIN) * region.lost:
                continue
            field = field_of(tried, paper, needs)
            shown, outside = _shown(
                field, needs, hurt, wanted, picture_lab, printed_lab, printed, applied
            )
            after = find_regions(wanted, shown, floor_de00=floor_de00, black_l=black_l).losses
            if _helps(region, found.losses, after, outside):
                proposals.append(
                    _proposal(tried, number, region, place, found.losses, after, outside, enough)
                )
                break
    return tuple(proposals)


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
) -> list[tuple[RepairWish, bool]]:
    """Wishes to try, and whether each reaches the set share.

    The kind that gives most back comes first, with the least strength that reaches the share,
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
    candidates = []
    for missed, _, wish in sorted(full, key=lambda one: one[:2]):
        least = wish if missed else _least(wish, region, sample, paper)
        half = least.model_copy(update={"strength": 0.5 * least.strength})
        candidates += [(least, not missed), (half, False)]
    return candidates


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


def _shown(
    field: RepairField,
    needs: Needs,
    hurt: NDArray[np.bool_],
    wanted: WantedCells,
    picture_lab: NDArray[Any],
    printed_lab: NDArray[Any],
    printed: Printed,
    applied: Fields,
) -> tuple[NDArray[Any], tuple[float, float]]:
    """The repaired print; mean and largest change where nothing is lost."""
    repaired = applied(picture_lab, (field,))
    changed = np.any(np.abs(repaired - picture_lab) > 0.005, axis=-1)
    shown = np.array(printed_lab)
    shown[changed] = printed(repaired[changed])
    side = wanted.cell_px
    told = np.repeat(np.repeat(spread(hurt, 1), side, 0), side, 1)
    height, width = changed.shape
    outside = ~(needs.near((height, width)) | told[:height, :width])
    moved = np.asarray(delta_e_2000(printed_lab[changed & outside], shown[changed & outside]))
    count = max(int(np.count_nonzero(outside)), 1)
    return shown, (float(moved.sum()) / count, float(moved.max(initial=0.0)))


def _helps(
    region: RegionLoss, before: PictureLosses, after: PictureLosses, outside: tuple[float, float]
) -> bool:
    """Whether less is lost, all told, and nothing else is moved that could be seen."""
    gained = before.lost_total - after.lost_total
    all_told = gained + before.moved_total - after.moved_total
    helps = min(gained, all_told) >= _LEAST_GAIN * region.rank
    return helps and outside[0] <= OUTSIDE_MEAN and outside[1] <= OUTSIDE_MAX


def _proposal(
    wish: RepairWish,
    number: int,
    region: RegionLoss,
    place: RegionLoss,
    before: PictureLosses,
    after: PictureLosses,
    outside: tuple[float, float],
    reached: bool,
) -> RepairProposal:
    return RepairProposal(
        wish=wish,
        region=number,
        words=f"{region.colour}, {region.place}",
        sentence=proposal_words(wish.kind, region, place, outside, reached),
        reached=reached,
        kept_before=region.modelling_kept,
        kept_after=place.modelling_kept,
        turn_before_degrees=region.hue_turn_degrees,
        turn_after_degrees=place.hue_turn_degrees,
        lost_before=before.lost_total,
        lost_after=after.lost_total,
        before_lab=region.printed_lab,
        after_lab=place.printed_lab,
        outside_mean_de00=outside[0],
        outside_max_de00=outside[1],
    )
