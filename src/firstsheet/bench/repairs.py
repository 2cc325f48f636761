"""Proposed repairs as choices on the bench.

Takes a plan's findings and the repairs that were looked for aside; gives the findings with a
button for each. The plan itself does not change by it. Tests: tests/jobs/test_bench_repairs.py.
"""

from __future__ import annotations

from collections.abc import Sequence

from firstsheet.engine.records import Choice, Finding, Ticket
from firstsheet.engine.records.repair import RepairFacts

__all__ = ["LOSE", "with_proposals"]

LOSE = "regions-lose"  # the finding that repairs answer


def with_proposals(
    findings: Sequence[Finding], proposals: Sequence[RepairFacts], ticket: Ticket
) -> tuple[Finding, ...]:
    """The findings, each repair that is not in the ticket yet as a choice of what is lost."""
    from firstsheet.store.repair_tables import repairs_text

    fresh = [one for one in proposals if one.wish not in ticket.repairs]
    if not fresh:
        return tuple(findings)
    choices = tuple(
        Choice(
            text=f"Try this repair: {one.sentence}",
            change={"repair": repairs_text((*ticket.repairs, one.wish))},
        )
        for one in fresh
    )
    shown = []
    for one in findings:
        if one.code == LOSE:
            one = one.model_copy(update={"choices": (*choices, *one.choices)})
        shown.append(one)
    return tuple(shown)
