"""Writes docs/findings.md: every finding the program can state, read from the code.

`python tools/write_findings.py` writes the page; a test holds it to the code.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "firstsheet"
PAGE = ROOT / "docs" / "findings.md"
_HEAD = """# Findings

Written from the code by `python tools/write_findings.py`. A finding has a weight: *stop* (it
cannot be printed like this), *caution* (it costs something a person would see in this print) or
*fine* (worth knowing). … stands for what depends on the picture.

| code | weight | found | choices | module |
| --- | --- | --- | --- | --- |
"""


class Entry(NamedTuple):
    """One place in the code that states a finding."""

    code: str
    weights: tuple[str, ...]
    found: str
    choices: tuple[str, ...]
    module: str


def words(node: ast.expr | None) -> str:
    """The words of an expression; what is computed is an ellipsis."""
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(
            str(one.value) if isinstance(one, ast.Constant) else _shown(one) for one in node.values
        )
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return words(node.left) + words(node.right)
    if isinstance(node, ast.IfExp):
        return words(node.body)
    return "…"


def _shown(value: ast.expr) -> str:
    inner = value.value if isinstance(value, ast.FormattedValue) else value
    named = isinstance(inner, ast.Call) and getattr(inner.func, "id", "") == "shown"
    return "…" if not named else words(inner.args[1]) if isinstance(inner, ast.Call) else "…"


def constants(node: ast.expr | None) -> tuple[str, ...]:
    """The texts an expression can be."""
    if isinstance(node, ast.IfExp):
        return (*constants(node.body), *constants(node.orelse))
    text = words(node)
    return () if text == "…" else (text,)


def entries() -> Iterator[Entry]:
    """Every call of `finding` in the package, in the order of files and lines."""
    for path in sorted(SOURCE.rglob("*.py")):
        module = path.relative_to(SOURCE).as_posix()
        if module == "engine/findings.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "finding":
                yield from _entry(node, module)


def _entry(call: ast.Call, module: str) -> Iterator[Entry]:
    given = {one.arg: one.value for one in call.keywords if one.arg}
    parts = dict(zip(("code", "weight", "found", "consequence"), call.args, strict=False)) | given
    ways: list[ast.expr] = list(call.args[4:])
    held = given.get("choices")
    ways += held.elts if isinstance(held, ast.Tuple | ast.List) else []
    choices = tuple(dict.fromkeys(text for way in ways for text in _choices(way)))
    weights = constants(parts.get("weight")) or ("caution",)
    for code in constants(parts.get("code")) or ("(from data)",):
        yield Entry(code, weights, words(parts.get("found")), choices, module)


def _choices(way: ast.expr) -> Iterator[str]:
    for node in ast.walk(way):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "choice" and node.args:
            yield words(node.args[0])
            return
    if isinstance(way, ast.Constant | ast.JoinedStr):
        yield words(way)


def page() -> str:
    """The whole page."""
    rows = sorted(entries())
    lines = [
        f"| `{one.code}` | {', '.join(dict.fromkeys(one.weights))} | {one.found} | "
        f"{' · '.join(one.choices)} | `{one.module}` |"
        for one in rows
    ]
    return _HEAD + "\n".join(line.replace("\n", " ") for line in lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    sys.stdout.write(f"{PAGE.name} written\n")
