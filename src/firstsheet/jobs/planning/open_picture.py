"""A picture lying on the table: opened once, planned as often as the wish changes.

Takes a ticket; keeps what does not change with it (rows, facts, the reduced picture, chains and
measurements by what they depend on), so that the page can plan again at once and the command
line goes the very same way.
"""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from firstsheet import __version__
from firstsheet.cms.chain import Chain, build_chain
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.loss.steps import StepsOnPaper, steps_findings
from firstsheet.engine.records import Intent, Stock, Ticket
from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.records.plan import (
    ColourPlan,
    Plan,
)
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.planning.cache import MeasurementCache, NotMeasuredError, kept_on_disk
from firstsheet.jobs.planning.colour import Colouring, colour_mode
from firstsheet.jobs.planning.colour_path import ColourPath
from firstsheet.jobs.planning.losses import Losses
from firstsheet.jobs.planning.parts import (
    crop_box,
    cut,
    mark_findings,
    regions_told,
    sha256,
    source_name,
)
from firstsheet.jobs.planning.regions import Regions
from firstsheet.jobs.planning.repair_base import repair_ground, without_repairs
from firstsheet.jobs.planning.repairs import repair_findings
from firstsheet.jobs.planning.steps import steps_through
from firstsheet.jobs.planning.ticket_source import Stamp, stock_for
from firstsheet.pixels.team import worker_count

if TYPE_CHECKING:
    from firstsheet.cms.link import PaperLink, SourceColour
    from firstsheet.files.reading.opening import OpenedPicture

__all__ = ["BOMB", "PROOF_LONG_SIDE_PX", "OpenPicture", "Prepared"]

BOMB = "decompression-bomb"  # the finding's code; answered with `open`
PROOF_LONG_SIDE_PX = 1500  # proof, loss map and loss figures share one reduced picture


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

    @property
    def dust_known(self) -> bool:
        """Whether dust was looked for; a plan without it is not the one that is made."""
        return self.plan.detail is not None and self.plan.detail.dust is not None


