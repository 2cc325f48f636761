"""What is open on the bench: one picture on the table for each draft, opened and measured apart.

Takes drafts; gives their tables and plans, and tells the pages when something is ready. Work
that takes its time runs on threads of its own. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
import hashlib
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

from firstsheet.engine.bands import Progress, StopCheck
from firstsheet.engine.errors import FirstsheetError, QuestionError, StoppedError
from firstsheet.engine.planrecord import Plan
from firstsheet.engine.records import Ticket
from firstsheet.engine.repair.factrecord import RepairFacts
from firstsheet.jobs.answers import CompareAnswer
from firstsheet.jobs.bench_answers import Slip, slip_of
from firstsheet.jobs.bench_events import News
from firstsheet.jobs.bench_levels import Levels
from firstsheet.jobs.bench_seen import Looked
from firstsheet.jobs.bench_tiles import TileMaker
from firstsheet.jobs.source import Stamp, stock_for
from firstsheet.jobs.table import Prepared, Table
from firstsheet.jobs.table_repairs import without_repairs
from firstsheet.pixels.team import stand_back

if TYPE_CHECKING:
    from firstsheet.files.glance import Glance
    from firstsheet.jobs.ways import Way

__all__ = ["OpenPictures", "Opened", "glance_of", "picture_key", "picture_mark"]

_MOST_OPEN = 3
_TELL_SECONDS = 0.1
_GLANCE_PX = 900
Answer = TypeVar("Answer")


def picture_key(ticket: Ticket) -> Hashable:
    """What a picture must be opened again for."""
    answers = tuple(sorted(ticket.answers.items()))
    return ticket.picture, ticket.page, ticket.background, ticket.colour.read_as, answers


def picture_mark(ticket: Ticket) -> str:
    """Changes whenever a small picture of it would look otherwise; empty where it is gone."""
    try:
        changed = Path(ticket.picture).stat().st_mtime_ns
    except OSError:
        return ""
    return hashlib.sha256(repr((picture_key(ticket), changed)).encode()).hexdigest()[:16]


def glance_of(ticket: Ticket, *, long_side_px: int) -> Glance:
    """A first look at a ticket's picture.

    Raises
    ------
    FirstsheetError
        If it cannot be opened, or a question stands in the way.
    """
    from firstsheet.files.glance import glance_at

    over = ticket.answers.get("float-over-one")
    return glance_at(
        ticket.picture,
        long_side_px=long_side_px,
        page=ticket.page,
        background=ticket.background,
        read_as=ticket.colour.read_as,
        float_over_one="compress" if over == "compress" else "clip",
        upright=ticket.answers.get("orientation") != "ignore",
    )


class Aside(Generic[Answer]):
    """What is worked out aside for one wish at a time: the wish asked for, the last answer."""

    def __init__(self) -> None:
        self.asked: Hashable = None
        self.answer: tuple[Hashable, Answer] | None = None


class Opened:
    """One draft's picture: being opened, open, or why not."""

    def __init__(self, draft_id: str, key: Hashable, stamp: Stamp | None) -> None:
        self.draft_id, self.key, self.stamp = draft_id, key, stamp
        self.state: Literal["opening", "ready", "asking", "failed"] = "opening"
        self.doing, self.share = "", 0.0
        self.slip: Slip | None = None
        self.table: Table | None = None
        self.note = ""
        self.given_up = False
        self.measuring: Ticket | None = None
        self.maker: TileMaker | None = None
        self.glance: Glance | None = None
        self.compared: Aside[CompareAnswer] = Aside()  # papers, ranked
        self.proposed: Aside[tuple[RepairFacts, ...]] = Aside()  # repairs that would help
        self.looked = Looked()  # the look from where one stands
        self.mark = secrets.token_hex(4)  # of this opening, for addresses
        self._users = 0
        self._lock = threading.Lock()

    @contextlib.contextmanager
    def used(self) -> Iterator[bool]:
        """Keep the picture open while it is read; gives False where it is put away already."""
        with self._lock:
            alive = not self.given_up
            self._users += alive
        try:
            yield alive
        finally:
            if alive:
                with self._lock:
                    self._users -= 1
                self._close_if_unused()

    def put_away(self) -> None:
        """Close as soon as nobody reads any more."""
        with self._lock:
            self.given_up = True
        self._close_if_unused()

    def _close_if_unused(self) -> None:
        with self._lock:
            if not self.given_up or self._users:
                return
            table, maker, self.table, self.maker = self.table, self.maker, None, None
        self.looked.close()
        if maker is not None:
            maker.levels.close()
        if table is not None:
            table.close()

    def stop(self) -> None:
        """Stop the opening when nobody waits for it any more."""
        if self.given_up:
            raise StoppedError("It was put away.", "Nothing was changed.", "", "stopped")


