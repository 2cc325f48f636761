"""Repairs in a ticket: its [[repair]] tables, read with slips that name table, line and value.

Takes a parsed ticket, or one line of text; gives RepairWishes and writes them again. Every key:
docs/ticket.md. Tests: tests/store/test_repair_tables.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records import RepairWish
from firstsheet.store.ticket_keys import TicketKey
from firstsheet.store.toml_text import TomlText
from firstsheet.store.values import (
    BadValue,
    Reader,
    as_number,
    choice_value,
    number_value,
    tidy_number,
)

__all__ = ["REPAIR", "REPAIR_KEYS", "read_repairs", "repair_tables", "repairs_text", "text_repairs"]

REPAIR = "repair"
_MOST = 16  # more are no smallest repair any more


def _numbers(ranges: Sequence[tuple[float, float]], choice: str) -> Reader:
    def read(value: Any) -> tuple[float, ...]:
        given = [as_number(one) for one in value] if isinstance(value, (list, tuple)) else []
        numbers = tuple(one for one in given if one is not None)
        if len(numbers) != len(ranges) or len(given) != len(ranges):
            raise BadValue(choice, f"is not {_COUNTS[len(ranges)]} numbers")
        if not all(low <= one <= high for one, (low, high) in zip(numbers, ranges, strict=True)):
            raise BadValue(choice, "is out of range")
        return tuple(numbers)

    return read


_COUNTS = {3: "three", 4: "four"}
_BOX_CHOICE = (
    "Write left, top, right and bottom as shares of the upright picture, each 0 to 1: "
    "[0.1, 0.5, 0.4, 0.9]."
)
_COLOUR_CHOICE = "Write L* 0 to 100, a* and b* -128 to 128, as the picture means it: [32, 20, -58]."
_four: Reader = _numbers([(0.0, 1.0)] * 4, _BOX_CHOICE)


def _box(value: Any) -> tuple[float, ...]:
    box: tuple[float, ...] = _four(value)
    if not (box[0] < box[2] and box[1] < box[3]):
        raise BadValue(_BOX_CHOICE, "is an empty box")
    return box


def _list_text(values: Any) -> list[Any]:
    return [tidy_number(one) for one in values]


def _key(
    key: str, field: str, read: Reader, example: str, meaning: str, write: Any = tidy_number
) -> TicketKey:
    return TicketKey(
        section=REPAIR, key=key, group="repairs", field=field, read=read, write=write,
        example=example, meaning=meaning, earlier={},
    )  # fmt: skip


REPAIR_KEYS: tuple[TicketKey, ...] = (
    _key(
        "kind",
        "kind",
        choice_value("chroma", "shadow", "highlight"),
        '"chroma"',
        "chroma: less vivid at the same hue; shadow: dark tones drawn apart; highlight: light "
        "tones brought down from paper white.",
    ),
    _key(
        "box",
        "box",
        _box,
        "[0.1, 0.5, 0.4, 0.9]",
        "Where: left, top, right, bottom, shares of the upright picture. It ends softly.",
        _list_text,
    ),
    _key(
        "colour",
        "lab",
        _numbers([(0.0, 100.0), (-128.0, 128.0), (-128.0, 128.0)], _COLOUR_CHOICE),
        "[32, 20, -58]",
        "Which colour there: L*, a*, b* as the picture means it.",
        _list_text,
    ),
    _key(
        "reach",
        "reach",
        number_value(0.1, 100.0, what="a distance in CIELAB units"),
        "18",
        "How far other colours still belong to it, in CIELAB units.",
    ),
    _key(
        "strength",
        "strength",
        number_value(0.0, 1.0),
        "0.5",
        "0 changes nothing, 1 is the most the kind allows.",
    ),
)
_BY_NAME: Mapping[str, TicketKey] = {one.key: one for one in REPAIR_KEYS}


def read_repairs(toml: TomlText) -> tuple[RepairWish, ...]:
    """The repairs of a ticket, in its order.

    Raises
    ------
    TicketError
        With table, line, key, value and what would be right.
    """
    held = toml.values.get(REPAIR, [])
    tables = held if isinstance(held, list) else [held]
    if not isinstance(held, list) or not all(isinstance(one, dict) for one in tables):
        line = max(toml.line("", REPAIR), toml.line(REPAIR))
        raise TicketError(
            f"{toml.name}, line {line}: repair is no list of repairs.",
            "The ticket is not used.",
            "Begin each repair with two brackets: [[repair]].",
            "not-a-table",
        )
    if len(tables) > _MOST:
        raise toml.slip(
            f"{REPAIR}#{_MOST + 1}", "kind", len(tables), f"Keep {_MOST} at most.",
            "too-many-repairs", "repairs are too many",
        )  # fmt: skip
    return tuple(_read_one(toml, number, table) for number, table in enumerate(tables, start=1))


def _read_one(toml: TomlText, number: int, table: Mapping[str, Any]) -> RepairWish:
    section = f"{REPAIR}#{number}"
    tree: dict[str, Any] = {}
    for key, value in table.items():
        if key not in _BY_NAME:
            raise toml.unknown(section, key, _BY_NAME)
        try:
            tree[_BY_NAME[key].field] = _BY_NAME[key].read(value)
        except BadValue as bad:
            raise toml.slip(section, key, value, bad.choice, "bad-value", bad.why) from bad
    for one in REPAIR_KEYS:
        if one.field not in tree:
            raise toml.slip(
                section, one.key, "", f"Write {one.key} = {one.example}.", "missing-key",
                "is missing",
            )  # fmt: skip
    return RepairWish.model_validate(tree)


def repair_tables(repairs: Sequence[RepairWish]) -> Any:
    """The repairs as TOML tables, for a document of tomlkit."""
    import tomlkit

    tables = tomlkit.aot()
    for repair in repairs:
        table = tomlkit.table()
        for key in REPAIR_KEYS:
            table.add(key.key, key.write(getattr(repair, key.field)))
        tables.append(table)
    return tables


def repairs_text(repairs: Sequence[RepairWish]) -> str:
    """The repairs in one line of TOML, as `text_repairs` reads it; empty where there are none.

    >>> repairs_text([])
    ''
    """
    shown = [
        "{"
        + ", ".join(f"{key.key} = {_inline(key, getattr(one, key.field))}" for key in REPAIR_KEYS)
        + "}"
        for one in repairs
    ]
    return f"[{', '.join(shown)}]" if shown else ""


def _inline(key: TicketKey, value: Any) -> str:
    written = key.write(value)
    return f'"{written}"' if isinstance(written, str) else str(written)


def text_repairs(text: str) -> tuple[RepairWish, ...]:
    """Read what `repairs_text` wrote.

    Raises
    ------
    TicketError
        As `read_repairs`.
    """
    return read_repairs(TomlText(f"{REPAIR} = {text or '[]'}", "The wish", "ticket"))
