"""The regions of a picture on a table: measured once for each intent, seen from any distance.

Takes what the table remembers; gives the losses the plan holds, and which intent loses least of
this very picture, by the rule that `compare` goes by. Theory: docs/theory/regions.md.
Tests: tests/jobs/test_plan_regions.py.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.cells import wanted_seen
from firstsheet.engine.loss.regions.find import RegionMap, regions_seen
from firstsheet.engine.loss.regions.neutral import FileTone, GreyAxis, file_tone, grey_axis
from firstsheet.engine.loss.regions.planes import (
    PrintedPlanes,
    WantedPlanes,
    printed_planes,
    wanted_planes,
)
from firstsheet.engine.loss.regions.ranking import (
    SAME_DE00,
    USUAL,
    PaperLoss,
    Trial,
    best_usual,
    intent_words,
    rank_papers,
)
from firstsheet.engine.loss.regions.separation import eye_scales
from firstsheet.engine.records import Intent
from firstsheet.engine.records.plan import IntentLoss, LossFacts
from firstsheet.engine.streams import StopCheck
from firstsheet.jobs.planning.cache import MeasurementCache
from firstsheet.jobs.planning.colour_path import ColourPath
from firstsheet.jobs.planning.losses import greys_through

__all__ = ["Regions", "RegionsSeen", "see_regions", "with_regions"]


@dataclass(frozen=True, eq=False)
class Regions:
    """The regions of one prepared print, with its greys."""

    map: RegionMap
    tone: FileTone
    axis: GreyAxis


@dataclass(frozen=True, eq=False, kw_only=True)
class RegionsSeen:
    """The intents that matter, ranked by what this picture loses, from where it is seen."""

    by_intent: Mapping[Intent, Regions]
    ranked: tuple[PaperLoss, ...]
    recommended: Intent
    recommendation: str


@dataclass(frozen=True, eq=False)
class _Side:
    wanted: WantedPlanes
    tone: FileTone


@dataclass(frozen=True, eq=False)
class _Printed:
    planes: PrintedPlanes
    axis: GreyAxis


def see_regions(
    small: NDArray[Any],
    *,
    key: Hashable,
    box: Hashable,
    way_for: Callable[[Intent], ColourPath],
    memory: MeasurementCache,
    intents: Sequence[IntentLoss],
    also: Intent | None,
    floor_de00: float,
    mm_per_px: float,
    distance_mm: float,
    title: str,
    stop: StopCheck,
) -> RegionsSeen:
    """Measure what was not measured yet, and see it from the distance.

    Parameters
    ----------
    small
        (h, w, c), encoded 0..1, upright and cropped as it will print.
    key, box
        What the ways depend on, and the small picture.
    way_for
        The way of an intent, as the ticket's black point wish has it.
    memory
        Does work once; where nothing may be measured it raises instead.
    intents
        The four side by side; those that print as relative does are not measured again.
    also
        An intent that is wished for, besides the two that are proposed.
    title
        Of the stock.
    """
    height, width = small.shape[:2]
    scales = eye_scales(
        mm_per_px=mm_per_px, distance_mm=distance_mm, long_side_px=max(height, width)
    )
    side = memory.once(
        ("wanted planes", box, scales.shrink),
        lambda: _wanted(small, way_for("relative"), scales.shrink, stop),
    )
    cells = wanted_seen(side.wanted, scales, mm_per_px=mm_per_px, distance_mm=distance_mm)
    alike = {
        one.intent
        for one in intents
        if one.intent != "relative"
        and one.differs_from_relative_max_de00 is not None
        and one.differs_from_relative_max_de00 <= SAME_DE00
    }
    wished = dict.fromkeys((*USUAL, *(() if also is None else (also,))))
    by_intent: dict[Intent, Regions] = {}
    for intent in wished:
        if intent in alike and intent != also:
            by_intent[intent] = by_intent["relative"]
            continue
        printed = memory.once(
            ("printed planes", key, box, scales.shrink, intent),
            partial(_printed, small, side.wanted, way_for(intent), stop),
        )
        found = regions_seen(cells, printed.planes, floor_de00=floor_de00)
        by_intent[intent] = Regions(found, side.tone, printed.axis)
    trials = [
        Trial(
            stock="",
            title=title,
            intent=intent,
            losses=one.map.losses,
            same_as="relative" if intent in alike else None,
        )
        for intent, one in by_intent.items()
    ]
    ranked = rank_papers(trials)
    best = best_usual(ranked)
    return RegionsSeen(
        by_intent=by_intent,
        ranked=ranked,
        recommended=best.intent,
        recommendation=intent_words(ranked),
    )


def _wanted(small: NDArray[Any], way: ColourPath, shrink: int, stop: StopCheck) -> _Side:
    stop()
    wanted = way.wanted_lab(small, stop)
    return _Side(wanted_planes(wanted, shrink), file_tone(wanted))


def _printed(
    small: NDArray[Any], wanted: WantedPlanes, way: ColourPath, stop: StopCheck
) -> _Printed:
    stop()
    meant, greys = greys_through(small.shape[-1], way, stop)
    planes = printed_planes(
        wanted, way.printed_lab(small, stop), black_l=float(np.min(greys[:, 0]))
    )
    return _Printed(planes, grey_axis(meant, greys))


def with_regions(loss: LossFacts, seen: RegionsSeen) -> LossFacts:
    """The facts of the whole picture, its intents compared by what the regions truly lose."""
    ranked = {one.intent: one for one in seen.ranked}
    intents = tuple(
        one.model_copy(
            update={
                "truly_lost_percent": ranked[one.intent].hurt_percent,
                "lost_total": ranked[one.intent].lost_total,
                "place": ranked[one.intent].place,
                "reason": ranked[one.intent].reason,
            }
        )
        if one.intent in ranked
        else one
        for one in loss.intents
    )
    return loss.model_copy(
        update={
            "intents": intents,
            "recommended": seen.recommended,
            "recommendation": seen.recommendation,
        }
    )