class OpenPictures:
    """All pictures that are open now."""

    def __init__(self, news: News, stocks_dir: Path | None, state: Path) -> None:
        self._news, self._stocks_dir, self._state = news, stocks_dir, state
        self._open: OrderedDict[str, Opened] = OrderedDict()
        self._lock = threading.RLock()
        self._openers = ThreadPoolExecutor(2, thread_name_prefix="opening")
        self._levellers = _behind(1, "levels")
        self._measurers = _behind(2, "measuring")
        self._asides = _behind(1, "comparing")
        self._lookers = _behind(1, "looking")

    def of(self, draft_id: str, ticket: Ticket) -> Opened:
        """The draft's picture; begins to open it where it is not open as the ticket wants it."""
        key = picture_key(ticket)
        with self._lock:
            held = self._open.get(draft_id)
            note = ""
            if held is not None and held.key == key:
                self._open.move_to_end(draft_id)
                if held.state == "opening" or not self._changed(held, ticket):
                    return held
                note = "The picture was changed on disk, so it was opened again."
            if held is not None:
                self._put_away(held)
            held = Opened(draft_id, key, Stamp.of(ticket.picture))
            held.note = note
            self._open[draft_id] = held
            while len(self._open) > _MOST_OPEN:
                self._put_away(next(iter(self._open.values())))
            self._openers.submit(self._run, held, ticket)
            return held

    def _changed(self, held: Opened, ticket: Ticket) -> bool:
        return Stamp.of(ticket.picture) != held.stamp

    def present(self, draft_id: str) -> Opened | None:
        """The draft's picture as far as it is open; nothing is begun."""
        with self._lock:
            return self._open.get(draft_id)

    @contextlib.contextmanager
    def lying(self, draft_id: str, ticket: Ticket) -> Iterator[Table | None]:
        """The table on which a draft's picture lies, kept open meanwhile; None if it does not."""
        held = self.present(draft_id)
        if held is None or held.key != picture_key(ticket):
            yield None
            return
        with held.used() as alive:
            try:
                yield held.table if alive else None
            finally:
                if alive and held.table is not None:
                    held.table.forget_pictures()

    def compared(self, held: Opened, ticket: Ticket, stocks: Hashable) -> CompareAnswer | None:
        """All papers ranked for a wish; None while that is worked out, which news will tell."""
        key = (ticket.model_dump_json(exclude={"stock"}), ticket.stock, stocks)

        def work(table: Table, stop: StopCheck) -> CompareAnswer:
            from firstsheet.jobs.losses_regions import papers_on

            return papers_on(
                table, ticket, stocks_dir=self._stocks_dir, progress=_unheard, stop=stop
            )

        def ended(_answer: CompareAnswer | None) -> None:
            self._news.tell(type="compare", id=held.draft_id)

        return self._aside(held, held.compared, key, work, ended)

    def proposed(self, held: Opened, ticket: Ticket) -> tuple[RepairFacts, ...]:
        """The repairs proposed for a wish; none while they are looked for, which news will tell."""
        key = without_repairs(ticket).model_dump_json()

        def work(table: Table, stop: StopCheck) -> tuple[RepairFacts, ...]:
            return table.proposals(
                ticket, stocks_dir=self._stocks_dir, progress=_unheard, stop=stop
            )

        def ended(found: tuple[RepairFacts, ...] | None) -> None:
            if found is None:
                held.proposed.answer = (key, ())  # not looked for again
            elif found:
                self._news.tell(type="draft", id=held.draft_id, revision=0)

        return self._aside(held, held.proposed, key, work, ended) or ()

    def look_from_there(self, held: Opened, prepared: Prepared, way: Way) -> None:
        """Begin to make the look from the plan's distance, where that was not begun yet."""
        if held.looked.claim(prepared.plan.digest):
            self._lookers.submit(self._look, held, prepared, way)

    def _look(self, held: Opened, prepared: Prepared, way: Way) -> None:
        told = 0.0

        def tell(share: float) -> None:
            nonlocal told
            now = time.monotonic()
            if now - told > _TELL_SECONDS:
                told = now
                self._news.tell(type="seen", id=held.draft_id, share=round(share, 3))

        with held.used() as alive:
            if alive and held.looked.make(
                prepared, way, self._state / "levels", tell=tell, stop=held.stop
            ):
                self._news.tell(type="draft", id=held.draft_id, revision=0)

    def _aside(
        self,
        held: Opened,
        slot: Aside[Answer],
        key: Hashable,
        work: Callable[[Table, StopCheck], Answer],
        ended: Callable[[Answer | None], None],
    ) -> Answer | None:
        """The answer to a wish, or None; `ended` is told then, None if it failed."""
        with self._lock:
            if slot.answer is not None and slot.answer[0] == key:
                return slot.answer[1]
            if slot.asked == key or held.table is None:
                return None
            slot.asked = key
        self._asides.submit(self._work_aside, held, slot, key, work, ended)
        return None

    def _work_aside(
        self,
        held: Opened,
        slot: Aside[Answer],
        key: Hashable,
        work: Callable[[Table, StopCheck], Answer],
        ended: Callable[[Answer | None], None],
    ) -> None:
        def stop() -> None:
            if held.given_up or slot.asked != key:
                raise StoppedError("Another wish came.", "Nothing was changed.", "", "stopped")

        answer: Answer | None = None
        try:
            with held.used() as alive:
                if not alive or held.table is None:
                    return
                answer = work(held.table, stop)
        except StoppedError:
            return
        except Exception as error:  # a page must be told, whatever went wrong
            held.note = str(error)
        else:
            slot.answer = (key, answer)
        finally:
            with self._lock:
                if slot.asked == key:
                    slot.asked = None
        ended(answer)

    def close(self, draft_id: str) -> None:
        """Put one picture away."""
        with self._lock:
            held = self._open.get(draft_id)
            if held is not None:
                self._put_away(held)

    def close_all(self) -> None:
        """Put all away and end the threads."""
        with self._lock:
            for held in list(self._open.values()):
                self._put_away(held)
        for pool in (
            self._openers,
            self._levellers,
            self._measurers,
            self._asides,
            self._lookers,
        ):
            pool.shutdown(wait=False, cancel_futures=True)

    def _put_away(self, held: Opened) -> None:
        self._open.pop(held.draft_id, None)
        held.put_away()

    # ---- opening ---------------------------------------------------------------------------

    def _run(self, held: Opened, ticket: Ticket) -> None:
        told = 0.0

        def progress(doing: str, share: float) -> None:
            nonlocal told
            held.doing, held.share = doing, share
            now = time.monotonic()
            if now - told > _TELL_SECONDS:
                told = now
                self._news.tell(type="opening", id=held.draft_id, doing=doing, share=share)

        with held.used() as alive:
            if alive and self._opened(held, ticket, progress):
                self._news.tell(type="draft", id=held.draft_id, revision=0)
                self._levellers.submit(self._look_closer, held, ticket)
                return
        if not held.given_up:
            self._news.tell(type="draft", id=held.draft_id, revision=0)

    def _opened(self, held: Opened, ticket: Ticket, progress: Progress) -> bool:
        """Open the picture; says whether it could be."""
        with contextlib.suppress(Exception):  # opening itself says what is wrong
            held.glance = glance_of(ticket, long_side_px=_GLANCE_PX)
            self._news.tell(type="draft", id=held.draft_id, revision=0)
        try:
            table = Table.open(ticket, progress=progress, stop=held.stop)
            way = table.way(self._some_profile(ticket), "relative", black_point=True)
        except StoppedError:
            return False
        except FirstsheetError as error:
            held.slip = slip_of(error)
            held.state = "asking" if isinstance(error, QuestionError) else "failed"
            return False
        except Exception as error:  # a page must be told, whatever went wrong
            held.slip, held.state = slip_of(error), "failed"
            return False
        folder = self._state / "levels"
        held.maker = TileMaker(held.draft_id, Levels(table.opened, way.source, folder))
        held.table, held.state = table, "ready"
        return True

    def _some_profile(self, ticket: Ticket) -> bytes:
        """A paper's profile to begin with: the ticket's, or any where that one is gone."""
        from firstsheet.store.stocks import builtin_names

        try:
            return stock_for(ticket.stock, self._stocks_dir)[1]
        except FirstsheetError:
            return stock_for(builtin_names()[0], self._stocks_dir)[1]

    def _look_closer(self, held: Opened, ticket: Ticket) -> None:
        """Reduce the picture, then make the coarser levels, while the page is looked at."""
        with held.used() as alive:
            if alive:
                self._make_levels(held, ticket)

    def _make_levels(self, held: Opened, ticket: Ticket) -> None:
        assert held.table is not None
        assert held.maker is not None
        try:
            reduced = held.table.reduced(ticket, stocks_dir=self._stocks_dir)
            held.maker.levels.keep_small(reduced)
            self._news.tell(type="draft", id=held.draft_id, revision=0)
            held.maker.levels.build(held.stop)
        except (FirstsheetError, OSError):
            return  # tiles are made on the spot then
        self._news.tell(type="tiles", id=held.draft_id)

    # ---- planning --------------------------------------------------------------------------

    def plan(self, held: Opened, ticket: Ticket) -> tuple[Plan, Prepared | None]:
        """The plan at once; where colour must be measured, its outline, and the rest follows.

        Raises
        ------
        FirstsheetError
            A slip, or an unusable stock.
        """
        table = held.table
        assert table is not None
        prepared = table.at_once(ticket, stocks_dir=self._stocks_dir)
        if prepared is not None:
            return prepared.plan, prepared
        plan = table.outline(ticket, stocks_dir=self._stocks_dir)
        with self._lock:
            if held.measuring != ticket:
                held.measuring = ticket
                self._measurers.submit(self._measure, held, ticket)
        return plan, None

    def _measure(self, held: Opened, ticket: Ticket) -> None:
        def stop() -> None:
            if held.given_up or held.measuring != ticket:
                raise StoppedError("Another wish came.", "Nothing was changed.", "", "stopped")

        try:
            with held.used() as alive:
                if not alive or held.table is None:
                    return
                held.table.measure(
                    ticket, stocks_dir=self._stocks_dir, progress=_unheard, stop=stop
                )
        except StoppedError:
            return
        except Exception as error:  # a page must be told, whatever went wrong
            held.slip = slip_of(error)
        finally:
            with self._lock:
                if held.measuring == ticket:
                    held.measuring = None
        if not held.given_up:
            self._news.tell(type="draft", id=held.draft_id, revision=0)


def _behind(threads: int, name: str) -> ThreadPoolExecutor:
    """Threads for what is worked out while a person looks: tiles come first."""
    return ThreadPoolExecutor(threads, thread_name_prefix=name, initializer=stand_back)


def _unheard(_doing: str, _share: float) -> None:
    """Nobody listens."""
