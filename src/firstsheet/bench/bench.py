"""The bench: everything the page can ask for, as plain calls.

One Bench is one running bench: allowed places, drafts, open pictures, work in progress. It knows
nothing of the web. The API built on it: docs/bench.md. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from firstsheet import __version__
from firstsheet.bench.allowed_paths import NotAllowedError
from firstsheet.bench.answers import (
    ErrorView,
    Option,
    PathEntry,
    Recent,
    StartAnswer,
    View,
    error_view,
)
from firstsheet.bench.ask import CMYK_ASKS, estimate, loss_view, questions
from firstsheet.bench.drafts import Draft
from firstsheet.bench.light import light_view
from firstsheet.bench.making import PrintMaking
from firstsheet.bench.parts import BenchParts, state_folder, warm_up
from firstsheet.bench.picture_views import PictureViews
from firstsheet.bench.repairs import LOSE, with_proposals
from firstsheet.bench.sentence import SIZE_BY, sentence
from firstsheet.bench.session import PictureSession, picture_key, picture_mark
from firstsheet.bench.uploads import Upload
from firstsheet.bench.view import caption, dust_seen, early_sheet, findings_shown, sheet_shown
from firstsheet.bench.worked import parts_of
from firstsheet.engine.errors import FirstsheetError, OutputError
from firstsheet.engine.explain import figures
from firstsheet.engine.records import Finding, Ticket
from firstsheet.engine.records.plan import Plan

if TYPE_CHECKING:
    from firstsheet.jobs.planning.open_picture import Prepared

    Planned = tuple[Plan, Prepared | None]

__all__ = ["Bench", "state_folder", "warm_up"]

_SIZES = ("print.width", "print.height", "print.long-side")
_WEIGHTS = ("stop", "caution", "fine")
COLOUR_WORDS = (
    "Pictures on this page carry their profile. They look right where the browser follows it and "
    "the system knows the screen; no page can check the last step. The test picture shows whether "
    "the browser does its part: both of its halves must be the same red."
)
_LAY_BESIDE = (
    "Lay the profile it was made for (.icc) beside the picture and load the page again, or get "
    "the RGB master."
)


def _unkept(change: Callable[[], object]) -> dict[str, ErrorView]:
    """Change a draft; what is told where the change stands but the disk did not take it."""
    try:
        change()
    except OutputError as error:
        return {"ticket": error_view(error)}
    return {}


class Bench:
    """One running bench: the tickets of a page, and the parts that show and make them.

    `pictures` shows what lies behind a view, `making` makes prints, `parts.stocks` holds the
    papers.
    """

    def __init__(self, places: Sequence[Path], *, state: Path, stocks_dir: Path | None) -> None:
        self.parts = BenchParts(places, state=state, stocks_dir=stocks_dir)
        self.pictures = PictureViews(self.parts)
        self.making = PrintMaking(self.parts)

    def close(self) -> None:
        """Stop what is under way and close every picture."""
        self.parts.close()

    # ---- start -----------------------------------------------------------------------------

    def start(self) -> StartAnswer:
        """What a page needs before anything is opened."""
        return StartAnswer(
            version=__version__,
            allowed=tuple(
                PathEntry(path=str(one), name=one.name or str(one), kind="folder")
                for one in self.parts.places.roots
                if one != self.parts.uploads
            ),
            recent=self.recent(),
            screen=self.parts.settings.get("screen", {}),
            colour_words=COLOUR_WORDS,
            stocks=tuple(
                Option(value=name, text=stock.title)
                for name, stock in self.parts.stocks.all().items()
            ),
        )

    def keep_screen(self, screen: Mapping[str, float]) -> None:
        """Keep what a card session to the screen said about its size."""
        self.parts.settings.keep("screen", dict(screen))

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
                thumb=f"/api/draft/{one.id}/thumb?mark={mark}" if mark else "",
            )
            for one, mark in ((one, picture_mark(one.ticket)) for one in self.parts.drafts.all())
        )

    def paths(self, typed: str) -> tuple[PathEntry, ...]:
        """What a typed path could go on to."""
        return self.parts.places.matches(typed)

    def upload(self, name: str, announced_bytes: int | None) -> Upload:
        """Begin to take in a picture.

        Raises
        ------
        FirstsheetError
            If it is no picture's name, or the disk has no room.
        """
        return Upload(self.parts.uploads, name, announced_bytes)

    # ---- drafts ----------------------------------------------------------------------------

    def open(self, typed: str) -> str:
        """Begin with a picture or a ticket; gives the draft's name.

        Raises
        ------
        NotAllowedError
            If it lies outside the allowed folders.
        TicketError
            If a ticket cannot be read.
        """
        from firstsheet.store.tickets import read_ticket

        path = self.parts.places.real(typed)
        if path.is_dir():
            raise NotAllowedError(
                f"{path.name} is a folder.",
                "Nothing was opened.",
                "Choose a picture or a ticket in it.",
                "is-a-folder",
            )
        if path.suffix.lower() == ".toml":
            ticket = read_ticket(path)
            picture = self.parts.places.real(str(Path(ticket.picture).resolve()))
            read_as = self.parts.within({"colour.read-as": ticket.colour.read_as or ""})
            colour = ticket.colour.model_copy(update={"read_as": read_as["colour.read-as"] or None})
            ticket = ticket.model_copy(update={"picture": str(picture), "colour": colour})
        else:
            ticket = Ticket(picture=str(path), stock=next(iter(self.parts.stocks.all())))
        draft = self.parts.drafts.add(ticket, name=path.stem, origin=path)
        self.parts.open_pictures.of(draft.id, draft.ticket)
        return draft.id

    def remove(self, draft_id: str) -> None:
        """Take a draft out of the list; pictures and prints are not touched."""
        self.parts.open_pictures.close(draft_id)
        self.parts.drafts.remove(draft_id)
        self.parts.news.tell(type="list")

    def view(self, draft_id: str) -> View:
        """Everything a page shows of a draft, now."""
        draft = self.parts.drafts.get(draft_id)
        return self._view(draft, {}, "")

    def set(self, draft_id: str, revision: int, changes: Mapping[str, str]) -> View:
        """Change lines of the ticket: all, or none where one is a slip."""
        from firstsheet.store.ticket_changes import changed_ticket

        draft = self.parts.drafts.get(draft_id)
        clash = [key for key in changes if draft.changed_at.get(key, 0) > revision]
        if clash:
            slip = ErrorView(
                code="changed-meanwhile",
                found="This line was changed on another page in the meantime.",
                consequence="That change stands; yours was not taken.",
                choice="Look at it, then change it again if you still want to.",
            )
            return self._view(draft, dict.fromkeys(clash, slip), "")
        try:
            changes = self.parts.within(changes)
        except NotAllowedError as error:
            return self._view(draft, dict.fromkeys(changes, error_view(error)), "")
        session = self.parts.open_pictures.of(draft.id, draft.ticket)
        ticket, slips = changed_ticket(draft.ticket, self._spelt(session, draft.ticket, changes))
        if slips:
            return self._view(draft, self._told(draft, slips), "")
        planned: Planned | None = None
        if session.table is not None and picture_key(draft.ticket) == picture_key(ticket):
            try:
                planned = self.parts.open_pictures.plan(session, ticket)
            except FirstsheetError as error:
                return self._view(draft, dict.fromkeys(changes, error_view(error)), "")
        unkept = _unkept(lambda: self.parts.drafts.change(draft, ticket, changes))
        view = self._view(draft, unkept, "", planned)
        self.parts.news.tell(type="draft", id=draft.id, revision=draft.revision)
        return view

    def _told(self, draft: Draft, slips: Mapping[str, FirstsheetError]) -> dict[str, ErrorView]:
        """Slips that begin with the name of the part they are about."""
        wish = sentence(draft.ticket, None, self.parts.stocks.all())
        titles = {one.key: one.title.partition(":")[0] for one in wish}
        told = {key: error_view(slip) for key, slip in slips.items()}
        return {
            key: slip.model_copy(update={"found": f"{titles[key]}: {slip.found}"})
            if titles.get(key)
            else slip
            for key, slip in told.items()
        }

    def _spelt(
        self, session: PictureSession, ticket: Ticket, changes: Mapping[str, str]
    ) -> Mapping[str, str]:
        """Changes with “the size is said of the height now” turned into a height."""
        by = changes.get(SIZE_BY)
        filling = [key for key in _SIZES if changes.get(key, "").strip().lower() == "fill"]
        if by is None and filling:
            by = "fill"
            changes = {key: value for key, value in changes.items() if key not in filling}
        if by is None:
            return changes
        rest = {key: value for key, value in changes.items() if key != SIZE_BY}
        sizes = dict.fromkeys(_SIZES, "")
        if by not in sizes or session.table is None:
            return {**rest, **sizes}
        size = session.table.outline(ticket, stocks_dir=self.parts.stocks_dir).size
        lengths = {
            "print.width": size.width_mm,
            "print.height": size.height_mm,
            "print.long-side": max(size.width_mm, size.height_mm),
        }
        return {**rest, **sizes, by: f"{lengths[by]:.2f} mm"}

    def step(self, draft_id: str, *, back: bool) -> View:
        """Undo or redo."""
        draft = self.parts.drafts.get(draft_id)
        before = draft.revision
        unkept = _unkept(lambda: self.parts.drafts.step(draft, back=back))
        if draft.revision != before:
            self.parts.news.tell(type="draft", id=draft.id, revision=draft.revision)
        return self._view(draft, unkept, "")

    def choose(self, draft_id: str, code: str, index: int) -> View:
        """Do what a choice of a finding says."""
        view = self.view(draft_id)
        for finding in view.findings:
            if finding.code == code and 0 <= index < len(finding.choices):
                changes = finding.choices[index].changes
                if changes:
                    return self.set(draft_id, view.revision, changes)
        return view.model_copy(update={"note": "That choice is no longer there."})

    # ---- the view --------------------------------------------------------------------------

    def _view(
        self,
        draft: Draft,
        slips: Mapping[str, ErrorView],
        note: str,
        planned: Planned | None = None,
    ) -> View:
        session = self.parts.open_pictures.of(draft.id, draft.ticket)
        with session.used() as alive:
            view = self._bare_view(draft, session, slips, note)
            if not alive or session.table is None:
                return self._early_view(view, draft, session)
            try:
                plan, prepared = planned or self.parts.open_pictures.plan(session, draft.ticket)
                return self._planned_view(view, draft, session, plan, prepared)
            except FirstsheetError as problem:
                wish = sentence(draft.ticket, None, self.parts.stocks.all())
                slip = error_view(problem)
                return view.model_copy(update={"error": slip, "state": "failed", "sentence": wish})

    def _bare_view(
        self, draft: Draft, session: PictureSession, slips: Mapping[str, ErrorView], note: str
    ) -> View:
        return View(
            id=draft.id,
            revision=draft.revision,
            name=draft.name,
            path=draft.ticket.picture,
            state=session.state,
            error=session.slip,
            doing=session.doing,
            progress=session.share,
            first_look=f"/api/draft/{draft.id}/first-look?{session.mark}" if session.glance else "",
            folder=str(self.parts.target(draft, "")),
            made=draft.made,
            undo=bool(draft.undo),
            redo=bool(draft.redo),
            slips=dict(slips),
            note=note or session.note,
        )

    def _early_view(self, view: View, draft: Draft, session: PictureSession) -> View:
        """Before the picture is open: the sheet from its size alone, or what must be asked."""
        changes: dict[str, object] = {
            "sentence": sentence(draft.ticket, None, self.parts.stocks.all()),
        }
        if session.state == "asking" and session.slip is not None:
            asked = questions(draft.id, draft.ticket, None, session.slip.code)
            changes["questions"] = asked
            if session.slip.code == CMYK_ASKS and not asked:
                changes["error"] = session.slip.model_copy(update={"choice": _LAY_BESIDE})
        if session.state in ("failed", "asking") and session.slip is not None:
            self.parts.drafts.note(draft, verdict=session.slip.found, weight=session.state)
        if session.glance is not None and session.state == "opening":
            with contextlib.suppress(FirstsheetError):
                changes["sheet"] = early_sheet(
                    draft.ticket, session.glance, self.parts.stocks.all()
                )
                changes["picture_px"] = (session.glance.width_px, session.glance.height_px)
        return view.model_copy(update=changes)

    def _planned_view(
        self,
        view: View,
        draft: Draft,
        session: PictureSession,
        plan: Plan,
        prepared: Prepared | None,
    ) -> View:
        if prepared is not None:
            weights = {one.weight for one in plan.findings}
            weight = next((one for one in _WEIGHTS if one in weights), "fine")
            self.parts.drafts.note(draft, verdict=plan.verdict, weight=weight)
        picture, way = plan.picture, self.parts.way(session, plan)
        seen, looks = session.looked.view(plan) if prepared is not None else (None, None)
        tiles = {}
        if session.maker is not None:
            tiles = session.maker.sets(plan, way, prepared, looks)
            if prepared is None and draft.ticket.colour.intent == "auto":
                tiles = {"picture": tiles["picture"]}  # the intent is not known yet
        folder = Path(view.folder)
        known = figures(plan)
        failed = (
            None if prepared else self.parts.open_pictures.why_unmeasured(session, draft.ticket)
        )
        verdict = plan.verdict if prepared is not None else ""
        return view.model_copy(
            update={
                "measuring": prepared is None and failed is None,
                "dust_pending": failed is None and (prepared is None or not prepared.dust_known),
                "state": view.state if failed is None else "failed",
                "error": view.error if failed is None else failed,
                "sentence": sentence(
                    draft.ticket, plan, self.parts.stocks.all(), pages=picture.pages
                ),
                "sheet": sheet_shown(
                    draft.ticket, plan.size, plan.sheet, (picture.width_px, picture.height_px)
                ),
                "picture_px": (picture.width_px, picture.height_px),
                "findings": findings_shown(
                    self._with_repairs(session, draft.ticket, plan, prepared),
                    known,
                    {"dust-candidates": dust_seen(plan)},
                ),
                "figures": known,
                "verdict": verdict,
                "verdict_parts": parts_of(verdict, plan.verdict_spans if verdict else (), known),
                "plan_digest": plan.digest,
                "questions": questions(draft.id, draft.ticket, picture, ""),
                "tiles": tiles,
                "loss": loss_view(plan.loss) if plan.loss is not None else None,
                "proof_caption": caption(way.chain, plan),
                "detail": plan.detail.sentences if plan.detail is not None else (),
                "light": light_view(way.chain, plan),
                "seen": seen,
                "estimate": estimate(plan, folder, self.parts.works.px_per_second),
            }
        )

    def _with_repairs(
        self, session: PictureSession, ticket: Ticket, plan: Plan, prepared: Prepared | None
    ) -> tuple[Finding, ...]:
        """The plan's findings; once it is decided, with the repairs that would help."""
        loses = any(one.code == LOSE for one in plan.findings)
        if prepared is None or not loses:
            return plan.findings
        return with_proposals(
            plan.findings, self.parts.open_pictures.background.proposed(session, ticket), ticket
        )
