"""Drafts on disk: each a ticket's TOML and a small JSON beside it, whole at every moment.

Takes a state folder; gives drafts with undo, redo and revisions. A restarted bench finds them as
they were left. Tests: tests/bench/test_bench_drafts.py.
"""

from __future__ import annotations

import contextlib
import json
import re
import secrets
import shutil
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from firstsheet.engine.errors import FirstsheetError, OutputError, TicketError
from firstsheet.engine.records import Ticket

__all__ = ["Draft", "DraftStore", "UnknownDraftError"]

_MOST_UNDO = 200
_ID = re.compile(r"^[0-9a-f]{8}$")


class UnknownDraftError(FirstsheetError):
    """There is no such draft (any more)."""


@dataclass(eq=False)
class Draft:
    """One ticket being worked on."""

    id: str
    name: str
    ticket: Ticket
    origin: str  # the file it was opened from: a picture or a ticket
    revision: int = 1
    undo: list[str] = field(default_factory=list)  # earlier tickets, TOML
    redo: list[str] = field(default_factory=list)
    changed_at: dict[str, int] = field(default_factory=dict)  # line: revision it last changed
    verdict: str = ""
    weight: str = "opening"
    made: str = ""
    opened: int = 0  # counts up, for the order of the list


class DraftStore:
    """All drafts of one state folder."""

    def __init__(self, state: Path) -> None:
        self._folder = state / "drafts"
        self._lock = threading.RLock()
        self._drafts: dict[str, Draft] = {}
        self._folder.mkdir(parents=True, exist_ok=True)
        for folder in sorted(self._folder.iterdir()):
            draft = _read(folder) if _ID.match(folder.name) else None
            if draft is not None:
                self._drafts[draft.id] = draft

    def all(self) -> list[Draft]:
        """All drafts, the last opened first."""
        with self._lock:
            return sorted(self._drafts.values(), key=lambda one: -one.opened)

    def get(self, draft_id: str) -> Draft:
        """One draft.

        Raises
        ------
        UnknownDraftError
            If there is none of that name.
        """
        with self._lock:
            draft = self._drafts.get(draft_id)
        if draft is None:
            raise UnknownDraftError(
                "This ticket is no longer in the list.",
                "It was taken away, perhaps on another page.",
                "Choose the picture again.",
                "unknown-draft",
            )
        return draft

    def add(self, ticket: Ticket, *, name: str, origin: Path) -> Draft:
        """A new draft, or the one that was opened from the same file."""
        with self._lock:
            for draft in self._drafts.values():
                if draft.origin == str(origin):
                    self._touch(draft)
                    return draft
            draft = Draft(secrets.token_hex(4), name, ticket, str(origin))
            self._drafts[draft.id] = draft
            self._touch(draft)
            return draft

    def _touch(self, draft: Draft) -> None:
        draft.opened = 1 + max((one.opened for one in self._drafts.values()), default=0)
        self.save(draft)

    def change(self, draft: Draft, ticket: Ticket, lines: Mapping[str, str]) -> None:
        """Take a changed ticket; the earlier one can be had back."""
        with self._lock:
            if ticket == draft.ticket:
                return
            draft.undo.append(_toml(draft.ticket))
            del draft.undo[:-_MOST_UNDO]
            draft.redo.clear()
            self._take(draft, ticket)
            draft.changed_at |= dict.fromkeys(lines, draft.revision)
            self.save(draft)

    def step(self, draft: Draft, *, back: bool) -> bool:
        """Undo or redo one change; says whether there was one."""
        with self._lock:
            taken, given = (draft.undo, draft.redo) if back else (draft.redo, draft.undo)
            if not taken:
                return False
            given.append(_toml(draft.ticket))
            self._take(draft, _ticket(taken.pop()))
            self.save(draft)
            return True

    def _take(self, draft: Draft, ticket: Ticket) -> None:
        draft.ticket = ticket
        draft.revision += 1

    def note(self, draft: Draft, *, verdict: str, weight: str) -> None:
        """Keep a verdict for the list; where the disk refuses, it is worked out again some day."""
        if (draft.verdict, draft.weight) != (verdict, weight):
            draft.verdict, draft.weight = verdict, weight
            with contextlib.suppress(OutputError):
                self.save(draft)

    def remove(self, draft_id: str) -> None:
        """Forget a draft; pictures and prints are not touched."""
        with self._lock:
            draft = self.get(draft_id)
            del self._drafts[draft.id]
            shutil.rmtree(self._folder / draft.id, ignore_errors=True)

    def save(self, draft: Draft) -> None:
        """Write both files, each whole.

        Raises
        ------
        OutputError
            If the disk is full or the folder cannot be written.
        """
        with self._lock:
            if draft.id not in self._drafts:
                return
            folder = self._folder / draft.id
            data = {
                "name": draft.name,
                "origin": draft.origin,
                "revision": draft.revision,
                "undo": draft.undo,
                "redo": draft.redo,
                "verdict": draft.verdict,
                "weight": draft.weight,
                "made": draft.made,
                "opened": draft.opened,
            }
            _write(folder / "ticket.toml", _toml(draft.ticket))
            _write(folder / "draft.json", json.dumps(data, indent=1, ensure_ascii=False))


def _write(path: Path, text: str) -> None:
    """Write whole under its final name; a killed process leaves the earlier text.

    The disk is not waited for, unlike in `files.writing.whole`: a change must be told at once.
    """
    beside = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(text, encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise OutputError(
            f"The ticket could not be kept in {path.parent} ({error.strerror}).",
            "The last change is on this page only, and lost when the bench ends.",
            "Make room there, then change anything once more.",
            "not-kept",
        ) from error


def _toml(ticket: Ticket) -> str:
    from firstsheet.store.tickets import ticket_to_toml

    return ticket_to_toml(ticket)


def _ticket(text: str) -> Ticket:
    from firstsheet.store.tickets import ticket_from_toml

    return ticket_from_toml(text)


def _read(folder: Path) -> Draft | None:
    """A draft as it was left; None where its files are not ours or not whole."""
    try:
        data: dict[str, Any] = json.loads((folder / "draft.json").read_text(encoding="utf-8"))
        return Draft(
            id=folder.name,
            name=str(data["name"]),
            ticket=_ticket((folder / "ticket.toml").read_text(encoding="utf-8")),
            origin=str(data["origin"]),
            revision=int(data["revision"]),
            undo=[str(one) for one in data["undo"]],
            redo=[str(one) for one in data["redo"]],
            verdict=str(data["verdict"]),
            weight=str(data["weight"]),
            made=str(data["made"]),
            opened=int(data["opened"]),
        )
    except (OSError, ValueError, KeyError, TypeError, TicketError):
        return None
