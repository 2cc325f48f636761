"""Work that takes its time, one piece after the other: making prints from drafts.

Takes draft names; gives job records that pages ask for and can stop. A job outlives the page
that began it. What a killed process leaves half made never has its final name
(`files.writing.folder`). Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import quote

from firstsheet.bench.answers import JobView, error_view
from firstsheet.bench.events import News, Pace
from firstsheet.engine.errors import FirstsheetError, StoppedError
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.answers import MadeAnswer

__all__ = ["Bout", "Task", "Works"]

Task = Callable[[Progress, StopCheck], MadeAnswer]


class Bout:
    """One piece of work and how far it is."""

    def __init__(self, draft_id: str, title: str, task: Task | None) -> None:
        self.id = secrets.token_hex(6)
        self.draft_id, self.title, self.task = draft_id, title, task
        self.parts: list[Bout] = []
        self.made: MadeAnswer | None = None
        self.view = JobView(job=self.id, draft=draft_id, title=title, state="waiting")
        self.stop_asked = False

    def update(self, **changes: object) -> None:
        """Take a new state."""
        self.view = self.view.model_copy(update=changes)


class Works:
    """Everything that was begun since the bench was started."""

    def __init__(self, news: News) -> None:
        self._news = news
        self._bouts: dict[str, Bout] = {}
        self._lock = threading.Lock()
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="making")
        self.px_per_second: float | None = None  # of this machine, once it has made a print
        self.on_made: Callable[[str, MadeAnswer], None] = lambda _draft, _made: None

    def close(self) -> None:
        """Stop what is under way; nothing half made is left."""
        with self._lock:
            for bout in self._bouts.values():
                bout.stop_asked = True
        self._pool.shutdown(wait=True, cancel_futures=True)

    def begin(self, draft_id: str, title: str, task: Task) -> str:
        """Begin one piece of work; gives its name."""
        bout = Bout(draft_id, title, task)
        self._add(bout)
        self._pool.submit(self._run, bout, bout)
        return bout.id

    def begin_all(self, pieces: list[tuple[str, str, Task]]) -> str:
        """Begin several, one after the other; one that fails does not stop the rest."""
        whole = Bout("", f"{len(pieces)} prints", None)
        whole.parts = [Bout(*piece) for piece in pieces]
        self._add(whole)
        for part in whole.parts:
            self._add(part)
        self._pool.submit(self._run_parts, whole)
        return whole.id

    def _add(self, bout: Bout) -> None:
        with self._lock:
            self._bouts[bout.id] = bout

    def get(self, job: str) -> JobView | None:
        """How far a piece of work is; None where there is none of that name."""
        bout = self._bouts.get(job)
        return None if bout is None else self._shown(bout)

    def all(self) -> tuple[JobView, ...]:
        """Everything begun, the last first, without the parts of a whole."""
        with self._lock:
            bouts = list(self._bouts.values())
        inside = {part.id for bout in bouts for part in bout.parts}
        return tuple(self._shown(one) for one in reversed(bouts) if one.id not in inside)

    def stop(self, job: str) -> JobView | None:
        """Ask a piece of work to stop; it leaves nothing half made."""
        bout = self._bouts.get(job)
        if bout is None:
            return None
        for one in (bout, *bout.parts):
            one.stop_asked = True
            if one.view.state == "waiting":
                one.update(state="stopped", words="Stopped before it began.")
        self._tell(bout)
        return self._shown(bout)

    def file(self, job: str, name: str) -> Path | None:
        """A file that this piece of work made."""
        bout = self._bouts.get(job)
        if bout is None or bout.made is None or name not in bout.made.files:
            return None
        path = Path(bout.made.folder) / name
        return path if path.is_file() else None

    # ---- running ---------------------------------------------------------------------------

    def _shown(self, bout: Bout) -> JobView:
        if not bout.parts:
            return bout.view
        return bout.view.model_copy(update={"parts": tuple(one.view for one in bout.parts)})

    def _tell(self, bout: Bout) -> None:
        view = self._shown(bout)
        self._news.tell(type="job", **view.model_dump(mode="json", include=_TOLD))

    def _run_parts(self, whole: Bout) -> None:
        whole.update(state="working")
        for done, part in enumerate(whole.parts):
            if not whole.stop_asked:
                whole.update(doing=part.title, share=done / len(whole.parts))
                self._run(part, whole, done / len(whole.parts), 1 / len(whole.parts))
        states = [one.view.state for one in whole.parts]
        good = states.count("done")
        failed = states.count("failed")
        words = f"{good} of {len(states)} made" + (f", {failed} could not be." if failed else ".")
        whole.update(
            state="stopped" if whole.stop_asked else "done", share=1.0, doing="", words=words
        )
        self._tell(whole)

    def _run(self, bout: Bout, told: Bout, begin: float = 0.0, width: float = 1.0) -> None:
        pace = Pace()

        def stop() -> None:
            if bout.stop_asked or told.stop_asked:
                raise StoppedError("It was stopped.", "Nothing half made is left.", "", "stopped")

        def progress(doing: str, share: float) -> None:
            bout.update(doing=doing, share=share)
            if told is not bout:
                told.update(share=begin + width * share)
            if pace.due():
                self._tell(told)

        if bout.view.state == "stopped" or bout.task is None:
            return
        bout.update(state="working")
        try:
            stop()
            made = bout.task(progress, stop)
        except StoppedError:
            bout.update(state="stopped", words="Stopped. Nothing half made is left.")
        except FirstsheetError as error:
            bout.update(state="failed", error=error_view(error), words=error.found)
        except Exception as error:  # a page must be told, whatever went wrong
            bout.update(state="failed", error=error_view(error), words=str(error))
        else:
            bout.made = made
            self.on_made(bout.draft_id, made)  # first: who sees it done may ask for it at once
            files = {name: f"/api/made/{bout.id}/{quote(name)}" for name in made.files}
            bout.update(
                state="done",
                share=1.0,
                doing="",
                folder=made.folder,
                files=files,
                words=f"Made in {made.seconds:.1f} s: {made.folder}",
                plan_digest=made.plan_digest,
            )
        self._tell(told)


_TOLD = {"job", "draft", "title", "state", "doing", "share", "words", "parts"}
