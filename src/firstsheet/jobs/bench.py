"""The bench: everything the page can ask for, as plain calls.

One Bench is one running bench: allowed places, drafts, open pictures, work in progress. It knows
nothing of the web. The API built on it: docs/bench.md. Tests: tests/jobs/test_bench.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from firstsheet import __version__
from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.explain import figures
from firstsheet.engine.planrecord import Plan
from firstsheet.engine.records import Stock, Ticket
from firstsheet.jobs.bench_answers import (
    Option,
    PathEntry,
    Recent,
    Slip,
    StartAnswer,
    TileSet,
    View,
    slip_of,
)
from firstsheet.jobs.bench_drafts import Draft, DraftStore
from firstsheet.jobs.bench_events import News
from firstsheet.jobs.bench_open import OpenPictures
from firstsheet.jobs.bench_places import NotAllowedError, Places
from firstsheet.jobs.bench_sentence import sentence
from firstsheet.jobs.bench_tiles import Tile, tile_bytes, tile_sets
from firstsheet.jobs.bench_view import findings_shown, sheet_shown

__all__ = ["Bench", "state_folder"]

_WEIGHTS = ("stop", "mind", "fine")


def state_folder() -> Path:
    """Where drafts are kept: FIRSTSHEET_STATE, or the platform's place for state."""
    import os

    chosen = os.environ.get("FIRSTSHEET_STATE")
    if chosen:
        return Path(chosen) / "bench"
    from platformdirs import user_state_dir

    return Path(user_state_dir("firstsheet", appauthor=False)) / "bench"


