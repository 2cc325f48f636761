"""What a plan's JSON says, whatever release wrote it: the ticket, and what it decided.

Takes text or its tree; gives a `Ticket` of today and the decisions as plain values. Findings and
sentences are not read: their form changes, and nothing is made of them. Each change of form since
the first release is one step of `_STEPS`, which are only ever added; tests/store/plans keeps plans
of every release. Tests: tests/store/test_plan_text.py.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records import Ticket
from firstsheet.store.ticket_keys import KEYS

__all__ = ["decisions_in", "ticket_in"]

Tree = dict[str, Any]
# as engine.planning.decisions leaves them out
_LEFT_OUT: Mapping[str, tuple[str, ...]] = {
    "ticket": ("picture", "repairs"),
    "size": ("verdicts",),
    "sheet": (),
    "sharpen": ("reason",),
    "colour": ("link", "link_mean_de00", "link_p99_de00", "link_max_de00"),
    "output": (),
}


def ticket_in(tree: Mapping[str, Any]) -> Ticket:
    """The ticket of a plan, in the words of today.

    Raises
    ------
    ValueError, KeyError, TypeError
        If the tree is no plan.
    """
    return Ticket.model_validate(_today(tree)["ticket"])


def decisions_in(text: str, *, name: str) -> Mapping[str, Any]:
    """What a plan decided, as `engine.planning.decisions` gives it for a plan of today.

    Parameters
    ----------
    name
        How messages call it.

    Raises
    ------
    TicketError
        If it is no plan.
    """
    try:
        tree = _today(json.loads(text))
        facts = tree["stock"].get("facts") or {}
        held: Tree = {part: _without(tree[part], without) for part, without in _LEFT_OUT.items()}
        held["ticket"] = Ticket.model_validate(tree["ticket"]).model_dump(
            mode="json", exclude={"picture", "repairs"}
        )
        held["made_by"] = tree["made_by"]
        held["picture"] = tree["picture"]["sha256"]
        held["stock"] = {
            "name": tree["stock"]["name"],
            "profile": facts.get("profile", {}).get("sha256", ""),
        }
        held["repairs"] = [_without(one, ("words", "sentence")) for one in tree.get("repairs", [])]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise TicketError(
            f"{name} is not a plan that this version can read.",
            "It cannot be followed.",
            "Plan again from the picture or its ticket.",
            "not-a-plan",
        ) from error
    return held


def _without(tree: Mapping[str, Any], names: Iterable[str]) -> Tree:
    return {key: value for key, value in tree.items() if key not in names}


def _today(tree: Mapping[str, Any]) -> Tree:
    """A copy in which every word is one of today."""
    now: Tree = json.loads(json.dumps(tree))
    for step in _STEPS:
        step(now)
    return now


def _words_of_tickets(tree: Tree) -> None:
    """Words of earlier tickets, by the very table that reads them in a ticket's TOML."""
    ticket = tree["ticket"]
    for key in KEYS:
        held = ticket.get(key.group, {}) if key.group else ticket
        word = key.word_now(held.get(key.field))
        if word is not None and word.now:
            held[key.field] = key.read(_typed(word.now))
        elif word is not None:
            del held[key.field]


def _typed(words: str) -> object:
    """A number where the words are one, as TOML would give it."""
    try:
        return float(words)
    except ValueError:
        return words


_STEPS: tuple[Callable[[Tree], None], ...] = (_words_of_tickets,)
