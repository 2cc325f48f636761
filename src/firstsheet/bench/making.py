"""Making prints for a page: the job of the command line, on a thread.

Takes draft names; gives job names. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path

from firstsheet.bench.ask import pace_px_per_second
from firstsheet.bench.drafts import Draft
from firstsheet.bench.parts import BenchParts
from firstsheet.bench.work import Task
from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.answers import MadeAnswer

__all__ = ["PrintMaking"]


class PrintMaking:
    """From drafts to folders of prints."""

    def __init__(self, parts: BenchParts) -> None:
        self._parts = parts
        parts.works.on_made = self._made

    def ticket_text(self, draft_id: str) -> str:
        """The ticket as the command line reads it."""
        from firstsheet.store.tickets import ticket_to_toml

        return ticket_to_toml(self._parts.drafts.get(draft_id).ticket)

    def make(self, draft_id: str, folder: str, *, replace: bool) -> str:
        """Begin to make a draft's print; gives the job's name."""
        draft = self._parts.drafts.get(draft_id)
        target = self._parts.target(draft, folder)
        return self._parts.works.begin(
            draft.id, draft.name, self._task(draft, target, replace=replace)
        )

    def make_all(self, draft_ids: Sequence[str], *, replace: bool) -> str:
        """Begin to make several, one after the other."""
        pieces = []
        for draft_id in draft_ids:
            draft = self._parts.drafts.get(draft_id)
            task = self._task(draft, self._parts.target(draft, ""), replace=replace)
            pieces.append((draft.id, draft.name, task))
        return self._parts.works.begin_all(pieces)

    def _task(self, draft: Draft, target: Path, *, replace: bool) -> Task:
        from firstsheet.files.writing.whole import write_whole
        from firstsheet.jobs.make import make_print
        from firstsheet.jobs.text import pretty_json

        source = self._parts.state / "drafts" / draft.id / "wish.toml"
        write_whole(source, self.ticket_text(draft.id).encode("utf-8"))
        session = self._parts.open_pictures.present(draft.id)
        with contextlib.suppress(FirstsheetError):
            if session is not None and session.table is not None:
                agreed = session.table.plan_from_cache(
                    draft.ticket, stocks_dir=self._parts.stocks_dir
                )
                if agreed is not None:  # what was looked at is what must be made
                    source = source.with_name("agreed.json")
                    write_whole(source, pretty_json(agreed.plan).encode("utf-8"))

        def task(progress: Progress, stop: StopCheck) -> MadeAnswer:
            with self._parts.open_pictures.open_picture(draft.id, draft.ticket) as table:
                return make_print(
                    source,
                    {},
                    out=target,
                    replace=replace,
                    stocks_dir=self._parts.stocks_dir,
                    progress=progress,
                    stop=stop,
                    reuse=table,
                )

        return task

    def _made(self, draft_id: str, made: MadeAnswer) -> None:
        """Remember where a print lies."""
        with contextlib.suppress(FirstsheetError):
            draft = self._parts.drafts.get(draft_id)
            session = self._parts.open_pictures.present(draft_id)
            if session is not None and session.table is not None:
                done = session.table.plan_from_cache(
                    draft.ticket, stocks_dir=self._parts.stocks_dir
                )
                if done is not None and done.plan.digest == made.plan_digest:
                    pace = pace_px_per_second(done.plan, made.seconds)
                    self._parts.works.px_per_second = pace
            draft.made = made.folder
            self._parts.drafts.save(draft)
            self._parts.news.tell(type="list")
