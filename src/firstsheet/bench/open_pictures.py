"""What is open on the bench: one picture on the table for each draft, opened and measured apart.

Takes drafts; gives their tables and plans, and tells the pages when something is ready. Work
that takes its time runs on threads of its own. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
import threading
from collections import OrderedDict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from firstsheet.bench.answers import ErrorView, error_view
from firstsheet.bench.background import BackgroundTasks, behind, unheard
from firstsheet.bench.events import News, Pace
from firstsheet.bench.levels import Levels
from firstsheet.bench.session import PictureSession, glance_of, picture_key
from firstsheet.bench.tiles import TileMaker
from firstsheet.engine.errors import FirstsheetError, QuestionError, StoppedError
from firstsheet.engine.records import Ticket
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.streams import Progress
from firstsheet.jobs.planning.open_picture import OpenPicture, Prepared
from firstsheet.jobs.planning.ticket_source import Stamp, stock_for
from firstsheet.pixels.team import let_by

__all__ = ["OpenPictures"]

_MOST_OPEN = 3
_GLANCE_PX = 900


class OpenPictures:
    """All pictures that are open now."""

    def __init__(self, news: News, stocks_dir: Path | None, state: Path) -> None:
        self._news, self._stocks_dir, self._state = news, stocks_dir, state
        self._open: OrderedDict[str, PictureSession] = OrderedDict()
        self._lock = threading.RLock()
        self._openers = ThreadPoolExecutor(2, thread_name_prefix="opening")
        self._levellers = behind(1, "levels")
        self._measurers = behind(2, "measuring")
        self._dusters = behind(1, "dusting")
        self.background = BackgroundTasks(news, stocks_dir, state)

    def of(self, draft_id: str, ticket: Ticket) -> PictureSession:
        """The draft's picture; begins to open it where it is not open as the ticket wants it."""
        key = picture_key(ticket)
        with self._lock:
            session = self._open.get(draft_id)
            note = ""
            if session is not None and session.key == key:
                self._open.move_to_end(draft_id)
                if session.state == "opening" or not self._changed(session, ticket):
                    return session
                if Path(ticket.picture).is_file():
                    note = "The picture was changed on disk, so it was opened again."
            if session is not None:
                self._put_away(session)
            session = PictureSession(draft_id, key, Stamp.of(ticket.picture))
            session.note = note
            self._open[draft_id] = session
            while len(self._open) > _MOST_OPEN:
                self._put_away(next(iter(self._open.values())))
            self._openers.submit(self._run, session, ticket)
            return session

    def _changed(self, session: PictureSession, ticket: Ticket) -> bool:
        return Stamp.of(ticket.picture) != session.stamp

    def present(self, draft_id: str) -> PictureSession | None:
        """The draft's picture as far as it is open; nothing is begun."""
        with self._lock:
            return self._open.get(draft_id)

    @contextlib.contextmanager
    def open_picture(self, draft_id: str, ticket: Ticket) -> Iterator[OpenPicture | None]:
        """The table on which a draft's picture lies, kept open meanwhile; None if it does not."""
        session = self.present(draft_id)
        if session is None or session.key != picture_key(ticket):
            yield None
            return
        with session.used() as alive:
            try:
                yield session.table if alive else None
            finally:
                if alive and session.table is not None:
                    session.table.forget_pictures()

    def close(self, draft_id: str) -> None:
        """Put one picture away."""
        with self._lock:
            session = self._open.get(draft_id)
            if session is not None:
                self._put_away(session)

    def close_all(self) -> None:
        """Put all away and end the threads."""
        with self._lock:
            for session in list(self._open.values()):
                self._put_away(session)
        self.background.close()
        for pool in (self._openers, self._levellers, self._measurers, self._dusters):
            pool.shutdown(wait=False, cancel_futures=True)

    def _put_away(self, session: PictureSession) -> None:
        self._open.pop(session.draft_id, None)
        session.put_away()

    # ---- opening ---------------------------------------------------------------------------

    def _run(self, session: PictureSession, ticket: Ticket) -> None:
        pace = Pace()

        def progress(doing: str, share: float) -> None:
            session.doing, session.share = doing, share
            if pace.due():
                self._news.tell(type="opening", id=session.draft_id, doing=doing, share=share)

        with session.used() as alive:
            if alive and self._opened(session, ticket, progress):
                self._news.tell(type="draft", id=session.draft_id, revision=0)
                self._levellers.submit(self._look_closer, session, ticket)
                return
        if not session.given_up:
            self._news.tell(type="draft", id=session.draft_id, revision=0)

    def _opened(self, session: PictureSession, ticket: Ticket, progress: Progress) -> bool:
        """Open the picture; says whether it could be."""
        with contextlib.suppress(Exception):  # opening itself says what is wrong
            session.glance = glance_of(ticket, long_side_px=_GLANCE_PX)
            self._news.tell(type="draft", id=session.draft_id, revision=0)
        try:
            table = OpenPicture.open(ticket, progress=progress, stop=session.stop)
            way = table.way(self._some_profile(ticket), "relative", black_point=True)
        except StoppedError:
            return False
        except FirstsheetError as error:
            session.slip = error_view(error)
            session.state = "asking" if isinstance(error, QuestionError) else "failed"
            return False
        except Exception as error:  # a page must be told, whatever went wrong
            session.slip, session.state = error_view(error), "failed"
            return False
        folder = self._state / "levels"
        session.maker = TileMaker(session.draft_id, Levels(table.opened, way.source, folder))
        session.table, session.state = table, "ready"
        return True

    def _some_profile(self, ticket: Ticket) -> bytes:
        """A paper's profile to begin with: the ticket's, or any where that one is gone."""
        from firstsheet.store.stocks import builtin_names

        try:
            return stock_for(ticket.stock, self._stocks_dir)[1]
        except FirstsheetError:
            return stock_for(builtin_names()[0], self._stocks_dir)[1]

    def _look_closer(self, session: PictureSession, ticket: Ticket) -> None:
        """Make the coarser levels, then look for dust, while the page is looked at."""
        with session.used() as alive:
            if alive:
                self._make_levels(session, ticket)
        self._dusters.submit(self._look_for_dust, session)

    def _make_levels(self, session: PictureSession, ticket: Ticket) -> None:
        assert session.table is not None
        assert session.maker is not None
        try:
            reduced = session.table.reduced(ticket, stocks_dir=self._stocks_dir)
            session.maker.levels.keep_small(reduced)
            self._news.tell(type="draft", id=session.draft_id, revision=0)
            session.maker.levels.build(session.stop)  # lets no tile by: tiles wait for these
        except (FirstsheetError, OSError):
            return  # tiles are made on the spot then
        self._news.tell(type="tiles", id=session.draft_id)

    def _look_for_dust(self, session: PictureSession) -> None:
        """Every pixel is looked at, so nothing else waits for it."""

        def stop() -> None:
            let_by()
            session.stop()

        try:
            with session.used() as alive:
                if not alive or session.table is None:
                    return
                session.table.detail(unheard, stop)
        except StoppedError:
            return
        except Exception as error:  # a page must be told, whatever went wrong
            session.note = str(error)
        self._news.tell(type="draft", id=session.draft_id, revision=0)

    # ---- planning --------------------------------------------------------------------------

    def plan(self, session: PictureSession, ticket: Ticket) -> tuple[Plan, Prepared | None]:
        """The plan at once; where colour must be measured, its outline, and the rest follows.

        Raises
        ------
        FirstsheetError
            A slip, or an unusable stock.
        """
        table = session.table
        assert table is not None
        prepared = table.plan_from_cache(ticket, stocks_dir=self._stocks_dir)
        if prepared is not None:
            return prepared.plan, prepared
        plan = table.outline(ticket, stocks_dir=self._stocks_dir)
        with self._lock:
            if self.why_unmeasured(session, ticket) is None and session.measuring != ticket:
                session.measuring = ticket
                self._measurers.submit(self._measure, session, ticket)
        return plan, None

    def why_unmeasured(self, session: PictureSession, ticket: Ticket) -> ErrorView | None:
        """Why a wish could not be measured; None where it can, or is being measured."""
        failed = session.unmeasured
        return failed[1] if failed is not None and failed[0] == ticket else None

    def _measure(self, session: PictureSession, ticket: Ticket) -> None:
        def stop() -> None:
            let_by()
            if session.given_up or session.measuring != ticket:
                raise StoppedError("Another wish came.", "Nothing was changed.", "", "stopped")

        try:
            with session.used() as alive:
                if not alive or session.table is None:
                    return
                session.table.measure(
                    ticket,
                    stocks_dir=self._stocks_dir,
                    progress=unheard,
                    stop=stop,
                    dust=False,
                )
        except StoppedError:
            return
        except Exception as error:  # a page must be told, and it is not tried without end
            session.unmeasured = (ticket, error_view(error))
        finally:
            with self._lock:
                if session.measuring == ticket:
                    session.measuring = None
        if not session.given_up:
            self._news.tell(type="draft", id=session.draft_id, revision=0)
