"""One draft's picture on the bench: what it was opened for, its state, and who still reads it.

Takes a ticket; keeps table, tiles and what was worked out aside until nobody reads any more.
Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
import hashlib
import secrets
import threading
from collections.abc import Hashable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

from firstsheet.bench.answers import ErrorView
from firstsheet.bench.tiles import TileMaker
from firstsheet.bench.viewing import ViewingPreview
from firstsheet.engine.errors import StoppedError
from firstsheet.engine.records import Ticket
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.jobs.answers import CompareAnswer
from firstsheet.jobs.planning.open_picture import OpenPicture
from firstsheet.jobs.planning.ticket_source import Stamp

if TYPE_CHECKING:
    from firstsheet.files.reading.glance import Glance

__all__ = ["BackgroundTask", "PictureSession", "glance_of", "picture_key", "picture_mark"]

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
    from firstsheet.files.reading.glance import glance_at

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


class BackgroundTask(Generic[Answer]):
    """What is worked out aside for one wish at a time: the wish asked for, the last answer."""

    def __init__(self) -> None:
        self.asked: Hashable = None
        self.answer: tuple[Hashable, Answer] | None = None


class PictureSession:
    """One draft's picture: being opened, open, or why not."""

    def __init__(self, draft_id: str, key: Hashable, stamp: Stamp | None) -> None:
        self.draft_id, self.key, self.stamp = draft_id, key, stamp
        self.state: Literal["opening", "ready", "asking", "failed"] = "opening"
        self.doing, self.share = "", 0.0
        self.slip: ErrorView | None = None
        self.table: OpenPicture | None = None
        self.note = ""
        self.given_up = False
        self.measuring: Ticket | None = None
        self.unmeasured: tuple[Ticket, ErrorView] | None = None  # a wish that could not be measured
        self.maker: TileMaker | None = None
        self.glance: Glance | None = None
        self.compared: BackgroundTask[CompareAnswer] = BackgroundTask()  # papers, ranked
        self.proposed: BackgroundTask[tuple[RepairFacts, ...]] = (
            BackgroundTask()
        )  # repairs that would help
        self.looked = ViewingPreview()  # the look from where one stands
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
