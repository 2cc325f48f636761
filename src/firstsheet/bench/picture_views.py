"""What a page shows of a picture besides its view: tiles, colours, other papers, sizes.

Takes draft names; gives answers. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from firstsheet.bench.answers import CompareAnswer, SeenView, SpotAnswer
from firstsheet.bench.ask import comparison, spot
from firstsheet.bench.drafts import Draft
from firstsheet.bench.parts import BenchParts
from firstsheet.bench.session import PictureSession, glance_of
from firstsheet.bench.tiles import Tile, encoded_picture, proof_shown
from firstsheet.bench.view import blocks, glance_bytes
from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.records import PictureFacts
from firstsheet.jobs.answers import RescanJobAnswer, SizesAnswer
from firstsheet.jobs.planning.losses import INTENTS
from firstsheet.pixels.team import ahead

if TYPE_CHECKING:
    from firstsheet.bench.regions import RegionsAnswer
    from firstsheet.bench.stocks import GamutAnswer
    from firstsheet.jobs.planning.open_picture import Prepared

__all__ = ["NotReadyError", "PictureViews"]

_THUMB_PX = 360
_SMALL_PROOF_PX = 480


class NotReadyError(FirstsheetError):
    """The picture is not open yet."""


class PictureViews:
    """What a page shows of a picture besides its view."""

    def __init__(self, parts: BenchParts) -> None:
        self._parts = parts

    def tile(
        self, draft_id: str, kind: str, digest: str, place: tuple[int, int, int], suffix: str
    ) -> Tile | None:
        """One tile; None where there is none (any more)."""
        session = self._parts.open_pictures.present(draft_id)
        if session is None or suffix not in ("jpg", "png"):
            return None
        with session.used() as alive:
            if not alive or session.maker is None:
                return None
            with ahead():
                return session.maker.tile(kind, digest, place, suffix)

    def first_look(self, draft_id: str) -> bytes | None:
        """The whole picture, small, before its tiles are there."""
        session = self._parts.open_pictures.present(draft_id)
        if session is None or session.glance is None:
            return None
        return glance_bytes(session.glance)

    def thumb(self, draft_id: str, key: str, value: str) -> bytes:
        """A small picture of what one reading would look like; with no key, as it is read now.

        Raises
        ------
        FirstsheetError
            If it cannot be read so.
        """
        from firstsheet.store.ticket_changes import changed_ticket

        draft = self._parts.drafts.get(draft_id)
        ticket, slips = changed_ticket(
            draft.ticket, self._parts.within({key: value} if key else {})
        )
        if slips:
            raise next(iter(slips.values()))
        return glance_bytes(glance_of(ticket, long_side_px=_THUMB_PX))

    def spot(self, draft_id: str, x_mm: float, y_mm: float) -> SpotAnswer | None:
        """Wanted and printed colour at a place of the picture."""
        draft = self._parts.drafts.get(draft_id)
        session = self._parts.open_pictures.of(draft.id, draft.ticket)
        with session.used() as alive:
            if not alive or session.maker is None:
                return None
            plan, prepared = self._parts.open_pictures.plan(session, draft.ticket)
            repairs = prepared.repairs if prepared is not None else ()
            return spot(
                session.maker.levels, self._parts.way(session, plan), plan, x_mm, y_mm, repairs
            )

    def regions(self, draft_id: str) -> RegionsAnswer | None:
        """What the paper truly takes, place by place; None while that is not known."""
        from firstsheet.bench.regions import regions_shown

        with self._decided(draft_id) as decided:
            return None if decided is None else regions_shown(decided[1])

    def seen(self, draft_id: str) -> SeenView | None:
        """How far the look from the distance is; begins it. None while nothing is decided."""
        with self._decided(draft_id) as decided:
            if decided is None:
                return None
            session, prepared = decided
            way = self._parts.way(session, prepared.plan)
            self._parts.open_pictures.background.look_from_there(session, prepared, way)
            return session.looked.view(prepared.plan)[0]

    @contextlib.contextmanager
    def _decided(self, draft_id: str) -> Iterator[tuple[PictureSession, Prepared] | None]:
        """A draft's picture and its whole plan, kept open meanwhile; None while it has none."""
        draft = self._parts.drafts.get(draft_id)
        session = self._parts.open_pictures.of(draft.id, draft.ticket)
        with session.used() as alive:
            prepared = None
            if alive and session.table is not None:
                _, prepared = self._parts.open_pictures.plan(session, draft.ticket)
            yield None if prepared is None else (session, prepared)

    def compare(self, draft_id: str) -> CompareAnswer:
        """Every stock by every intent, ranked as the command line ranks them."""
        draft = self._parts.drafts.get(draft_id)
        session = self._parts.open_pictures.of(draft.id, draft.ticket)
        proof = f"/api/draft/{draft.id}/small-proof?stock={{stock}}&intent={{intent}}"
        stocks = tuple(
            (name, stock.model_dump_json()) for name, stock in self._parts.stocks.all().items()
        )
        return comparison(
            self._parts.open_pictures.background.compared(session, draft.ticket, stocks), proof
        )

    def small_proof(self, draft_id: str, stock: str, intent: str) -> bytes | None:
        """A small proof on another paper."""
        draft = self._parts.drafts.get(draft_id)
        session = self._parts.open_pictures.of(draft.id, draft.ticket)
        with session.used() as alive:
            if not alive or session.table is None or intent not in INTENTS:
                return None
            known, profile = session.table.stock(stock, self._parts.stocks_dir)
            ticket = draft.ticket.model_copy(update={"stock": known.name})
            reduced = session.table.reduced(ticket, stocks_dir=self._parts.stocks_dir)
            step = max(1, round(max(reduced.shape[:2]) / _SMALL_PROOF_PX))
            black_point = ticket.colour.black_point
            way = session.table.way(profile, intent, black_point=black_point)
            rgb = proof_shown(
                way,
                blocks(reduced, step),
                as_is=False,
                paper_white=ticket.output.proof_white == "paper",
            )
        return encoded_picture(rgb, "display-p3", "jpg")

    def gamut(self, stock: str, draft_id: str | None) -> GamutAnswer:
        """What a paper holds, against a picture's own colours."""
        from firstsheet.bench.stocks import gamut, paper_path

        if draft_id:
            draft = self._parts.drafts.get(draft_id)
            session = self._parts.open_pictures.of(draft.id, draft.ticket)
            with session.used() as alive:
                if alive and session.table is not None:
                    _, profile = session.table.stock(stock, self._parts.stocks_dir)
                    small = session.table.reduced(draft.ticket, stocks_dir=self._parts.stocks_dir)
                    return gamut(session.table.way(profile, "relative", black_point=False), small)
        return gamut(paper_path(stock, self._parts.stocks_dir), None)

    def sizes(self, draft_id: str) -> SizesAnswer:
        """What the picture is worth at each standard size."""
        from firstsheet.jobs.sizes import sizes_of

        draft, facts = self._facts(draft_id)
        name = Path(draft.ticket.picture).name
        return sizes_of(
            name, facts.width_px, facts.height_px, distance_mm=draft.ticket.place.distance_mm
        )

    def rescan(self, draft_id: str, film: str) -> RescanJobAnswer:
        """What a new scan of a film would have to be for this print."""
        from firstsheet.engine.sizing.rescan import rescan

        draft, facts = self._facts(draft_id)
        session = self._parts.open_pictures.of(draft.id, draft.ticket)
        plan, _ = self._parts.open_pictures.plan(
            session, draft.ticket.model_copy(update={"film": film})
        )
        if plan.rescan is not None:
            return RescanJobAnswer(picture=Path(facts.path).name, answer=plan.rescan)
        answer = rescan(film, width_mm=plan.size.width_mm, height_mm=None, ppi=300.0)
        return RescanJobAnswer(picture=Path(facts.path).name, answer=answer)

    def _facts(self, draft_id: str) -> tuple[Draft, PictureFacts]:
        draft = self._parts.drafts.get(draft_id)
        session = self._parts.open_pictures.of(draft.id, draft.ticket)
        if session.table is None:
            raise NotReadyError(
                "The picture is not open yet.",
                "There is nothing to say about it.",
                "Wait until it lies on the table.",
                "not-open-yet",
            )
        return draft, session.table.opened.facts
