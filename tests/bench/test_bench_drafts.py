"""Drafts are whole on disk at every moment, and come back as they were left."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstsheet.bench.drafts import DraftStore, UnknownDraftError
from firstsheet.engine.errors import OutputError
from firstsheet.engine.records import Ticket
from firstsheet.store.tickets import read_ticket

TICKET = Ticket(picture="/harbour/ferry-stairs.tif", stock="chalk-matte")


def wide(width_mm: float) -> Ticket:
    print_wish = TICKET.print.model_copy(update={"width_mm": width_mm})
    return TICKET.model_copy(update={"print": print_wish})


def test_a_draft_is_a_ticket_the_command_line_reads(tmp_path: Path) -> None:
    store = DraftStore(tmp_path)
    draft = store.add(TICKET, name="ferry-stairs", origin=Path("/harbour/ferry-stairs.tif"))
    store.change(draft, wide(400), {"print.width": "400 mm"})
    assert read_ticket(tmp_path / "drafts" / draft.id / "ticket.toml") == wide(400)


def test_undo_survives_a_restart(tmp_path: Path) -> None:
    store = DraftStore(tmp_path)
    draft = store.add(TICKET, name="ferry-stairs", origin=Path("/x.tif"))
    for width in (400, 300, 200):
        store.change(draft, wide(width), {"print.width": ""})
    store.step(draft, back=True)

    again = DraftStore(tmp_path)
    same = again.get(draft.id)
    assert (same.ticket, same.revision) == (wide(300), draft.revision)
    assert again.step(same, back=False)
    assert same.ticket == wide(200)
    for _ in range(3):
        assert again.step(same, back=True)
    assert same.ticket == TICKET
    assert not again.step(same, back=True)


def test_a_change_forgets_what_was_undone(tmp_path: Path) -> None:
    store = DraftStore(tmp_path)
    draft = store.add(TICKET, name="ferry-stairs", origin=Path("/x.tif"))
    store.change(draft, wide(400), {})
    store.step(draft, back=True)
    store.change(draft, wide(300), {})
    assert not store.step(draft, back=False)


def test_half_written_or_strange_files_do_not_stop_the_rest(tmp_path: Path) -> None:
    store = DraftStore(tmp_path)
    good = store.add(TICKET, name="good", origin=Path("/good.tif"))
    bad = store.add(TICKET, name="bad", origin=Path("/bad.tif"))
    folder = tmp_path / "drafts"
    (folder / bad.id / "draft.json").write_text('{"name": "ba')
    (folder / "something else").mkdir()
    (folder / good.id / ".draft.json.part").write_text("left by a killed process")

    again = DraftStore(tmp_path)
    assert [one.id for one in again.all()] == [good.id]
    with pytest.raises(UnknownDraftError, match="no longer in the list"):
        again.get(bad.id)


def test_a_full_disk_is_told_and_keeps_the_earlier_ticket(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = DraftStore(tmp_path)
    draft = store.add(TICKET, name="ferry-stairs", origin=Path("/x.tif"))

    def full(*_args: object, **_words: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(OutputError, match="No space left"):
        store.change(draft, wide(400), {})
    monkeypatch.undo()
    assert DraftStore(tmp_path).get(draft.id).ticket == TICKET


def test_the_last_opened_comes_first(tmp_path: Path) -> None:
    store = DraftStore(tmp_path)
    names = ("a", "b", "c")
    drafts = [store.add(TICKET, name=name, origin=Path(f"/{name}.tif")) for name in names]
    store.add(TICKET, name="a", origin=Path("/a.tif"))
    assert [one.name for one in store.all()] == ["a", "c", "b"]
    store.remove(drafts[2].id)
    assert [one.name for one in DraftStore(tmp_path).all()] == ["a", "b"]
