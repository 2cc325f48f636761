"""What is open on the bench: one picture on the table for each draft, opened and measured apart.

Takes drafts; gives their tables and plans, and tells the pages when something is ready. Work
that takes its time runs on threads of its own. Tests: tests/jobs/test_bench.py.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Literal

from firstsheet.engine.errors import FirstsheetError, QuestionError, StoppedError
from firstsheet.engine.planrecord import Plan
from firstsheet.engine.records import Ticket
from firstsheet.jobs.bench_answers import Slip, slip_of
from firstsheet.jobs.bench_events import News
from firstsheet.jobs.source import Stamp
from firstsheet.jobs.table import Prepared, Table

__all__ = ["OpenPictures", "Opened", "picture_key"]

_MOST_OPEN = 3
_TELL_SECONDS = 0.1


def picture_key(ticket: Ticket) -> Hashable:
    """What a picture must be opened again for."""
    answers = tuple(sorted(ticket.answers.items()))
    return ticket.picture, ticket.page, ticket.background, ticket.colour.read_as, answers


class Opened:
    """One draft's picture: being opened, open, or why not."""

    def __init__(self, draft_id: str, key: Hashable) -> None:
        self.draft_id, self.key = draft_id, key
        self.state: Literal["opening", "ready", "asking", "failed"] = "opening"
        self.doing, self.share = "", 0.0
        self.error: FirstsheetError | None = None
        self.slip: Slip | None = None
        self.table: Table | None = None
        self.note = ""
        self.given_up = False
        self.measuring: Ticket | None = None

    def stop(self) -> None:
        """Stop the opening when nobody waits for it any more."""
        if self.given_up:
            raise StoppedError("It was put away.", "Nothing was changed.", "", "stopped")


class OpenPictures:
    """All pictures that are open now."""

    def __init__(self, news: News, stocks_dir: Path | None) -> None:
        self._news, self._stocks_dir = news, stocks_dir
        self._open: OrderedDict[str, Opened] = OrderedDict()
        self._lock = threading.RLock()
        self._openers = ThreadPoolExecutor(2, thread_name_prefix="opening")
        self._measurers = ThreadPoolExecutor(2, thread_name_prefix="measuring")
        self.on_close: Callable[[Opened], None] = lambda _: None

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
            held = Opened(draft_id, key)
            held.note = note
            self._open[draft_id] = held
            while len(self._open) > _MOST_OPEN:
                self._put_away(next(iter(self._open.values())))
            self._openers.submit(self._run, held, ticket)
            return held

    def _changed(self, held: Opened, ticket: Ticket) -> bool:
        now = Stamp.of(ticket.picture)
        if held.table is None:
            return (
                held.state == "failed"
                and now is not None
                and held.slip is not None
                and (held.slip.code in ("not-found", "no-such-file"))
            )
        return now != held.table.stamp

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
        self._openers.shutdown(wait=False, cancel_futures=True)
        self._measurers.shutdown(wait=False, cancel_futures=True)

    def _put_away(self, held: Opened) -> None:
        held.given_up = True
        self._open.pop(held.draft_id, None)
        self.on_close(held)
        if held.table is not None:
            held.table.close()

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

        try:
            table = Table.open(ticket, progress=progress, stop=held.stop)
        except FirstsheetError as error:
            held.error, held.slip = error, slip_of(error)
            held.state = "asking" if isinstance(error, QuestionError) else "failed"
        except Exception as error:  # a page must be told, whatever went wrong
            held.slip, held.state = slip_of(error), "failed"
        else:
            with self._lock:
                if held.given_up:
                    table.close()
                    return
                held.table, held.state = table, "ready"
        if not held.given_up:
            self._news.tell(type="draft", id=held.draft_id, revision=0)

    # ---- planning --------------------------------------------------------------------------

    def plan(self, held: Opened, ticket: Ticket) -> tuple[Plan, Prepared | None]:
        """The plan at once; where colour must be measured, its outline, and the rest follows.

        Raises
        ------
        FirstsheetError
            A slip, or an unusable stock.
        """
        assert held.table is not None
        prepared = held.table.at_once(ticket, stocks_dir=self._stocks_dir)
        if prepared is not None:
            return prepared.plan, prepared
        plan = held.table.outline(ticket, stocks_dir=self._stocks_dir)
        with self._lock:
            if held.measuring != ticket:
                held.measuring = ticket
                self._measurers.submit(self._measure, held, ticket)
        return plan, None

    def _measure(self, held: Opened, ticket: Ticket) -> None:
        def stop() -> None:
            if held.given_up or held.measuring != ticket:
                raise StoppedError("Another wish came.", "Nothing was changed.", "", "stopped")

        assert held.table is not None
        try:
            held.table.measure(
                ticket, stocks_dir=self._stocks_dir, progress=lambda *_: None, stop=stop
            )
        except StoppedError:
            return
        except FirstsheetError as error:
            held.slip = slip_of(error)
        except Exception as error:  # a page must be told, whatever went wrong
            held.slip = slip_of(error)
        finally:
            with self._lock:
                if held.measuring == ticket:
                    held.measuring = None
        if not held.given_up:
            self._news.tell(type="draft", id=held.draft_id, revision=0)
