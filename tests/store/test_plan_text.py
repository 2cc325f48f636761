"""Plans of every release stay readable. A new release adds its own to tests/store/plans."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from firstsheet import __version__
from firstsheet.engine.errors import TicketError
from firstsheet.jobs.planning.ticket_source import wish_from
from firstsheet.store.plan_text import decisions_in, ticket_in

PLANS = Path(__file__).parent / "plans"
FILES = sorted(PLANS.glob("*/*.json"))


def text_of(name: str) -> str:
    return (PLANS / f"0.1.0/{name}.json").read_text(encoding="utf-8")


def test_every_release_has_its_plans() -> None:
    releases = {path.parent.name for path in FILES}

    assert __version__ in releases, f"keep plans of {__version__} in tests/store/plans"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_plan_of_every_release_says_what_was_wanted_and_decided(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    raw = json.loads(text)

    ticket, held = ticket_in(raw), decisions_in(text, name=path.name)

    assert ticket.picture == raw["ticket"]["picture"]
    assert ticket.print.width_mm == raw["ticket"]["print"]["width_mm"]
    assert len(ticket.repairs) == len(held["repairs"]) == len(raw["repairs"])
    assert held["picture"] == raw["picture"]["sha256"]
    assert held["size"]["width_px"] == raw["size"]["width_px"]
    assert held["sharpen"]["gain"] == raw["sharpen"]["gain"]
    assert held["colour"]["intent"] == raw["colour"]["intent"]
    assert held["stock"]["profile"] == raw["stock"]["facts"]["profile"]["sha256"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_plan_of_every_release_can_be_made_from(path: Path) -> None:
    wish = wish_from(path, {})  # its picture is not here, so it is not compared

    assert wish.ticket.stock == json.loads(path.read_text(encoding="utf-8"))["ticket"]["stock"]


def test_words_of_the_first_form_mean_the_same_today() -> None:
    stairs = ticket_in(json.loads(text_of("first-form-ferry-stairs")))
    buoy = decisions_in(text_of("first-form-buoy-repaired"), name="buoy")

    assert '"normal"' in text_of("first-form-ferry-stairs")
    assert stairs.detail.sharpen is None  # `normal` is what is left out today
    assert buoy["ticket"]["detail"]["sharpen"] == 0.6  # `low`


@pytest.mark.parametrize("text", ["", "[]", "{}", "null", '"plan"', '{"ticket": 1}', "[" * 9999])
def test_what_is_no_plan_is_told(text: str) -> None:
    with pytest.raises(TicketError) as refused:
        decisions_in(text, name="notes.json")

    assert refused.value.code == "not-a-plan"
    assert "notes.json" in refused.value.found


def test_a_word_that_no_ticket_has_is_not_passed_over() -> None:
    tree: dict[str, Any] = json.loads(FILES[0].read_text(encoding="utf-8"))
    tree["ticket"]["varnish"] = "gloss"

    with pytest.raises(TicketError):
        decisions_in(json.dumps(tree), name="newer.json")
