"""A picture lying on the table: opened once, planned as often as the wish changes.

Takes a ticket; keeps what does not change with it (rows, facts, the reduced picture, chains and
measurements by what they depend on), so that the page can plan again at once and the command
line goes the very same way.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Literal, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from firstsheet import __version__
from firstsheet.cms.chain import Chain, build_chain
from firstsheet.engine.bands import Progress, StopCheck
from firstsheet.engine.detail.verdict import DetailFacts
from firstsheet.engine.planrecord import (
    ColourPlan,
    IntentLoss,
    LossFacts,
    Plan,
    SizePlan,
)
from firstsheet.engine.printsteps import StepsOnPaper, steps_findings
from firstsheet.engine.records import Intent, PictureFacts, Stock, Ticket
from firstsheet.engine.repair.factrecord import RepairFacts
from firstsheet.engine.repair.record import RepairField
from firstsheet.jobs.losses import Losses, compare_intents, measure_losses
from firstsheet.jobs.plan_extras import steps_through
from firstsheet.jobs.repairs import lies_of, repair_findings
from firstsheet.jobs.source import Stamp, stock_for
from firstsheet.jobs.table_parts import (
    Box,
    crop_box,
    cut,
    intent_taken,
    mark_findings,
    regions_told,
    sha256,
    source_name,
    three,
)
from firstsheet.jobs.table_regions import Regions, RegionsSeen, see_regions, with_regions
from firstsheet.jobs.table_repairs import repair_ground, without_repairs
from firstsheet.jobs.threads import worker_count
from firstsheet.jobs.ways import RepairedWay, Way

if TYPE_CHECKING:
    from firstsheet.cms.link import LinkError, PaperLink, SourceColour
    from firstsheet.files.opening import OpenedPicture

__all__ = ["BOMB", "PROOF_LONG_SIDE_PX", "Mode", "Prepared", "Table", "colour_mode"]

BOMB = "decompression-bomb"  # the finding's code; answered with `open`
PROOF_LONG_SIDE_PX = 1500  # proof, loss map and loss figures share one reduced picture
_LINK_SAMPLES = 20_000  # colours of the picture on which the fast path is measured
_REMEMBERED = 48  # results kept for wishes that come back (undo, comparing papers)
_ARRAYS_REMEMBERED = 1  # of them, those that hold whole small pictures

Mode = Literal["paper", "keep", "as-is"]
Answer = TypeVar("Answer")


@dataclass(frozen=True, eq=False)
class Prepared:
    """A plan with what its outputs need: the opened picture and the colour chain."""

    plan: Plan
    opened: OpenedPicture
    chain: Chain
    source_colour: SourceColour
    link: PaperLink | None  # None where the print file is not converted for paper
    small: NDArray[np.float64]  # (h, w, c), encoded 0..1, upright and cropped, for proofs
    losses: Losses | None
    stamp: Stamp | None  # of the picture before it was opened
    regions: Regions | None = None  # where the plan's regions lie
    repairs: tuple[RepairField, ...] = ()  # the ticket's, ready for pixels


class _NotMeasured(Exception):  # noqa: N818  # a signal, not an error
    """Something would have to be measured first."""


@dataclass(frozen=True, eq=False)
class _Colour:
    plan: ColourPlan
    chain: Chain
    source: SourceColour
    link: PaperLink | None
    losses: Losses | None
    facts: LossFacts | None
    regions: Regions | None
    fields: tuple[RepairField, ...] = ()  # of the ticket's repairs
    repairs: tuple[RepairFacts, ...] = ()


def colour_mode(ticket: Ticket, facts: PictureFacts) -> Mode:
    """Say whether the print file is converted for paper, kept, or already converted.

    A file that carries a printer's profile is never converted again unless the person insists.
    Tagged CMYK is the exception: it cannot be printed on an RGB path as it is.
    """
    converted = facts.profile is not None and facts.profile.kind == "output"
    if converted and facts.colour_model != "cmyk" and not ticket.colour.convert_again:
        return "as-is"
    return "keep" if ticket.colour.keep else "paper"


class Table:
    """One opened picture and everything remembered about it. Safe to use from several threads."""

    def __init__(self, opened: OpenedPicture, stamp: Stamp | None) -> None:
        self.opened, self.stamp = opened, stamp
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()
        self._arrays: OrderedDict[Hashable, Any] = OrderedDict()
        self._memory = threading.Lock()  # held for moments only
        self._measuring = threading.RLock()  # one measurement at a time
        self._aside = threading.RLock()  # proposals take their time, and nothing waits for them
        self._chaining = threading.RLock()  # chains are quick, and must not wait for measuring
        self._stocks: dict[str, tuple[Stock, bytes, tuple[Stamp | None, Stamp | None]]] = {}
        self._here = threading.local()  # whether this thread may measure

    @classmethod
    def open(cls, ticket: Ticket, *, progress: Progress, stop: StopCheck) -> Table:
        """Open the ticket's picture and look at every pixel once.

        Raises
        ------
        FirstsheetError
            As `files.opening.open_picture`.
        """
        from firstsheet.files.opening import open_picture

        stamp = Stamp.of(ticket.picture)
        opened = open_picture(
            Path(ticket.picture),
            page=ticket.page,
            background=ticket.background,
            read_as=ticket.colour.read_as,
            answers=ticket.answers,
            allow_bomb=ticket.answers.get(BOMB) == "open",
            progress=progress,
            stop=stop,
        )
        return cls(opened, stamp)

    def forget_pictures(self) -> None:
        """Let go of what only outputs need; it is made again when it is wanted again."""
        with self._memory:
            self._arrays.clear()

    def close(self) -> None:
        """Let the picture go."""
        self.opened.close()

    def __enter__(self) -> Table:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def prepare(
        self,
        ticket: Ticket,
        *,
        stocks_dir: Path | None,
        progress: Progress,
        stop: StopCheck,
    ) -> Prepared:
        """Measure and decide; nothing is written.

        Raises
        ------
        FirstsheetError
            A slip, an unusable stock or profile, or the person's stop.
        """
        return self._prepared(ticket, stocks_dir, progress, stop, arrays=True)

    def at_once(self, ticket: Ticket, *, stocks_dir: Path | None) -> Prepared | None:
        """Decide from what is remembered, in milliseconds; None where colour must be measured.

        The plan is the one `prepare` would make. Its `losses` arrays may be missing.

        Raises
        ------
        FirstsheetError
            A slip, or an unusable stock or profile.
        """
        self._here.only_remembered = True
        try:
            return self._prepared(ticket, stocks_dir, _silent, _go_on, arrays=False)
        except _NotMeasured:
            return None
        finally:
            self._here.only_remembered = False

    def measure(
        self, ticket: Ticket, *, stocks_dir: Path | None, progress: Progress, stop: StopCheck
    ) -> Prepared:
        """As `prepare`, without keeping the small pictures that only outputs need."""
        return self._prepared(ticket, stocks_dir, progress, stop, arrays=False)

    def stock(self, name: str, stocks_dir: Path | None) -> tuple[Stock, bytes]:
        """A stock and its profile; read again only where one of its files was touched.

        Raises
        ------
        StockError
            If there is no such stock, or its profile is missing or has changed.
        """
        from firstsheet.store.stocks import stock_file

        path = stock_file(name, stocks_dir)
        held = self._stocks.get(name)
        if held is not None:
            stamps = (Stamp.of(path), Stamp.of(path.parent / held[0].profile_file))
            if stamps == held[2] and None not in stamps:
                return held[0], held[1]
        stock, profile = stock_for(name, stocks_dir)
        stamps = (Stamp.of(path), Stamp.of(path.parent / stock.profile_file))
        self._stocks[name] = (stock, profile, stamps)
        return stock, profile

    def way(self, profile: bytes, intent: Intent, *, black_point: bool) -> Way:
        """The picture's way onto a paper; made once."""
        return self._way(profile, intent, black_point and intent != "absolute")

    def reduced(self, ticket: Ticket, *, stocks_dir: Path | None) -> NDArray[np.float64]:
        """The whole picture, upright and small, codes 0..1; made once."""
        _, paper_profile = self.stock(ticket.stock, stocks_dir)
        return self._reduced(paper_profile, _silent, _go_on)

    def outline(self, ticket: Ticket, *, stocks_dir: Path | None) -> Plan:
        """Size, sheet and sharpening at once, while colour is still being measured.

        Not a plan to be made: it has no loss, and its digest is empty.

        Raises
        ------
        FirstsheetError
            A slip, or an unusable stock or profile.
        """
        from firstsheet.engine.plan import make_plan, size_and_sheet

        stock, _ = self.stock(ticket.stock, stocks_dir)
        facts = self.opened.facts
        size, sheet, _ = size_and_sheet(ticket, facts, stock)
        wished = ticket.colour.intent
        colour = ColourPlan(
            mode=colour_mode(ticket, facts),
            source_name=source_name(facts),
            source_profile_sha256=sha256(self.opened.profile_bytes),
            intent="relative" if wished == "auto" else wished,
            black_point=ticket.colour.black_point and wished != "absolute",
        )
        plan = make_plan(
            ticket=ticket,
            facts=facts,
            stock=stock,
            colour=colour,
            loss=None,
            version=__version__,
            extra_findings=mark_findings(ticket, size, sheet),
        )
        return plan.model_copy(update={"digest": ""})

    def _prepared(
        self,
        ticket: Ticket,
        stocks_dir: Path | None,
        progress: Progress,
        stop: StopCheck,
        *,
        arrays: bool,
    ) -> Prepared:
        from firstsheet.engine.plan import make_plan, size_and_sheet

        stock, paper_profile = self.stock(ticket.stock, stocks_dir)
        facts = self.opened.facts
        size, sheet, _ = size_and_sheet(ticket, facts, stock)
        reduced = self._reduced(paper_profile, progress, stop)
        box = crop_box(reduced, facts, size)
        colour = self._colour(
            ticket, stock, paper_profile, reduced, box, size, progress, stop, arrays
        )
        detail = self.detail(progress, stop)
        steps = self._steps(paper_profile, colour.plan, detail, stop)
        plan = make_plan(
            ticket=ticket,
            facts=facts,
            stock=stock,
            colour=colour.plan,
            loss=colour.facts,
            version=__version__,
            extra_findings=(
                *mark_findings(ticket, size, sheet),
                *regions_told(colour.regions),
                *repair_findings(ticket, colour.repairs, carried=_carried(colour)),
                *steps_findings(steps, size, ticket.place),
            ),
            detail=detail,
            regions=colour.regions.map.losses if colour.regions else None,
            repairs=colour.repairs,
        )
        return Prepared(
            plan,
            self.opened,
            colour.chain,
            colour.source,
            colour.link,
            cut(reduced, box),
            colour.losses,
            self.stamp,
            colour.regions,
            colour.fields,
        )

    def proposals(
        self, ticket: Ticket, *, stocks_dir: Path | None, progress: Progress, stop: StopCheck
    ) -> tuple[RepairFacts, ...]:
        """The smallest repairs of what this print truly loses, without those it has; measured once.

        Raises
        ------
        FirstsheetError
            As `prepare`.
        """
        prepared = self.measure(
            without_repairs(ticket), stocks_dir=stocks_dir, progress=progress, stop=stop
        )
        plan, stock = prepared.plan, prepared.plan.stock
        _, profile = self.stock(ticket.stock, stocks_dir)
        if plan.colour.mode == "as-is" or stock.facts is None:
            return ()
        reduced = self._reduced(profile, progress, stop)
        box = crop_box(reduced, self.opened.facts, plan.size)
        way = self._way(profile, plan.colour.intent, plan.colour.black_point)
        progress("Looking for repairs", 0.95)
        ground = repair_ground(way, stock, reduced, box, remember=self._once, stop=stop)
        return ground.proposals(width_mm=plan.size.width_mm, distance_mm=plan.place.distance_mm)

    def detail(self, progress: Progress, stop: StopCheck) -> DetailFacts:
        """What the pixels truly hold; measured once."""
        from firstsheet.jobs.detail import detail_of

        return self._once("detail", lambda: detail_of(self.opened, progress=progress, stop=stop))

    def _steps(
        self, profile: bytes, colour: ColourPlan, detail: DetailFacts, stop: StopCheck
    ) -> StepsOnPaper | None:
        """Gradients as the paper shows them; measured once for each way."""
        if colour.mode == "as-is":
            return None
        way = self._way(profile, colour.intent, colour.black_point)
        key = ("steps", sha256(profile), colour.intent, colour.black_point)
        return self._once(key, lambda: steps_through(self.opened, detail, way, stop))

    # ---- remembered ----------------------------------------------------------------------

    def _once(
        self,
        key: Hashable,
        work: Callable[[], Answer],
        *,
        whole_pictures: bool = False,
        quick: bool = False,
        aside: bool = False,
    ) -> Answer:
        kept = self._arrays if whole_pictures else self._kept
        with self._memory:
            if key in kept:
                kept.move_to_end(key)
                return cast(Answer, kept[key])
        if getattr(self._here, "only_remembered", False):
            raise _NotMeasured
        with self._aside if aside else self._chaining if quick else self._measuring:
            with self._memory:
                if key in kept:
                    return cast(Answer, kept[key])
            answer = work()
            with self._memory:
                kept[key] = answer
                most = _ARRAYS_REMEMBERED if whole_pictures else _REMEMBERED
                while len(kept) > most:
                    kept.popitem(last=False)
            return answer

    def _reduced(
        self, paper_profile: bytes, progress: Progress, stop: StopCheck
    ) -> NDArray[np.float64]:
        """The whole picture, upright, small; reduced in the light the print is reduced in."""
        from firstsheet.pixels.render import reduced_picture

        def work() -> NDArray[np.float64]:
            progress("Reducing for the proof", 0.0)
            facts = self.opened.facts
            return reduced_picture(
                self.opened.source,
                crop=(0.0, 0.0, float(facts.width_px), float(facts.height_px)),
                orientation=facts.orientation,
                long_side_px=PROOF_LONG_SIDE_PX,
                source_colour=self._way(paper_profile, "relative", True).source,
                progress=progress,
                stop=stop,
                threads=worker_count(),
            )

        return self._once("reduced", work)

    def _way(self, profile: bytes, intent: Intent, black_point: bool) -> Way:
        def work() -> Way:
            chain = build_chain(
                source_profile=self.opened.profile_bytes,
                colour_model=self.opened.facts.colour_model,
                paper_profile=profile,
                intent=intent,
                black_point=black_point,
            )
            return Way(chain)

        return self._once(("way", sha256(profile), intent, black_point), work, quick=True)

    def _colour(
        self,
        ticket: Ticket,
        stock: Stock,
        paper_profile: bytes,
        reduced: NDArray[np.float64],
        box: Box,
        size: SizePlan,
        progress: Progress,
        stop: StopCheck,
        arrays: bool,
    ) -> _Colour:
        from firstsheet.cms.link import measure_link

        assert stock.facts is not None
        facts, floor = self.opened.facts, stock.facts.floor_p99_de00
        mode, small = colour_mode(ticket, facts), cut(reduced, box)
        intents = self._intents(ticket, paper_profile, box, small, floor, progress, stop)
        seen: RegionsSeen | None = None
        if mode != "as-is":
            seen = see_regions(
                small,
                key=(sha256(paper_profile), ticket.colour.black_point),
                box=box,
                way_for=lambda one: self.way(
                    paper_profile, one, black_point=ticket.colour.black_point
                ),
                remember=self._once,
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
        way = self._way(paper_profile, intent, black_point)
        chain = way.chain
        one = (sha256(paper_profile), intent, black_point)
        key: tuple[Hashable, ...] = (one, box)
        link: PaperLink | None = None
        error: LinkError | None = None
        if mode == "paper":
            progress("Measuring the colour link", 0.5)
            link = way.link
            pixels = small.reshape(-1, small.shape[-1])
            sample = pixels[:: max(1, len(pixels) // _LINK_SAMPLES)]
            made = link
            error = self._once(("error", *key), lambda: measure_link(chain, made, sample))
        losses: Losses | None = None
        loss_facts: LossFacts | None = None
        ground = repair_ground(way, stock, reduced, box, remember=self._once, stop=stop)
        fields: tuple[RepairField, ...] = ()
        if mode != "as-is":
            progress("Measuring what the paper takes", 0.7)
            fields = ground.fields(ticket.repairs)
            through = RepairedWay(way, fields) if fields else way
            lies = lies_of(box, reduced.shape)

            def measured() -> Losses:
                return measure_losses(
                    small, through, floor_de00=floor, intents=intents, stop=stop, lies=lies
                )

            key = (*key, floor, intents, *(one.model_dump_json() for one in ticket.repairs))
            if arrays:
                losses = self._once(("losses", *key), measured, whole_pictures=True)
            loss_facts = self._once(("loss facts", *key), lambda: (losses or measured()).facts)
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
        return _Colour(plan, chain, way.source, link, losses, loss_facts, regions, fields, told)

    def _intents(
        self,
        ticket: Ticket,
        paper_profile: bytes,
        box: Box,
        small: NDArray[np.float64],
        floor_de00: float,
        progress: Progress,
        stop: StopCheck,
    ) -> tuple[IntentLoss, ...]:
        """The four intents side by side."""
        wished = ticket.colour.intent
        chosen: Intent = "relative" if wished == "auto" else wished
        black_point = ticket.colour.black_point

        def work() -> tuple[IntentLoss, ...]:
            progress("Comparing the intents", 0.2)
            return compare_intents(
                small,
                way_for=lambda intent: self._way(
                    paper_profile, intent, black_point and intent != "absolute"
                ),
                chosen=chosen,
                floor_de00=floor_de00,
                stop=stop,
            )

        key = ("intents", sha256(paper_profile), black_point, chosen, floor_de00, box)
        return self._once(key, work)


def _carried(colour: _Colour) -> bool:
    """Whether the print file can carry repairs."""
    kept = colour.plan.mode == "keep" and colour.source.kind == "curves"
    return colour.plan.mode == "paper" or kept


def _silent(_doing: str, _share: float) -> None:
    """Nobody listens."""


def _go_on() -> None:
    """Nobody stops."""
