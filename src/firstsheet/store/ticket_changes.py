"""Changes of single lines of a ticket, as typed into a sentence.

Takes a ticket and `section.key` names with the words that were typed; gives the changed ticket,
or the slip of each line that cannot be read. An empty text puts a line back to its default.
Tests: tests/store/test_ticket_changes.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records import Ticket
from firstsheet.store.repair_tables import REPAIR, repairs_text, text_repairs
from firstsheet.store.ticket_keys import KEYS, TicketKey
from firstsheet.store.tickets import put_line, ticket_from_options
from firstsheet.store.toml_text import nearest, shown
from firstsheet.store.values import BadValue, flag_value

__all__ = ["changed_ticket", "line_text"]

_STAYS = "The ticket stays as it was."
_ANSWERS = "answers"
_BORDER = "border"
_SIZES = ("width_mm", "height_mm", "long_side_mm")
_BY_NAME: Mapping[str, TicketKey] = {one.line: one for one in KEYS}
_FLAGS = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}


def line_text(ticket: Ticket, name: str) -> str:
    """What stands in one line, as it can be typed back; empty where it stands at its default."""
    if name == REPAIR:
        return repairs_text(ticket.repairs)
    key = _BY_NAME[name]
    value = getattr(getattr(ticket, key.group) if key.group else ticket, key.field)
    usual = Ticket(picture=ticket.picture, stock=ticket.stock)
    plain = getattr(getattr(usual, key.group) if key.group else usual, key.field)
    if value is None or value == plain:
        return ""
    written = key.write(value)
    return str(written).lower() if isinstance(written, bool) else str(written)


def changed_ticket(
    ticket: Ticket, changes: Mapping[str, str]
) -> tuple[Ticket, dict[str, TicketError]]:
    """Lay changes over a ticket: all of them, or none where one is a slip.

    Parameters
    ----------
    changes
        `print.width`, `stock`, `place.light` … as docs/ticket.md names them; `border` takes a
        whole border in words, `answers.CODE` a reply, `repair` all repairs in one line of TOML.

    Returns
    -------
    tuple
        The changed ticket and no slips; or the ticket as it was, and a slip for each bad line.
    """
    tree = ticket.model_dump()
    slips: dict[str, TicketError] = {}
    words = dict(changes)
    border = words.pop(_BORDER, None)
    for name, text in words.items():
        try:
            _put(tree, name, text.strip())
        except TicketError as slip:
            slips[name] = slip
    if border is not None:
        try:
            changed = ticket_from_options(base=ticket, border=border.strip() or "centred")
            tree["border"] |= {
                key: value
                for key, value in changed.border.model_dump().items()
                if not key.startswith("shift")
            }
        except TicketError as slip:
            slips[_BORDER] = TicketError(
                slip.found.removeprefix("--border "), _STAYS, slip.choice, slip.code
            )
    if slips:
        return ticket, slips
    try:
        return Ticket.model_validate(tree), {}
    except ValidationError as error:
        first = error.errors()[0]
        name = next(iter(changes), "")
        return ticket, {name: _slip(str(first["input"]), first["msg"], "is not possible")}


def _put(tree: dict[str, Any], name: str, text: str) -> None:
    section, _, code = name.partition(".")
    if section == _ANSWERS and code:
        if text:
            tree[_ANSWERS][code] = text
        else:
            tree[_ANSWERS].pop(code, None)
        return
    if name == REPAIR:
        tree["repairs"] = text_repairs(text)
        return
    key = _BY_NAME.get(name)
    if key is None:
        raise TicketError(
            f"A ticket has no line called “{name}”.",
            "Nothing was changed.",
            nearest(name, list(_BY_NAME)),
            "unknown-key",
        )
    held = tree[key.group] if key.group else tree
    if key.field in _SIZES and text:
        held.update(dict.fromkeys(_SIZES))
    earlier = key.word_now(text)
    put_line(tree, key, _value(key, name, text if earlier is None else earlier.now), earlier)


def _value(key: TicketKey, name: str, text: str) -> Any:
    if not text:
        if name in ("picture", "stock"):
            raise TicketError(f"The {name} cannot be left out.", _STAYS, key.meaning, "bad-value")
        usual = Ticket(picture="-", stock="-")
        return getattr(getattr(usual, key.group) if key.group else usual, key.field)
    given: Any = text
    if key.read is flag_value:
        given = _FLAGS.get(text.lower(), text)
    try:
        return key.read(given)
    except BadValue as bad:
        raise _slip(text, bad.choice, bad.why) from bad


def _slip(text: str, choice: str, why: str) -> TicketError:
    return TicketError(f"{shown(text)} {why}.", _STAYS, choice, "bad-value")
