"""The command line as its user meets it: help, answers, errors, exit codes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from firstsheet import __version__
from firstsheet.cli.main import cli

COMMANDS: list[tuple[str, ...]] = [
    ("check",),
    ("plan",),
    ("make",),
    ("proof",),
    ("losses",),
    ("compare",),
    ("sizes",),
    ("rescan",),
]
COMMANDS += [("stock", name) for name in ("add", "list", "show", "remove")]
COMMANDS += [("prints",), ("again",)]
COMMANDS += [
    ("prints", name) for name in ("show", "keep", "printed", "judged", "withdraw", "costs", "price")
]
COMMANDS += [("ledger", name) for name in ("check", "export", "import", "backup")]
COMMANDS += [("edition", name) for name in ("new", "number", "spoil", "give", "withdraw", "list")]
COMMANDS += [("edition", name) for name in ("certificate", "holders", "erase")]


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "firstsheet", *words], capture_output=True, text=True, timeout=120
    )


def test_version_is_told() -> None:
    answer = run("--version")

    assert answer.returncode == 0
    assert __version__ in answer.stdout


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_every_command_explains_itself(command: tuple[str, ...]) -> None:
    answer = run(*command, "--help")

    assert answer.returncode == 0
    assert answer.stdout.startswith("Usage: ")
    assert "--json" in answer.stdout


def test_help_loads_none_of_the_heavy_rooms() -> None:
    code = (
        "import sys; from firstsheet.cli.main import cli\n"
        "try: cli(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'numba', 'pydantic', 'tifffile', 'imagecodecs', 'pyvips', 'PIL',"
        " 'reportlab', 'rich'}\n"
        "sys.exit(','.join(sorted(heavy & set(sys.modules))) or 0)"
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)

    assert answer.returncode == 0, answer.stderr


def test_an_unknown_option_is_a_slip_with_exit_code_two() -> None:
    answer = run("make", "x.tif", "--widht", "3cm")

    assert answer.returncode == 2
    assert "--widht" in answer.stderr


def test_a_missing_picture_is_refused_in_three_parts(tmp_path: Path) -> None:
    answer = run("check", str(tmp_path / "nowhere.tif"))

    assert answer.returncode == 3
    assert "nowhere.tif" in answer.stderr
    assert "→" in answer.stderr
    assert "Traceback" not in answer.stderr


def test_an_error_for_programs_is_json(tmp_path: Path) -> None:
    answer = run("check", str(tmp_path / "nowhere.tif"), "--json")
    error = json.loads(answer.stdout)["error"]

    assert answer.returncode == 3
    assert error["exit_code"] == 3
    assert all(error[part] for part in ("code", "found", "consequence", "choice"))


def test_an_unknown_stock_names_those_that_exist(tmp_path: Path) -> None:
    answer = run("stock", "show", "chalk-mate", "--stocks", str(tmp_path))

    assert answer.returncode == 2
    assert "chalk-matte" in answer.stderr


def test_every_command_is_told_in_the_readme() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")

    for command in cli.commands:
        assert f"firstsheet {command}" in readme, command
