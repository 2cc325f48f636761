"""Repairs at the bench: tried by a choice, seen in the plan, undone, taken back."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from firstsheet.bench.bench import Bench


def until(bench: Bench, draft: str, what: Any) -> Any:
    """The view once it shows something; fails after two minutes."""
    end = time.monotonic() + 120
    while time.monotonic() < end:
        view = bench.view(draft)
        if what(view):
            return view
        time.sleep(0.05)
    raise AssertionError(bench.view(draft))


def choice_of(view: Any, words: str) -> tuple[str, int] | None:
    for finding in view.findings:
        for at, choice in enumerate(finding.choices):
            if choice.text.startswith(words) and choice.applies:
                return finding.code, at
    return None


@pytest.mark.slow
def test_a_repair_is_tried_undone_and_taken_back(buoy: Path, tmp_path: Path) -> None:
    bench = Bench([buoy.parent], state=tmp_path, stocks_dir=None)
    try:
        draft = bench.open(str(buoy))
        bench.set(draft, 0, {"stock": "harbour-gloss", "print.width": "100 mm"})
        until(bench, draft, lambda one: not one.dust_pending)
        view = until(bench, draft, lambda one: choice_of(one, "Try this repair"))
        plain, print_tiles = view.plan_digest, view.tiles["proof"].url
        found = choice_of(view, "Try this repair")
        assert found is not None
        bench.choose(draft, *found)
        view = until(bench, draft, lambda one: choice_of(one, "Undo this repair"))
        mended = view.plan_digest
        assert len(bench.parts.drafts.get(draft).ticket.repairs) == 1
        assert any(one.key == "repair" and one.text == "one repair" for one in view.sentence)
        assert mended != plain
        assert view.tiles["proof"].url != print_tiles
        assert "[[repair]]" in (tmp_path / "drafts" / draft / "ticket.toml").read_text()

        bench.step(draft, back=True)
        assert until(bench, draft, lambda one: one.plan_digest == plain)
        assert not bench.parts.drafts.get(draft).ticket.repairs
        bench.step(draft, back=False)
        view = until(bench, draft, lambda one: one.plan_digest == mended)
        found = choice_of(view, "Undo this repair")
        assert found is not None
        bench.choose(draft, *found)
        until(bench, draft, lambda one: one.plan_digest == plain)
    finally:
        bench.close()
