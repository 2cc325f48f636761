"""docs/commands.md says what the command line says."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parents[2]


def _tool(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, ROOT / "tools" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_of_commands_is_current() -> None:
    page = (ROOT / "docs/commands.md").read_text(encoding="utf-8")

    assert page == _tool("write_commands").commands_page(), "run tools/write_commands.py"


def test_every_option_says_what_it_means() -> None:
    page = (ROOT / "docs/commands.md").read_text(encoding="utf-8")

    rows = [line for line in page.splitlines() if line.startswith("| `")]
    assert [row for row in rows if row.endswith("|  |")] == []
    assert len(rows) > 60
