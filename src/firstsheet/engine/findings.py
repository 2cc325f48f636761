"""How findings are worded and ordered.

Takes codes, sentences and figures; gives Finding records. A finding says what was found (with
unit), what follows, and what can be chosen. Tests: tests/engine/test_plan.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from firstsheet.engine.records import Finding, Weight

__all__ = ["PRACTICE", "finding", "in_order", "joined", "percent", "seen_once"]

PRACTICE = "common practice, no source"

_ORDER: dict[Weight, int] = {"stop": 0, "caution": 1, "fine": 2}


def finding(
    code: str,
    weight: Weight,
    found: str,
    consequence: str,
    *choices: str,
    changes: Mapping[int, dict[str, str]] | None = None,
    source: str = "",
    figures: dict[str, float | int | str | bool] | None = None,
) -> Finding:
    """Build one finding; floats are rounded to six decimals so that they read well.

    Parameters
    ----------
    changes
        For a choice, counted from 0: the ticket lines it sets, as typed.

    >>> finding("thin", "caution", "It is thin.", "It tears.", "Take more.").choices
    ('Take more.',)
    """
    tidy = {
        key: round(value, 6) if isinstance(value, float) else value
        for key, value in (figures or {}).items()
    }
    return Finding(
        code=code,
        weight=weight,
        found=found,
        consequence=consequence,
        choices=choices,
        changes=tuple(changes.get(at, {}) for at in range(len(choices))) if changes else (),
        figures=tidy,
        source=source,
    )


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort by weight (stop, mind, fine); the order within a weight is kept."""
    return tuple(sorted(findings, key=lambda one: _ORDER[one.weight]))


def seen_once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Drop exact repeats, keep the first of each."""
    kept: list[Finding] = []
    for one in findings:
        if one not in kept:
            kept.append(one)
    return tuple(kept)


def percent(share: float) -> str:
    """A share in per cent, with one decimal below ten and a floor that stays honest.

    >>> percent(16.67), percent(2.6), percent(0.004), percent(0)
    ('17 %', '2.6 %', 'below 0.1 %', '0 %')
    """
    if share <= 0:
        return "0 %"
    if share < 0.1:
        return "below 0.1 %"
    return f"{share:.0f} %" if share >= 10 else f"{share:.1f} %"


def joined(words: Iterable[str]) -> str:
    """Words in a row as a sentence has them.

    >>> joined(["left"]), joined(["left", "top", "foot"])
    ('left', 'left, top and foot')
    """
    row = list(words)
    if len(row) < 2:
        return "".join(row)
    return f"{', '.join(row[:-1])} and {row[-1]}"
