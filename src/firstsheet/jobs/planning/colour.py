"""Colour for one wish on the table: intent, chain, losses, regions and repairs.

Takes what lies on the table and where results are remembered; gives the plan's colour part and
what its outputs need. Tests: with the table, tests/jobs/, tests/web/.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.chain import Chain
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.records import Intent, PictureFacts, Stock, Ticket
from firstsheet.engine.records.plan import ColourPlan, IntentLoss, LossFacts, SizePlan
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.planning.cache import MeasurementCache
from firstsheet.jobs.planning.colour_path import ColourPath, RepairedPath
from firstsheet.jobs.planning.losses import Losses, compare_intents, measure_losses
from firstsheet.jobs.planning.parts import Box, cut, intent_taken, sha256, source_name, three
from firstsheet.jobs.planning.regions import Regions, RegionsSeen, see_regions, with_regions
from firstsheet.jobs.planning.repair_base import repair_ground
from firstsheet.jobs.planning.repairs import printed_fraction

if TYPE_CHECKING:
    from firstsheet.cms.link import LinkError, PaperLink, SourceColour
    from firstsheet.files.reading.opening import OpenedPicture

__all__ = ["Coloured", "Colouring", "Mode", "colour_mode"]

_LINK_SAMPLES = 20_000  # colours of the picture on which the fast path is measured

Mode = Literal["paper", "keep", "as-is"]


def colour_mode(ticket: Ticket, facts: PictureFacts) -> Mode:
    """Say whether the print file is converted for paper, kept, or already converted.

    A file that carries a printer's profile is never converted again unless the person insists.
    Tagged CMYK is the exception: it cannot be printed on an RGB path as it is.
    """
    converted = facts.profile is not None and facts.profile.kind == "output"
    if converted and facts.colour_model != "cmyk" and not ticket.colour.convert_again:
        return "as-is"
    return "keep" if ticket.colour.keep else "paper"


@dataclass(frozen=True, eq=False)
class Coloured:
    """Colour decided: the plan's part, the chain, and what was measured through it."""

    plan: ColourPlan
    chain: Chain
    source: SourceColour
    link: PaperLink | None
    losses: Losses | None
    facts: LossFacts | None
    regions: Regions | None
    fields: tuple[RepairField, ...] = ()  # of the ticket's repairs
    repairs: tuple[RepairFacts, ...] = ()

    @property
    def carried(self) -> bool:
        """Whether the print file can carry repairs."""
        kept = self.plan.mode == "keep" and self.source.kind == "curves"
        return self.plan.mode == "paper" or kept


@dataclass(frozen=True, eq=False)
class Colouring:
    """One wish, and the small picture its colour is measured on."""

    opened: OpenedPicture
    ticket: Ticket
    stock: Stock
    paper: str  # SHA-256 of the paper's profile
    reduced: NDArray[np.float64]  # the whole picture, upright
    box: Box  # the printed part of it
    size: SizePlan
    way: Callable[[Intent, bool], ColourPath]  # onto the paper, by intent and black point
    memory: MeasurementCache
    progress: Progress
    stop: StopCheck
    arrays: bool  # whether the small pictures that outputs need are kept

    def _way_for(self, intent: Intent) -> ColourPath:
        return self.way(intent, self.ticket.colour.black_point and intent != "absolute")

    def result(self) -> Coloured:
        """Measure what is not remembered, and decide."""
        from firstsheet.cms.link import measure_link

        ticket, stock, once = self.ticket, self.stock, self.memory.once
        reduced, box, size, stop = self.reduced, self.box, self.size, self.stop
        assert stock.facts is not None
        facts, floor = self.opened.facts, stock.facts.floor_p99_de00
        mode, small = colour_mode(ticket, facts), cut(reduced, box)
        intents = self._intents(small, floor)
        seen: RegionsSeen | None = None
        if mode != "as-is":
            seen = see_regions(
                small,
                key=(self.paper, ticket.colour.black_point),
                box=box,
                way_for=self._way_for,
                memory=self.memory,
                intents=intents,
                also=None if ticket.colour.intent == "auto" else ticket.colour.intent,
                floor_de00=floor,
                mm_per_px=size.width_mm / small.shape[1],
                distance_mm=ticket.place.distance_mm,
                title=stock.title,
                stop=stop,
            )
        intent = intent_taken(ticket, intents, seen)
        black_point = ticket.colour.black_point and intent != "absolute"
        way = self._way_for(intent)
        chain = way.chain
        one = (self.paper, intent, black_point)
        key: tuple[Hashable, ...] = (one, box)
        link: PaperLink | None = None
        error: LinkError | None = None
        if mode == "paper":
            self.progress("Measuring the colour link", 0.5)
            link = way.link
            pixels = small.reshape(-1, small.shape[-1])
            sample = pixels[:: max(1, len(pixels) // _LINK_SAMPLES)]
            made = link
            error = once(("error", *key), lambda: measure_link(chain, made, sample))
        losses: Losses | None = None
        loss_facts: LossFacts | None = None
        ground = repair_ground(way, stock, reduced, box, memory=self.memory, stop=stop)
        fields: tuple[RepairField, ...] = ()
        if mode != "as-is":
            self.progress("Measuring what the paper takes", 0.7)
            fields = ground.fields(ticket.repairs)
            through = RepairedPath(way, fields) if fields else way
            lies = printed_fraction(box, reduced.shape)

            def measured() -> Losses:
                return measure_losses(
                    small, through, floor_de00=floor, intents=intents, stop=stop, lies=lies
                )

            key = (*key, floor, intents, *(one.model_dump_json() for one in ticket.repairs))
            if self.arrays:
                losses = once(("losses", *key), measured, whole_pictures=True)
            loss_facts = once(("loss facts", *key), lambda: (losses or measured()).facts)
        plan = ColourPlan(
            mode=mode,
            source_name=source_name(facts),
            source_profile_sha256=sha256(self.opened.profile_bytes),
            intent=intent,
            black_point=black_point,
            source_black_xyz=three(chain.source_black_xyz),
            paper_black_xyz=three(chain.paper_black_xyz),
            link=link.words if link is not None else "",
            link_mean_de00=round(error.mean, 6) if error is not None else 0.0,
            link_p99_de00=round(error.p99, 6) if error is not None else 0.0,
            link_max_de00=round(error.max, 6) if error is not None else 0.0,
            paper_white_device=chain.paper_white_device,
        )
        if loss_facts is not None and seen is not None:
            loss_facts = with_regions(loss_facts, seen)
        regions = seen.by_intent[intent] if seen is not None else None
        told: tuple[RepairFacts, ...] = ()
        if fields and regions is not None:
            told, repaired = ground.facts(
                ticket.repairs, width_mm=size.width_mm, distance_mm=ticket.place.distance_mm
            )
            regions = replace(regions, map=repaired)
        return Coloured(plan, chain, way.source, link, losses, loss_facts, regions, fields, told)

    def _intents(self, small: NDArray[np.float64], floor_de00: float) -> tuple[IntentLoss, ...]:
        """The four intents side by side."""
        wished = self.ticket.colour.intent
        chosen: Intent = "relative" if wished == "auto" else wished

        def work() -> tuple[IntentLoss, ...]:
            self.progress("Comparing the intents", 0.2)
            return compare_intents(
                small,
                way_for=self._way_for,
                chosen=chosen,
                floor_de00=floor_de00,
                stop=self.stop,
            )

        key = ("intents", self.paper, self.ticket.colour.black_point, chosen, floor_de00, self.box)
        return self.memory.once(key, work)
