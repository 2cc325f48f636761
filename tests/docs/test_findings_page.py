"""The page of findings is the code's, and no front end reads a sentence to learn what it means."""

from __future__ import annotations

import ast
import sys
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "firstsheet"
sys.path.insert(0, str(ROOT / "tools"))

from write_findings import PAGE, entries, page  # type: ignore[import-not-found]  # noqa: E402

FRONTS = [
    path for part in ("web", "bench", "cli") for path in sorted((SOURCE / part).rglob("*.py"))
]
SENTENCES = {"found", "consequence", "choice", "sentence", "verdict", "words"}
PARSES = {"startswith", "endswith", "partition", "rpartition", "split", "find", "index", "replace",
          "removeprefix", "removesuffix", "count"}  # fmt: skip
# a name and an address are no sentences
PATTERNS_ALLOWED = {"bench/drafts.py", "bench/uploads.py"}


def test_the_page_of_findings_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), "python tools/write_findings.py"


def test_a_code_is_stated_by_one_module() -> None:
    homes = {(one.code, one.module) for one in entries() if not one.code.startswith("(")}
    twice = [code for code, count in Counter(code for code, _ in homes).items() if count > 1]
    assert set(twice) <= {"output-profile", "several-pages"}  # told of a file, and of a plan


@pytest.mark.parametrize("path", FRONTS, ids=[p.relative_to(SOURCE).as_posix() for p in FRONTS])
def test_no_front_end_parses_a_sentence(path: Path) -> None:
    """Findings are data: a choice says what it does, a span which figure it shows."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    name = path.relative_to(SOURCE).as_posix()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import) and name not in PATTERNS_ALLOWED:
            assert "re" not in [one.name for one in node.names], f"line {node.lineno}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            on = node.func.value
            sentence = isinstance(on, ast.Attribute) and on.attr in SENTENCES
            assert not (sentence and node.func.attr in PARSES), f"line {node.lineno}"
        if isinstance(node, ast.Compare):
            sides = [one.attr for one in node.comparators if isinstance(one, ast.Attribute)]
            within = any(isinstance(one, ast.In | ast.NotIn) for one in node.ops)
            assert not (within and SENTENCES & set(sides)), f"line {node.lineno}"
