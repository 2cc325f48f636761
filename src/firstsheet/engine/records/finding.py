"""A finding: one statement about picture, ticket, stock or place. Data only."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = [
    "Finding",
    "Weight",
]

Weight = Literal["fine", "caution", "stop"]


class Finding(Record):
    """One statement: what was found, what follows, what can be chosen."""

    code: str  # stable, kebab-case, for programs and tests
    weight: Weight
    found: str
    consequence: str
    choices: tuple[str, ...] = ()  # sentences; name the option or ticket line
    # beside each choice the ticket lines it sets, as typed; empty where it is advice only
    changes: tuple[dict[str, str], ...] = ()
    figures: dict[str, float | int | str | bool] = Field(default_factory=dict)  # unit in the key
    source: str = ""  # where the rule comes from
