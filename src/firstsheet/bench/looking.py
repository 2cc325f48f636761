"""Looking closely, as the bench does it: tiles, spots, other papers, sizes, readings.

A part of `bench.bench.Bench`. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from firstsheet.bench.answers import CompareAnswer, SeenView, SpotAnswer
from firstsheet.bench.ask import comparison, spot
from firstsheet.bench.desk import Desk
from firstsheet.bench.drafts import Draft
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

__all__ = ["Looking", "NotReadyError"]

_THUMB_PX = 360
_SMALL_PROOF_PX = 480


class NotReadyError(FirstsheetError):
    """The picture is not open yet."""


class Looking(Desk):
    """What a page shows besides the view itself."""

    def tile(
        self, draft_id: str, kind: str, digest: str, place: tuple[int, int, int], suffix: str
    ) -> Tile | None:
        """One tile; None where there is none (any more)."""
        held = self.open_pictures.present(draft_id)
        if held is None or suffix not in ("jpg", "png"):
            return None
        with held.used() as alive:
            if not alive or held.maker is None:
                return None
            with ahead():
                return held.maker.tile(kind, digest, place, suffix)

    def first_look(self, draft_id: str) -> bytes | None:
        """The whole picture, small, before its tiles are there."""
        held = self.open_pictures.present(draft_id)
        if held is None or held.glance is None:
            return None
        return glance_bytes(held.glance)

    def thumb(self, draft_id: str, key: str, value: str) -> bytes:
        """A small picture of what one reading would look like; with no key, as it is read now.

        Raises
        ------
        FirstsheetError
            If it cannot be read so.
        """
        from firstsheet.store.ticket_changes import changed_ticket

        draft = self.drafts.get(draft_id)
        ticket, slips = changed_ticket(draft.ticket, self.within({key: value} if key else {}))
        if slips:
            raise next(iter(slips.values()))
        return glance_bytes(glance_of(ticket, long_side_px=_THUMB_PX))

    def spot(self, draft_id: str, x_mm: float, y_mm: float) -> SpotAnswer | None:
        """Wanted and printed colour at a place of the picture."""
        draft = self.drafts.get(draft_id)
        held = self.open_pictures.of(draft.id, draft.ticket)
        with held.used() as alive:
            if not alive or held.maker is None:
                return None
            plan, prepared = self.open_pictures.plan(held, draft.ticket)
            repairs = prepared.repairs if prepared is not None else ()
            return spot(held.maker.levels, self.way(held, plan), plan, x_mm, y_mm, repairs)

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
            held, prepared = decided
            way = self.way(held, prepared.plan)
            self.open_pictures.background.look_from_there(held, prepared, way)
            return held.looked.view(prepared.plan)[0]

    @contextlib.contextmanager
    def _decided(self, draft_id: str) -> Iterator[tuple[PictureSession, Prepared] | None]:
        """A draft's picture and its whole plan, kept open meanwhile; None while it has none."""
        draft = self.drafts.get(draft_id)
        held = self.open_pictures.of(draft.id, draft.ticket)
        with held.used() as alive:
            prepared = None
            if alive and held.table is not None:
                _, prepared = self.open_pictures.plan(held, draft.ticket)
            yield None if prepared is None else (held, prepared)

    def compare(self, draft_id: str) -> CompareAnswer:
        """Every stock by every intent, ranked as the command line ranks them."""
        draft = self.drafts.get(draft_id)
        held = self.open_pictures.of(draft.id, draft.ticket)
        proof = f"/api/draft/{draft.id}/small-proof?stock={{stock}}&intent={{intent}}"
        stocks = tuple((name, stock.model_dump_json()) for name, stock in self.stocks().items())
        return comparison(self.open_pictures.background.compared(held, draft.ticket, stocks), proof)

    def small_proof(self, draft_id: str, stock: str, intent: str) -> bytes | None:
        """A small proof on another paper."""
        draft = self.drafts.get(draft_id)
        held = self.open_pictures.of(draft.id, draft.ticket)
        with held.used() as alive:
            if not alive or held.table is None or intent not in INTENTS:
                return None
            known, profile = held.table.stock(stock, self.stocks_dir)
            ticket = draft.ticket.model_copy(update={"stock": known.name})
            reduced = held.table.reduced(ticket, stocks_dir=self.stocks_dir)
            step = max(1, round(max(reduced.shape[:2]) / _SMALL_PROOF_PX))
            black_point = ticket.colour.black_point
            way = held.table.way(profile, intent, black_point=black_point)
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
            draft = self.drafts.get(draft_id)
            held = self.open_pictures.of(draft.id, draft.ticket)
            with held.used() as alive:
                if alive and held.table is not None:
                    _, profile = held.table.stock(stock, self.stocks_dir)
                    small = held.table.reduced(draft.ticket, stocks_dir=self.stocks_dir)
                    return gamut(held.table.way(profile, "relative", black_point=False), small)
        return gamut(paper_path(stock, self.stocks_dir), None)

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
        held = self.open_pictures.of(draft.id, draft.ticket)
        plan, _ = self.open_pictures.plan(held, draft.ticket.model_copy(update={"film": film}))
        if plan.rescan is not None:
            return RescanJobAnswer(picture=Path(facts.path).name, answer=plan.rescan)
        answer = rescan(film, width_mm=plan.size.width_mm, height_mm=None, ppi=300.0)
        return RescanJobAnswer(picture=Path(facts.path).name, answer=answer)

    def _facts(self, draft_id: str) -> tuple[Draft, PictureFacts]:
        draft = self.drafts.get(draft_id)
        held = self.open_pictures.of(draft.id, draft.ticket)
        if held.table is None:
            raise NotReadyError(
                "The picture is not open yet.",
                "There is nothing to say about it.",
                "Wait until it lies on the table.",
                "not-open-yet",
            )
        return draft, held.table.opened.facts
