"""Tickets: what is wanted, as TOML or as options.

Takes paths, texts or options; gives Ticket records, or a slip that names line, key, value and
what would be right. Every key: docs/ticket.md. Tests: tests/store/test_tickets.py.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records import Ticket
from firstsheet.engine.records.ticket import EarlierWord
from firstsheet.engine.units import lengths_apart, parse_length_mm
from firstsheet.store.repair_tables import REPAIR, read_repairs, repair_tables
from firstsheet.store.ticket_keys import KEYS, SECTIONS, TicketKey
from firstsheet.store.toml_text import TomlText, nearest, read_text, shown
from firstsheet.store.values import BadValue

__all__ = ["put_line", "read_ticket", "ticket_from_options", "ticket_from_toml", "ticket_to_toml"]

_ANSWERS = "answers"
_SIZES = ("width", "height", "long-side")
_SIDES = ("top", "right", "bottom", "left")
_BORDER_WORDS = "centred, weighted, even, “even 25mm”, or four lengths: top right bottom left"
# Options that are spelled unlike their key, and those that say two keys at once.
_OPTION_OF_KEY = {("colour", "keep"): "keep_colour"}
_DOUBLE = {"offset": ("crop", "offset-x", "offset-y"), "shift": ("border", "shift-x", "shift-y")}


def read_ticket(path: Path) -> Ticket:
    """Read a ticket's file; its picture is taken relative to the ticket's own folder.

    Raises
    ------
    TicketError
        With file, line, key, value and what would be right.
    """
    return ticket_from_toml(read_text(path, "ticket"), name=str(path), folder=path.parent)


def ticket_from_toml(text: str, *, name: str = "ticket", folder: Path | None = None) -> Ticket:
    """Read a ticket from its text.

    Parameters
    ----------
    text
        The TOML.
    name
        How messages call it.
    folder
        What a relative picture is relative to; None leaves it as written.
    """
    toml = TomlText(text, name, "ticket")
    tree: dict[str, Any] = {}
    for section, held in _sections(toml):
        known = {one.key: one for one in SECTIONS[section]}
        for key, value in held.items():
            if key not in known:
                raise toml.unknown(section, key, [*known, *SECTIONS] if not section else known)
            _take(tree, known[key], value, partial(_read_value, toml))
    tree[_ANSWERS] = _answers(toml)
    tree["repairs"] = read_repairs(toml)
    _one_size(toml)
    if "picture" not in tree or "stock" not in tree:
        raise _missing(name, "stock" if "picture" in tree else "picture")
    if folder is not None:
        tree["picture"] = str(folder / tree["picture"])
    return _ticket(tree, name)


def _sections(toml: TomlText) -> list[tuple[str, Mapping[str, Any]]]:
    """The head and each section, checked to be known ones."""
    head = {
        key: value
        for key, value in toml.values.items()
        if not isinstance(value, dict) and key != REPAIR
    }
    found: list[tuple[str, Mapping[str, Any]]] = [("", head)]
    for section, held in toml.values.items():
        if not isinstance(held, dict) or section in (_ANSWERS, REPAIR):
            continue
        if section not in SECTIONS:
            if section in {one.key for one in SECTIONS[""]}:
                raise _not_a_section(toml, section)
            raise toml.unknown_section(section, [one for one in SECTIONS if one] + [_ANSWERS])
        found.append((section, held))
    for section in (*SECTIONS, _ANSWERS):
        if section and section in head:
            raise toml.slip(
                "",
                section,
                head[section],
                f"Write it as a section: [{section}].",
                "not-a-value",
                "is a section",
            )
    return found


def _not_a_section(toml: TomlText, key: str) -> TicketError:
    example = next(one.example for one in SECTIONS[""] if one.key == key)
    return TicketError(
        f"{toml.name}, line {toml.line(key)}: [{key}] is a value, not a section.",
        "The ticket is not used.",
        f"Write it at the top: {key} = {example}.",
        "not-a-section",
    )


def _read_value(toml: TomlText, key: TicketKey, value: Any) -> Any:
    try:
        return key.read(value)
    except BadValue as bad:
        raise toml.slip(key.section, key.key, value, bad.choice, "bad-value", bad.why) from bad


def _take(
    tree: dict[str, Any], key: TicketKey, given: Any, read: Callable[[TicketKey, Any], Any]
) -> None:
    """Read a value and put it into the tree."""
    earlier = key.word_now(given)
    now = given if earlier is None else earlier.now
    put_line(tree, key, read(key, now) if earlier is None or now else None, earlier)


def put_line(
    tree: dict[str, Any], key: TicketKey, value: Any, earlier: EarlierWord | None = None
) -> None:
    """Put a value into a ticket's tree, and note the earlier version's word it was read from."""
    held = tree.setdefault(key.group, {}) if key.group else tree
    held[key.field] = value
    noted = [one for one in tree.get("earlier", ()) if one["line"] != key.line]
    tree["earlier"] = (*noted, *([earlier.model_dump()] if earlier else []))


def _answers(toml: TomlText) -> dict[str, str]:
    answers = toml.values.get(_ANSWERS, {})
    for code, reply in answers.items():
        if not isinstance(reply, str):
            raise toml.slip(
                _ANSWERS, code, reply, "Write the reply in quotes.", "bad-value", "is not a text"
            )
    return dict(answers)


def _one_size(toml: TomlText) -> None:
    held = toml.values.get("print", {})
    given = [key for key in _SIZES if key in held]
    if len(given) > 1:
        raise toml.slip(
            "print",
            given[1],
            held[given[1]],
            f"Keep {given[0]} or {given[1]}; to cut the picture to a shape write [crop] "
            'shape = "3:2".',
            "two-sizes",
            f"stands beside {given[0]}",
        )


def _missing(name: str, what: str) -> TicketError:
    example = next(one.example for one in SECTIONS[""] if one.key == what)
    return TicketError(
        f"{name} names no {what}.",
        "Without it nothing can be planned.",
        f"Write {what} = {example} at the top.",
        "missing-key",
        "--stock NAME" if what == "stock" else "",
    )


def _ticket(tree: dict[str, Any], name: str) -> Ticket:
    try:
        return Ticket.model_validate(tree)
    except ValidationError as error:  # a rule of the record that no key's reader knows
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"])
        raise TicketError(
            f"{name}: {where} = {shown(first['input'])}: {first['msg']}.",
            "The ticket is not used.",
            "See the ticket's page in the docs for what can stand there.",
            "bad-value",
        ) from error


def ticket_to_toml(ticket: Ticket) -> str:
    """Write a ticket; reading it back gives exactly the same ticket.

    What stands at its default is left out.
    """
    import tomlkit

    usual = Ticket(picture=ticket.picture, stock=ticket.stock)
    document = tomlkit.document()
    tables: dict[str, Any] = {}
    for key in KEYS:
        value = getattr(getattr(ticket, key.group) if key.group else ticket, key.field)
        plain = getattr(getattr(usual, key.group) if key.group else usual, key.field)
        if value is None or (value == plain and key.field not in ("picture", "stock")):
            continue
        held = tables.setdefault(key.section, tomlkit.table()) if key.section else document
        held.add(key.key, key.write(value))
    for section, table in tables.items():
        document.add(section, table)
    if ticket.repairs:
        document.add(REPAIR, repair_tables(ticket.repairs))
    if ticket.answers:
        answers = tomlkit.table()
        for code, reply in ticket.answers.items():
            answers.add(code, reply)
        document.add(_ANSWERS, answers)
    return tomlkit.dumps(document)


def ticket_from_options(
    base: Ticket | None = None, *, picture: str | None = None, **options: Any
) -> Ticket:
    """Build a ticket from options, or lay options over a ticket.

    Parameters
    ----------
    base
        The ticket the options change; None begins with the defaults.
    picture
        The picture's file.
    options
        By the names of the command line with underscores: `width="381mm"`, `keep_colour=True`,
        `offset="0,-1"`, `border="even 25mm"`, `answers={...}`. None means not given.

    Raises
    ------
    TicketError
        With the option, its value and what would be right.
    """
    given = {name: value for name, value in options.items() if value is not None}
    tree: dict[str, Any] = base.model_dump() if base is not None else {}
    if picture is not None:
        tree["picture"] = picture
    sizes = [key for key in _SIZES if key.replace("-", "_") in given]
    if len(sizes) > 1:
        raise _option_slip(
            sizes[1],
            given[sizes[1].replace("-", "_")],
            f"Keep one of --{sizes[0]} and --{sizes[1]}; --shape cuts the picture.",
            f"stands beside --{sizes[0]}",
        )
    if sizes and "print" in tree:
        tree["print"].update(width_mm=None, height_mm=None, long_side_mm=None)
    for name, (section, *keys) in _DOUBLE.items():
        if name in given:
            _put_pair(tree, name, given.pop(name), section, keys)
    if "border" in given:
        _put_border(tree, given.pop("border"))
    tree.setdefault(_ANSWERS, {}).update(given.pop(_ANSWERS, {}))
    for key in KEYS:
        name = _OPTION_OF_KEY.get((key.section, key.key), key.key.replace("-", "_"))
        if name in given and key.section != "border":
            _take(tree, key, given.pop(name), partial(_read_option, name))
    if given:
        raise TypeError(f"unknown options: {', '.join(sorted(given))}")
    if "picture" not in tree or "stock" not in tree:
        raise _missing("The wish", "stock" if "picture" in tree else "picture")
    return _ticket(tree, "The wish")


def _read_option(name: str, key: TicketKey, value: Any) -> Any:
    try:
        return key.read(value)
    except BadValue as bad:
        raise _option_slip(name, value, bad.choice, bad.why) from bad


def _option_slip(name: str, value: Any, choice: str, why: str) -> TicketError:
    return TicketError(
        f"--{name.replace('_', '-')} {shown(value)} {why}.",
        "Nothing is done with a wish half understood.",
        choice,
        "bad-option",
    )


def _put_pair(tree: dict[str, Any], name: str, value: str, section: str, keys: list[str]) -> None:
    """An option such as `0,-1` or `5mm,-3mm`."""
    parts = value.replace(";", ",").split(",")
    if len(parts) != 2:
        example = "0,-1" if name == "offset" else "5mm,-3mm"
        raise _option_slip(
            name, value, f"Write two values with a comma: --{name} {example}.", "is not a pair"
        )
    for key, part in zip(keys, parts, strict=True):
        spec = next(one for one in SECTIONS[section] if one.key == key)
        put_line(tree, spec, _read_option(name, spec, part.strip()))


def _put_border(tree: dict[str, Any], words: str) -> None:
    """An option such as `weighted`, `even 25mm` or four lengths."""
    keys = {one.key: one for one in SECTIONS["border"]}
    held = tree.setdefault("border", {})
    for key in ("even", *_SIDES):
        held[keys[key].field] = None
    parts = lengths_apart(words)
    if len(parts) == 4:
        held["kind"] = "sides"
        for key, part in zip(_SIDES, parts, strict=True):
            held[keys[key].field] = _read_option("border", keys[key], part)
        return
    if parts and parts[0].lower() == "even" and len(parts) == 2:
        held["kind"] = "even"
        held["even_mm"] = _read_option("border", keys["even"], parts[1])
        return
    if len(parts) == 1 and parts[0].lower() in ("centred", "even", "weighted"):
        held["kind"] = parts[0].lower()
        return
    with contextlib.suppress(TicketError):  # one length is the same all round
        held["even_mm"] = parse_length_mm(words)
        held["kind"] = "even"
        return
    near = nearest(parts[0].lower() if parts else "", ["centred", "even", "weighted"])
    hint = f"{near} " if near.startswith("Perhaps") else ""
    raise _option_slip("border", words, f"{hint}Write {_BORDER_WORDS}.", "is not a border")
