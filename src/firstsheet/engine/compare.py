"""Papers and intents side by side for one picture: which loses least, and why.

Takes the losses of each; gives them in order with a reason. Theory: docs/theory/loss.md.
Tests: tests/engine/test_compare.py.
"""

from __future__ import annotations

from collections.abc import Sequence

from firstsheet.engine.records import Intent, Record

__all__ = ["Candidate", "ranked", "ranking_words"]

_ALIKE_PERCENT = 0.5  # shares closer than this are called alike
_ALIKE_DE00 = 0.1


class Candidate(Record):
    """One paper with one intent, and what it takes away of the picture."""

    stock: str
    title: str
    intent: Intent
    mean_de00: float
    over_5_percent: float
    merged_levels: int


def _worth(one: Candidate) -> tuple[float, float, int]:
    """Shares that are alike count as one, then means, then lost shadow levels."""
    return (
        round(one.over_5_percent / _ALIKE_PERCENT),
        round(one.mean_de00 / _ALIKE_DE00),
        one.merged_levels,
    )


def ranked(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Least lost first: share of plain losses (above ΔE00 5), then the mean, then shadows."""
    return tuple(sorted(candidates, key=lambda one: (*_worth(one), one.stock, one.intent)))


def ranking_words(order: Sequence[Candidate]) -> tuple[str, ...]:
    """For each place, why it stands there, against the one before it."""
    words = []
    for place, one in enumerate(order):
        if place == 0:
            words.append(
                f"Loses least: {one.over_5_percent:.1f} % of the picture plainly (above ΔE00 5)."
            )
            continue
        before = order[place - 1]
        mine, theirs = _worth(one), _worth(before)
        if mine == theirs:
            words.append("Alike to the one before, as far as the eye tells.")
        elif mine[0] != theirs[0]:
            more = one.over_5_percent - before.over_5_percent
            words.append(f"{more:.1f} % more of the picture is changed plainly.")
        elif mine[1] != theirs[1]:
            words.append(
                f"As much is changed plainly, but ΔE00 {one.mean_de00 - before.mean_de00:.1f} "
                "more on average."
            )
        else:
            words.append(
                f"Colours alike, but {one.merged_levels - before.merged_levels} more shadow "
                "levels print as one black."
            )
    return tuple(words)