class Bench:
    """One running bench."""

    def __init__(self, places: Sequence[Path], *, state: Path, stocks_dir: Path | None) -> None:
        self.state, self.stocks_dir = state, stocks_dir
        self.news = News()
        self.places = Places([*places, state / "uploads"])
        self._given = tuple(places)
        self.drafts = DraftStore(state)
        self.open_pictures = OpenPictures(self.news, stocks_dir)

    def close(self) -> None:
        """Put everything away."""
        self.open_pictures.close_all()

    # ---- start -----------------------------------------------------------------------------

    def start(self) -> StartAnswer:
        """What a page needs before anything is opened."""
        return StartAnswer(
            version=__version__,
            allowed=tuple(
                PathEntry(path=str(one), name=one.name or str(one), kind="folder")
                for one in self.places.roots
                if one != self.state / "uploads"
            ),
            recent=self.recent(),
            stocks=tuple(
                Option(value=name, text=stock.title) for name, stock in self.stocks().items()
            ),
        )

    def recent(self) -> tuple[Recent, ...]:
        """All drafts, the last opened first."""
        return tuple(
            Recent(
                id=one.id,
                name=one.name,
                title=one.name,
                verdict=one.verdict,
                weight=one.weight,
                made=one.made,
            )
            for one in self.drafts.all()
        )

    def stocks(self) -> Mapping[str, Stock]:
        """All stocks by name."""
        from firstsheet.store.stocks import load_stocks

        return load_stocks(self.stocks_dir)

    def paths(self, typed: str) -> tuple[PathEntry, ...]:
        """What a typed path could go on to."""
        return self.places.matches(typed)

    # ---- drafts ----------------------------------------------------------------------------

    def open(self, typed: str) -> str:
        """Begin with a picture or a ticket; gives the draft's name.

        Raises
        ------
        NotAllowedError
            If it lies outside the allowed folders.
        TicketSlipError
            If a ticket cannot be read.
        """
        from firstsheet.store.tickets import read_ticket

        path = self.places.real(typed)
        if path.is_dir():
            raise NotAllowedError(
                f"{path.name} is a folder.",
                "Nothing was opened.",
                "Choose a picture or a ticket in it.",
                "is-a-folder",
            )
        if path.suffix.lower() == ".toml":
            ticket = read_ticket(path)
            picture = self.places.real(ticket.picture.replace("/../", "/../"))
            ticket = ticket.model_copy(update={"picture": str(picture)})
        else:
            ticket = Ticket(picture=str(path), stock=next(iter(self.stocks())))
        draft = self.drafts.add(ticket, name=path.stem, origin=path)
        self.open_pictures.of(draft.id, draft.ticket)
        return draft.id

    def remove(self, draft_id: str) -> None:
        """Take a draft out of the list; pictures and prints are not touched."""
        self.open_pictures.close(draft_id)
        self.drafts.remove(draft_id)
        self.news.tell(type="list")

    def view(self, draft_id: str) -> View:
        """Everything a page shows of a draft, now."""
        draft = self.drafts.get(draft_id)
        return self._view(draft, {}, "")

    def set(self, draft_id: str, revision: int, changes: Mapping[str, str]) -> View:
        """Change lines of the ticket: all, or none where one is a slip."""
        from firstsheet.store.ticket_changes import changed_ticket

        draft = self.drafts.get(draft_id)
        clash = [key for key in changes if draft.changed_at.get(key, 0) > revision]
        if clash:
            slip = Slip(
                code="changed-meanwhile",
                found="This line was changed on another page in the meantime.",
                consequence="That change stands; yours was not taken.",
                choice="Look at it, then change it again if you still want to.",
            )
            return self._view(draft, dict.fromkeys(clash, slip), "")
        ticket, slips = changed_ticket(draft.ticket, changes)
        if slips:
            return self._view(draft, {key: slip_of(slip) for key, slip in slips.items()}, "")
        held = self.open_pictures.of(draft.id, draft.ticket)
        if held.table is not None:
            try:
                held.table.outline(ticket, stocks_dir=self.stocks_dir)
            except FirstsheetError as error:
                return self._view(draft, dict.fromkeys(changes, slip_of(error)), "")
        self.drafts.change(draft, ticket, changes)
        view = self._view(draft, {}, "")
        self.news.tell(type="draft", id=draft.id, revision=draft.revision)
        return view

    def step(self, draft_id: str, *, back: bool) -> View:
        """Undo or redo."""
        draft = self.drafts.get(draft_id)
        if self.drafts.step(draft, back=back):
            self.news.tell(type="draft", id=draft.id, revision=draft.revision)
        return self._view(draft, {}, "")

    # ---- tiles -----------------------------------------------------------------------------

    def tile(
        self, draft_id: str, kind: str, digest: str, place: tuple[int, int, int], suffix: str
    ) -> Tile | None:
        """One tile; None where there is none (any more)."""
        draft = self.drafts.get(draft_id)
        held = self.open_pictures.of(draft.id, draft.ticket)
        if held.table is None or suffix not in ("jpg", "png"):
            return None
        prepared = held.table.at_once(draft.ticket, stocks_dir=self.stocks_dir)
        if prepared is None:
            return None
        tiles = tile_sets(draft.id, prepared.plan).get(kind)
        if tiles is None or f"/{digest}/" not in tiles.url:
            return None
        return tile_bytes(held.table, prepared, kind, place, suffix)

    # ---- the view --------------------------------------------------------------------------

    def _view(self, draft: Draft, slips: Mapping[str, Slip], note: str) -> View:
        held = self.open_pictures.of(draft.id, draft.ticket)
        plan: Plan | None = None
        prepared = None
        error = held.slip
        state = held.state
        if held.table is not None:
            try:
                plan, prepared = self.open_pictures.plan(held, draft.ticket)
            except FirstsheetError as problem:
                error, state = slip_of(problem), "failed"
        measuring = plan is not None and prepared is None
        if plan is not None and not measuring:
            weights = {one.weight for one in plan.findings}
            weight = next((one for one in _WEIGHTS if one in weights), "fine")
            self.drafts.note(draft, verdict=plan.verdict, weight=weight)
        return View(
            id=draft.id,
            revision=draft.revision,
            name=draft.name,
            path=draft.ticket.picture,
            state=state,
            error=error,
            doing=held.doing,
            progress=held.share,
            measuring=measuring,
            sentence=sentence(
                draft.ticket, plan, self.stocks(), pages=plan.picture.pages if plan else 1
            ),
            sheet=sheet_shown(plan) if plan else None,
            findings=findings_shown(plan.findings) if plan else (),
            figures=figures(plan) if plan else (),
            verdict=plan.verdict if plan and not measuring else "",
            plan_digest=plan.digest if plan else "",
            tiles=self._tiles(draft, plan) if plan else {},
            undo=bool(draft.undo),
            redo=bool(draft.redo),
            slips=dict(slips),
            note=note or held.note,
        )

    def _tiles(self, draft: Draft, plan: Plan) -> dict[str, TileSet]:
        return tile_sets(draft.id, plan)
