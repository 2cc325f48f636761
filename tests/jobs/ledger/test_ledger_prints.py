"""Prints as a person meets them: listed, found, shown, printed, judged."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from firstsheet.engine.errors import LedgerError
from firstsheet.jobs.ledger.prints import (
    judge_print,
    prints_known,
    say_printed,
    show_print,
    withdraw_line,
)


def run(ledger: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "firstsheet", "prints", *words, "--ledger", str(ledger)]
    return subprocess.run(command, capture_output=True, text=True, timeout=120)


def answer_of(ledger: Path, *words: str) -> Any:
    return json.loads(run(ledger, *words, "--json").stdout)


def test_a_print_goes_from_made_to_printed_to_judged(ledger: Path) -> None:
    assert prints_known(ledger, verdict="unjudged").count == 1

    say_printed("1", ledger, copies=3, verdict="", words="")
    judge_print("latest", ledger, copies=1, verdict="spoiled", words="dust on the sheet")
    shown = judge_print("1", ledger, copies=None, verdict="good", words="deep blacks")

    assert (shown.state.used, shown.state.good, shown.state.spoiled) == (3, 2, 1)
    assert shown.words == "Print 1: 2 sheets judged good."
    assert prints_known(ledger, words="deep bla", verdict="good").prints[0].used == 3
    assert prints_known(ledger, verdict="unjudged").count == 0


def test_a_print_is_named_by_its_folder_too(
    ledger: Path, made_once: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(made_once.folder.parent)

    assert show_print("print", ledger).entry.number == 1
    assert show_print(str(made_once.folder), ledger).entry.number == 1
    assert show_print("./print", ledger).entry.number == 1


def test_what_has_gone_since_is_told(ledger: Path, made_once: Any) -> None:
    assert show_print("1", ledger).picture_is_there

    aside = made_once.scan.rename(made_once.scan.with_name("aside.tif"))
    try:
        shown = show_print("1", ledger)
        told = run(ledger, "show", "1").stdout
    finally:
        aside.rename(made_once.scan)

    assert not shown.picture_is_there
    assert shown.folder_is_there
    assert "(no longer there)" in " ".join(told.split())


@pytest.mark.parametrize("copies", [0, -1, 100_001])
def test_a_number_of_sheets_that_is_none_is_refused(ledger: Path, copies: int) -> None:
    with pytest.raises(LedgerError) as refused:
        say_printed("1", ledger, copies=copies, verdict="good", words="")

    assert refused.value.code == "bad-copies"
    assert show_print("1", ledger).state.used == 0


def test_a_line_is_withdrawn_by_its_number(ledger: Path) -> None:
    line = say_printed("1", ledger, copies=5, verdict="good", words="").history[-1].number

    shown = withdraw_line("1", line, ledger, words="it was another print")

    assert shown.state.used == 0
    assert shown.history[0].is_withdrawn


def test_the_commands_tell_the_same_as_the_jobs(ledger: Path) -> None:
    printed = run(ledger, "printed", "1", "--copies", "2", "--spoiled", "head strike")
    assert printed.returncode == 0
    assert "2 sheets printed, spoiled." in printed.stdout
    assert "2 sheets printed, spoiled: head strike" in printed.stdout

    listed = answer_of(ledger, "--find", "strike")
    assert listed == json.loads(prints_known(ledger, words="strike").model_dump_json())
    assert listed["prints"][0]["spoiled"] == 2
    assert "2 spoiled" in run(ledger).stdout
    assert answer_of(ledger, "show", "1") == json.loads(show_print("1", ledger).model_dump_json())


def test_options_that_contradict_are_refused(ledger: Path) -> None:
    both = run(ledger, "printed", "1", "--good", "x", "--spoiled", "y")
    neither = run(ledger, "judged", "1")

    assert both.returncode == neither.returncode == 2
    assert "--good or --spoiled, not both" in both.stderr
    assert show_print("1", ledger).history == ()


def test_an_unknown_print_ends_with_the_ledgers_exit_code(ledger: Path) -> None:
    answer = run(ledger, "show", "99")

    assert answer.returncode == 7
    assert "knows no print called “99”" in answer.stderr


def test_an_absent_ledger_lists_nothing_and_is_not_made(tmp_path: Path) -> None:
    answer = run(tmp_path / "none.sqlite3")

    assert answer.returncode == 0
    assert "No print" in answer.stdout
    assert not (tmp_path / "none.sqlite3").exists()
