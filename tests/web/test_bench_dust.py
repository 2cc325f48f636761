"""What the page shows while dust is still looked for, and that dust changes nothing else."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from visitors import Json, Visitor, until  # type: ignore[import-not-found]

from firstsheet.engine.detail.dust.search import find_dust


@pytest.fixture
def held_up(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Dust is found only after the answer was called."""
    gate = threading.Event()

    def waiting(*given: Any) -> Any:
        assert gate.wait(timeout=120)
        return find_dust(*given)

    monkeypatch.setattr("firstsheet.jobs.planning.detail.find_dust", waiting)
    return gate.set


def test_a_plan_does_not_wait_for_dust(
    visitor: Visitor, harbour: Path, held_up: Callable[[], None]
) -> None:
    draft = visitor.post("/api/open", {"path": str(harbour / "ferry stairs.tif")})["id"]

    def planned() -> Json | None:
        view = visitor.get(f"/api/draft/{draft}")
        return None if view["state"] == "opening" or view["measuring"] else view

    early = until(planned)
    assert early["dust_pending"]
    assert early["loss"] is not None
    assert {"proof", "loss", "print"} <= set(early["tiles"])
    assert not visitor.change(draft, print__width="90 mm")["measuring"]
    visitor.change(draft, stock="harbour-gloss")  # measured while dust is looked for
    assert until(planned)["dust_pending"]
    for _ in range(2):
        visitor.post(f"/api/draft/{draft}/undo")
    held_up()
    late = visitor.settled(draft)

    assert not late["dust_pending"]
    same = ("sentence", "sheet", "loss", "tiles", "detail", "proof_caption", "light")
    assert {one: late[one] for one in same} == {one: early[one] for one in same}
    # with all that was said before, and in that order
    told = iter(one["found"] for one in late["findings"])
    assert all(one["found"] in told for one in early["findings"])


def test_a_print_does_not_wait_for_dust(
    visitor: Visitor, harbour: Path, held_up: Callable[[], None]
) -> None:
    """Dust decides nothing about a print, so its plan does without."""
    draft = visitor.post("/api/open", {"path": str(harbour / "ferry stairs.tif")})["id"]
    until(lambda: not visitor.get(f"/api/draft/{draft}")["measuring"])
    until(lambda: visitor.get(f"/api/draft/{draft}")["plan_digest"])

    made = visitor.made(visitor.post(f"/api/draft/{draft}/make")["job"])  # dust is still held up

    assert made["state"] == "done", made
    plan = json.loads((Path(made["folder"]) / "plan.json").read_text(encoding="utf-8"))
    assert plan["detail"]["edges"]
    assert plan["detail"]["dust"] is None
    held_up()
