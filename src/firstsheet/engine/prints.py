"""Sums over what happened to a print: sheets used, good and spoiled.

Takes history lines; gives numbers. Tests: tests/engine/test_print_state.py.
"""

from __future__ import annotations

from collections.abc import Iterable

from firstsheet.engine.records.ledger import HistoryLine, PrintState, PrintVerdict

__all__ = ["print_state"]


def print_state(lines: Iterable[HistoryLine]) -> PrintState:
    """Sum the lines of one print that stand.

    Parameters
    ----------
    lines
        Its history, oldest first. Withdrawn lines and withdrawals count nothing.
    """
    used, good, spoiled = 0, 0, 0
    verdict: PrintVerdict = ""
    for line in lines:
        if line.is_withdrawn or line.kind == "withdrawn":
            continue
        used += line.copies if line.kind == "printed" else 0
        good += line.copies if line.verdict == "good" else 0
        spoiled += line.copies if line.verdict == "spoiled" else 0
        verdict = line.verdict or verdict
    return PrintState(used=used, good=good, spoiled=spoiled, verdict=verdict)
