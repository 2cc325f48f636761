"""A stock as TOML text, both ways.

Takes text or a Stock; gives the other. Facts that were measured stand in [facts], written by
the program. Tests: tests/store/test_stocks.py.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, get_args

from pydantic import ValidationError

from firstsheet.engine.errors import TicketError
from firstsheet.engine.records import MarginsMm, Stock
from firstsheet.store.toml_text import TomlText, nearest, shown
from firstsheet.store.values import length_text

__all__ = ["STOCK_NAME", "stock_from_toml", "stock_to_toml"]

STOCK_NAME = re.compile(r"^[a-z0-9]+(-[a-z0-9]+)*$")

_KEY_OF_FIELD: Mapping[str, str] = {
    "name": "name",
    "title": "title",
    "profile_file": "profile",
    "surface": "surface",
    "native_ppi": "native-ppi",
    "media_setting": "media-setting",
    "notes": "notes",
}
_FIELD_OF_KEY = {key: field for field, key in _KEY_OF_FIELD.items()}
_SURFACES: tuple[str, ...] = get_args(Stock.model_fields["surface"].annotation)
_RASTERS: tuple[int, ...] = get_args(Stock.model_fields["native_ppi"].annotation)
_MARGINS = tuple(MarginsMm.model_fields)
_MOST_MARGIN_MM = 200.0


def stock_from_toml(text: str, *, name: str) -> Stock:
    """Read a stock's text.

    Parameters
    ----------
    text
        The TOML.
    name
        How messages call it, usually the path.

    Raises
    ------
    TicketError
        With file, line, key, value and what would be right.
    """
    toml = TomlText(text, name, "stock")
    tree: dict[str, Any] = {}
    for key, value in toml.values.items():
        if key == "margins":
            tree["margins"] = _margins(toml, value)
        elif key == "facts":
            tree["facts"] = value
        elif key in _FIELD_OF_KEY:
            tree[_FIELD_OF_KEY[key]] = _checked(toml, key, value)
        elif isinstance(value, dict):
            raise toml.unknown_section(key, ["margins", "facts"])
        else:
            raise toml.unknown("", key, _FIELD_OF_KEY)
    for key in ("name", "title", "profile", "surface"):
        if _FIELD_OF_KEY[key] not in tree:
            raise TicketError(
                f"{name} has no {key}.",
                "The stock is not used.",
                f"Write {key} = {_example(key)}.",
                "missing-key",
            )
    return _stock(toml, tree)


def _example(key: str) -> str:
    examples = {"name": "chalk-matte", "title": "Chalk Matte 310", "profile": "chalk-matte.icc"}
    return f'"{examples.get(key, _SURFACES[0])}"'


def _checked(toml: TomlText, key: str, value: Any) -> Any:
    if key == "native-ppi":
        if isinstance(value, bool) or value not in _RASTERS:
            allowed = ", ".join(str(one) for one in _RASTERS)
            raise toml.slip(
                "", key, value, f"Write one of {allowed}.", "bad-value", "is not a printer's raster"
            )
        return value
    if not isinstance(value, str):
        raise toml.slip("", key, value, "Write it in quotes.", "bad-value", "is not a text")
    if key == "surface" and value not in _SURFACES:
        raise toml.slip(
            "",
            key,
            value,
            nearest(value, _SURFACES) + f" Allowed: {', '.join(_SURFACES)}.",
            "bad-value",
            "is not a surface",
        )
    if key == "name" and not STOCK_NAME.match(value):
        raise toml.slip(
            "",
            key,
            value,
            f"Small letters, digits and single hyphens: “{_as_name(value)}”.",
            "bad-value",
            "is not a stock's name",
        )
    return value


def _as_name(words: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-") or "my-paper"


def _margins(toml: TomlText, held: Any) -> dict[str, float]:
    from firstsheet.engine.units import parse_length_mm

    if not isinstance(held, dict):
        raise toml.slip(
            "",
            "margins",
            held,
            "Write a section [margins] with top, right, bottom and left.",
            "bad-value",
            "is not a section",
        )
    margins: dict[str, float] = {}
    for side, value in held.items():
        if side not in _MARGINS:
            raise toml.unknown("margins", side, _MARGINS)
        try:
            margins[side] = parse_length_mm(value, zero=True) if isinstance(value, str) else -1.0
        except TicketError:
            margins[side] = -1.0
        if not 0 <= margins[side] <= _MOST_MARGIN_MM:
            raise toml.slip(
                "margins",
                side,
                value,
                f'Write it with its unit: {side} = "5 mm", at most {length_text(_MOST_MARGIN_MM)}.',
                "bad-value",
                "is not a margin",
            )
    return margins


def _stock(toml: TomlText, tree: dict[str, Any]) -> Stock:
    try:
        return Stock.model_validate(tree)
    except ValidationError as error:
        first = error.errors()[0]
        where = [str(step) for step in first["loc"]]
        line = toml.line(where[0], where[1] if len(where) > 1 else None)
        raise TicketError(
            f"{toml.name}, line {line}: {'.'.join(where)} = {shown(first['input'])}: "
            f"{first['msg']}.",
            "The stock is not used.",
            "What stands in [facts] is measured by the program: add the stock again.",
            "bad-value",
        ) from error


def stock_to_toml(stock: Stock) -> str:
    """Write a stock; reading it back gives exactly the same stock."""
    import tomlkit

    document = tomlkit.document()
    for field, key in _KEY_OF_FIELD.items():
        document.add(key, getattr(stock, field))
    margins = tomlkit.table()
    margins.comment("as the sheet is fed: top enters the printer first")
    for side in _MARGINS:
        margins.add(side, length_text(getattr(stock.margins, side)))
    document.add("margins", margins)
    if stock.facts is not None:
        document.add("facts", tomlkit.item(stock.facts.model_dump(mode="json", exclude_none=True)))
    return tomlkit.dumps(document)