class OpenPicture:
    """One opened picture and everything remembered about it. Safe to use from several threads."""

    def __init__(self, opened: OpenedPicture, stamp: Stamp | None) -> None:
        self.opened, self.stamp = opened, stamp
        self._memory = MeasurementCache()
        self._stocks: dict[str, tuple[Stock, bytes, tuple[Stamp | None, Stamp | None]]] = {}

    @classmethod
    def open(cls, ticket: Ticket, *, progress: Progress, stop: StopCheck) -> OpenPicture:
        """Open the ticket's picture and look at every pixel once.

        Raises
        ------
        FirstsheetError
            As `files.reading.opening.open_picture`.
        """
        from firstsheet.files.reading.opening import open_picture

        stamp = Stamp.of(ticket.picture)
        opened = open_picture(
            Path(ticket.picture),
            page=ticket.page,
            background=ticket.background,
            read_as=ticket.colour.read_as,
            answers=ticket.answers,
            allow_bomb=ticket.answers.get(BOMB) == "open",
            keeper=kept_on_disk("measured"),
            progress=progress,
            stop=stop,
        )
        return cls(opened, stamp)

    def forget_pictures(self) -> None:
        """Let go of what only outputs need; it is made again when it is wanted again."""
        self._memory.forget_pictures()

    def close(self) -> None:
        """Let the picture go."""
        self.opened.close()

    def __enter__(self) -> OpenPicture:
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

        Dust is not looked for: it decides nothing, and needs every pixel of the picture.

        Raises
        ------
        FirstsheetError
            An error in the ticket, an unusable stock or profile, or the person's stop.
        """
        with ThreadPoolExecutor(1, thread_name_prefix="detail") as beside:
            detail = beside.submit(self._detail_but_dust, _silent, stop)
            return self._prepared(ticket, stocks_dir, progress, stop, arrays=True, detail=detail)

    def plan_from_cache(self, ticket: Ticket, *, stocks_dir: Path | None) -> Prepared | None:
        """Decide from what is remembered, in milliseconds; None where colour must be measured.

        The plan is the one `prepare` would make, but that dust may not be known yet (then
        `Plan.detail.dust` is None). Its `losses` arrays may be missing.

        Raises
        ------
        FirstsheetError
            A slip, or an unusable stock or profile.
        """
        try:
            with self._memory.only():
                return self._prepared(ticket, stocks_dir, _silent, _go_on, arrays=False, dust=False)
        except NotMeasuredError:
            return None

    def measure(
        self,
        ticket: Ticket,
        *,
        stocks_dir: Path | None,
        progress: Progress,
        stop: StopCheck,
        dust: bool = True,
    ) -> Prepared:
        """As `prepare`, without keeping the small pictures that only outputs need.

        Parameters
        ----------
        dust
            False does not wait for dust: it is told where it is known already.
        """
        return self._prepared(ticket, stocks_dir, progress, stop, arrays=False, dust=dust)

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

    def way(self, profile: bytes, intent: Intent, *, black_point: bool) -> ColourPath:
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
        from firstsheet.engine.planning import make_plan, size_and_sheet

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
        dust: bool = True,
        detail: Future[DetailFacts] | None = None,
    ) -> Prepared:
        from firstsheet.engine.planning import make_plan, size_and_sheet

        stock, paper_profile = self.stock(ticket.stock, stocks_dir)
        facts = self.opened.facts
        size, sheet, _ = size_and_sheet(ticket, facts, stock)
        reduced = self._reduced(paper_profile, progress, stop)
        box = crop_box(reduced, facts, size)
        colour = Colouring(
            opened=self.opened,
            ticket=ticket,
            stock=stock,
            paper=sha256(paper_profile),
            reduced=reduced,
            box=box,
            size=size,
            way=lambda intent, black_point: self._way(paper_profile, intent, black_point),
            memory=self._memory,
            progress=progress,
            stop=stop,
            arrays=arrays,
        ).result()
        held = self.detail(progress, stop, dust=dust) if detail is None else detail.result()
        steps = self._steps(paper_profile, colour.plan, held, stop)
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
                *repair_findings(ticket, colour.repairs, carried=colour.carried),
                *steps_findings(steps, size, ticket.place, surface=stock.surface),
            ),
            detail=held,
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
            without_repairs(ticket), stocks_dir=stocks_dir, progress=progress, stop=stop, dust=False
        )
        plan, stock = prepared.plan, prepared.plan.stock
        _, profile = self.stock(ticket.stock, stocks_dir)
        if plan.colour.mode == "as-is" or stock.facts is None:
            return ()
        reduced = self._reduced(profile, progress, stop)
        box = crop_box(reduced, self.opened.facts, plan.size)
        way = self._way(profile, plan.colour.intent, plan.colour.black_point)
        ground = repair_ground(way, stock, reduced, box, memory=self._memory, stop=stop)
        return ground.proposals(
            width_mm=plan.size.width_mm, distance_mm=plan.place.distance_mm, progress=progress
        )

    def detail(self, progress: Progress, stop: StopCheck, *, dust: bool = True) -> DetailFacts:
        """What the pixels truly hold; measured once.

        Parameters
        ----------
        dust
            False does not wait for dust: it is told where it is known already.
        """
        from firstsheet.jobs.planning.detail import with_dust

        def rest() -> DetailFacts:
            return self._detail_but_dust(progress, stop)

        if not dust:
            whole: DetailFacts | None = self._memory.known("detail")
            return whole or rest()
        return self._memory.once(
            "detail",
            lambda: with_dust(self.opened, rest, progress=progress, stop=stop),
            turn="dusting",
        )

    def _detail_but_dust(self, progress: Progress, stop: StopCheck) -> DetailFacts:
        from firstsheet.jobs.planning.detail import kept_detail

        return self._memory.once(
            "detail but dust",
            lambda: kept_detail(self.opened, progress=progress, stop=stop),
            turn="detail",
        )

    def _steps(
        self, profile: bytes, colour: ColourPlan, detail: DetailFacts, stop: StopCheck
    ) -> StepsOnPaper | None:
        """Gradients as the paper shows them; measured once for each way."""
        if colour.mode == "as-is":
            return None
        way = self._way(profile, colour.intent, colour.black_point)
        key = ("steps", sha256(profile), colour.intent, colour.black_point)
        return self._memory.once(key, lambda: steps_through(self.opened, detail, way, stop))

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

        return self._memory.once("reduced", work)

    def _way(self, profile: bytes, intent: Intent, black_point: bool) -> ColourPath:
        def work() -> ColourPath:
            chain = build_chain(
                source_profile=self.opened.profile_bytes,
                colour_model=self.opened.facts.colour_model,
                paper_profile=profile,
                intent=intent,
                black_point=black_point,
            )
            return ColourPath(chain)

        return self._memory.once(
            ("way", sha256(profile), intent, black_point), work, turn="chaining"
        )


def _silent(_doing: str, _share: float) -> None:
    """Nobody listens."""


def _go_on() -> None:
    """Nobody stops."""
