"""What the bench works out aside while a person looks: papers, repairs, the look from there.

Takes a picture that lies open and a wish; gives the answer once it is known and tells the pages
then. A new wish ends what an older one asked for. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from firstsheet.bench.events import News, Pace
from firstsheet.bench.session import BackgroundTask, PictureSession
from firstsheet.engine.errors import StoppedError
from firstsheet.engine.records import Ticket
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.streams import StopCheck
from firstsheet.jobs.answers import CompareAnswer
from firstsheet.jobs.planning.open_picture import OpenPicture, Prepared
from firstsheet.jobs.planning.repair_base import without_repairs
from firstsheet.pixels.team import let_by, stand_back

if TYPE_CHECKING:
    from firstsheet.jobs.planning.colour_path import ColourPath

__all__ = ["BackgroundTasks", "behind", "unheard"]

Answer = TypeVar("Answer")


class BackgroundTasks:
    """Answers that take their time, for all pictures that are open."""

    def __init__(self, news: News, stocks_dir: Path | None, state: Path) -> None:
        self._news, self._stocks_dir, self._state = news, stocks_dir, state
        self._lock = threading.Lock()
        self._pool = behind(1, "comparing")
        self._lookers = behind(1, "looking")

    def close(self) -> None:
        """End the threads."""
        for pool in (self._pool, self._lookers):
            pool.shutdown(wait=False, cancel_futures=True)

    def compared(
        self, session: PictureSession, ticket: Ticket, stocks: Hashable
    ) -> CompareAnswer | None:
        """All papers ranked for a wish; None while that is worked out, which news will tell."""
        key = (ticket.model_dump_json(exclude={"stock"}), ticket.stock, stocks)

        def work(table: OpenPicture, stop: StopCheck) -> CompareAnswer:
            from firstsheet.jobs.losses import papers_on

            return papers_on(
                table, ticket, stocks_dir=self._stocks_dir, progress=unheard, stop=stop
            )

        def ended(_answer: CompareAnswer | None) -> None:
            self._news.tell(type="compare", id=session.draft_id)

        return self._aside(session, session.compared, key, work, ended)

    def proposed(self, session: PictureSession, ticket: Ticket) -> tuple[RepairFacts, ...]:
        """The repairs proposed for a wish; none while they are looked for, which news will tell."""
        key = without_repairs(ticket).model_dump_json()

        def work(table: OpenPicture, stop: StopCheck) -> tuple[RepairFacts, ...]:
            return table.proposals(ticket, stocks_dir=self._stocks_dir, progress=unheard, stop=stop)

        def ended(found: tuple[RepairFacts, ...] | None) -> None:
            if found is None:
                session.proposed.answer = (key, ())  # not looked for again
            elif found:
                self._news.tell(type="draft", id=session.draft_id, revision=0)

        return self._aside(session, session.proposed, key, work, ended) or ()

    def look_from_there(self, session: PictureSession, prepared: Prepared, way: ColourPath) -> None:
        """Begin to make the look from the plan's distance, where that was not begun yet."""
        if session.looked.claim(prepared.plan):
            self._lookers.submit(self._look, session, prepared, way)

    def _look(self, session: PictureSession, prepared: Prepared, way: ColourPath) -> None:
        pace = Pace()

        def tell(share: float) -> None:
            if pace.due():
                self._news.tell(type="seen", id=session.draft_id, share=round(share, 3))

        with session.used() as alive:
            if alive and session.looked.make(
                prepared, way, self._state / "levels", tell=tell, stop=session.stop
            ):
                self._news.tell(type="draft", id=session.draft_id, revision=0)

    def _aside(
        self,
        session: PictureSession,
        slot: BackgroundTask[Answer],
        key: Hashable,
        work: Callable[[OpenPicture, StopCheck], Answer],
        ended: Callable[[Answer | None], None],
    ) -> Answer | None:
        """The answer to a wish, or None; `ended` is told then, None if it failed."""
        with self._lock:
            if slot.answer is not None and slot.answer[0] == key:
                return slot.answer[1]
            if slot.asked == key or session.table is None:
                return None
            slot.asked = key
        self._pool.submit(self._work_aside, session, slot, key, work, ended)
        return None

    def _work_aside(
        self,
        session: PictureSession,
        slot: BackgroundTask[Answer],
        key: Hashable,
        work: Callable[[OpenPicture, StopCheck], Answer],
        ended: Callable[[Answer | None], None],
    ) -> None:
        def stop() -> None:
            let_by()
            if session.given_up or slot.asked != key:
                raise StoppedError("Another wish came.", "Nothing was changed.", "", "stopped")

        answer: Answer | None = None
        try:
            with session.used() as alive:
                if not alive or session.table is None:
                    return
                answer = work(session.table, stop)
        except StoppedError:
            return
        except Exception as error:  # a page must be told, whatever went wrong
            session.note = str(error)
        else:
            slot.answer = (key, answer)
        finally:
            with self._lock:
                if slot.asked == key:
                    slot.asked = None
        ended(answer)


def behind(threads: int, name: str) -> ThreadPoolExecutor:
    """Threads for what is worked out while a person looks: tiles come first."""
    return ThreadPoolExecutor(threads, thread_name_prefix=name, initializer=stand_back)


def unheard(_doing: str, _share: float) -> None:
    """Nobody listens."""
