"""Sums over a print's history, each worked out by hand."""

from firstsheet.engine.prints import print_state
from firstsheet.engine.records.ledger import HistoryLine, PrintState


def line(number: int, kind: str, copies: int, verdict: str = "", **more: object) -> HistoryLine:
    return HistoryLine.model_validate(
        {"number": number, "entry": 1, "at": "", "kind": kind, "copies": copies}
        | {"verdict": verdict, **more}
    )


def test_a_print_nobody_printed_has_used_nothing() -> None:
    assert print_state([]) == PrintState(used=0, good=0, spoiled=0, verdict="")


def test_printed_sheets_are_used_and_judged_sheets_are_not_used_again() -> None:
    lines = [
        line(1, "printed", 4),
        line(2, "judged", 3, "good"),
        line(3, "printed", 2, "spoiled"),
        line(4, "judged", 1, "spoiled"),
    ]

    assert print_state(lines) == PrintState(used=6, good=3, spoiled=3, verdict="spoiled")


def test_a_withdrawn_line_counts_nothing_and_gives_no_verdict() -> None:
    lines = [
        line(1, "printed", 1, "good"),
        line(2, "printed", 9, "spoiled", is_withdrawn=True),
        line(3, "withdrawn", 0, withdraws=2),
    ]

    assert print_state(lines) == PrintState(used=1, good=1, spoiled=0, verdict="good")
