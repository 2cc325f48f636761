"""Module headers: the tests, pages and tools they name exist."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROOMS = ("src", "demo", "tools", "benchmarks")
PATH = re.compile(r"\b(?:tests|docs|tools|benchmarks|src)/[\w./*-]*\w")
TEST = re.compile(r"\btest_\w+\.py\b")
TESTS = {path.name for path in (ROOT / "tests").rglob("test_*.py")}
MADE = {"tests/out", "benchmarks/out"}  # written by a run


def header(path: Path) -> str:
    return ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""


@pytest.mark.parametrize("room", ROOMS)
def test_every_file_a_header_names_is_there(room: str) -> None:
    missing = []
    for path in sorted((ROOT / room).rglob("*.py")):
        words = header(path)
        named = {one for one in PATH.findall(words) if one not in MADE}
        missing += [(path.name, one) for one in named if not list(ROOT.glob(one))]
        missing += [(path.name, one) for one in TEST.findall(words) if one not in TESTS]

    assert missing == []
