"""Making prints, as the bench does it: the very job of the command line, on a thread.

A part of `bench.bench.Bench`. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from firstsheet.bench.ask import pace_px_per_second
from firstsheet.bench.desk import Desk
from firstsheet.bench.drafts import Draft
from firstsheet.bench.work import Task
from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.answers import MadeAnswer

__all__ = ["Making"]


class Making(Desk):
    """From drafts to folders."""

    def __init__(self, places: Sequence[Path], **words: Any) -> None:
        super().__init__(places, **words)
        self.works.on_made = self._made

    def ticket_text(self, draft_id: str) -> str:
        """The ticket as the command line reads it."""
        from firstsheet.store.tickets import ticket_to_toml

        return ticket_to_toml(self.drafts.get(draft_id).ticket)

    def make(self, draft_id: str, folder: str, *, replace: bool) -> str:
        """Begin to make a draft's print; gives the job's name."""
        draft = self.drafts.get(draft_id)
        target = self.target(draft, folder)
        return self.works.begin(draft.id, draft.name, self._task(draft, target, replace=replace))

    def make_all(self, draft_ids: Sequence[str], *, replace: bool) -> str:
        """Begin to make several, one after the other."""
        pieces = []
        for draft_id in draft_ids:
            draft = self.drafts.get(draft_id)
            task = self._task(draft, self.target(draft, ""), replace=replace)
            pieces.append((draft.id, draft.name, task))
        return self.works.begin_all(pieces)

    def _task(self, draft: Draft, target: Path, *, replace: bool) -> Task:
        from firstsheet.files.writing.whole import write_whole
        from firstsheet.jobs.make import make_print
        from firstsheet.jobs.text import pretty_json

        source = self.state / "drafts" / draft.id / "wish.toml"
        write_whole(source, self.ticket_text(draft.id).encode("utf-8"))
        held = self.open_pictures.present(draft.id)
        with contextlib.suppress(FirstsheetError):
            if held is not None and held.table is not None:
                agreed = held.table.plan_from_cache(draft.ticket, stocks_dir=self.stocks_dir)
                if agreed is not None:  # what was looked at is what must be made
                    source = source.with_name("agreed.json")
                    write_whole(source, pretty_json(agreed.plan).encode("utf-8"))

        def task(progress: Progress, stop: StopCheck) -> MadeAnswer:
            with self.open_pictures.open_picture(draft.id, draft.ticket) as table:
                return make_print(
                    source,
                    {},
                    out=target,
                    replace=replace,
                    stocks_dir=self.stocks_dir,
                    progress=progress,
                    stop=stop,
                    reuse=table,
                )

        return task

    def _made(self, draft_id: str, made: MadeAnswer) -> None:
        """Remember where a print lies."""
        with contextlib.suppress(FirstsheetError):
            draft = self.drafts.get(draft_id)
            held = self.open_pictures.present(draft_id)
            if held is not None and held.table is not None:
                done = held.table.plan_from_cache(draft.ticket, stocks_dir=self.stocks_dir)
                if done is not None and done.plan.digest == made.plan_digest:
                    pace = pace_px_per_second(done.plan, made.seconds)
                    self.works.px_per_second = pace
            draft.made = made.folder
            self.drafts.save(draft)
            self.news.tell(type="list")
