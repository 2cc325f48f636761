"""A finding: one statement about picture, ticket, stock or place. Data only."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = ["Choice", "Finding", "GoesTo", "Span", "Weight"]

Weight = Literal["fine", "caution", "stop"]
GoesTo = Literal["", "losses", "compare", "crop", "dust", "test-strips"]


class Span(Record):
    """A stretch of a sentence that shows a figure."""

    part: Literal["found", "consequence"]
    start: int = Field(ge=0)  # first character
    end: int = Field(ge=0)  # behind the last
    figure: str  # its key: one of the finding's own figures, or one of the plan's


class Choice(Record):
    """One thing that can be done, and what it does."""

    text: str  # a sentence
    change: dict[str, str] = Field(default_factory=dict)  # ticket lines it sets, as typed
    option: str = ""  # how the command line says it, where no change of the ticket does
    goes_to: GoesTo = ""  # the part of the program it leads to


class Finding(Record):
    """One statement: what was found, what follows, what can be chosen."""

    code: str  # stable, kebab-case, for programs and tests
    weight: Weight
    found: str
    consequence: str
    choices: tuple[Choice, ...] = ()
    figures: dict[str, float | int | str | bool] = Field(default_factory=dict)  # unit in the key
    spans: tuple[Span, ...] = ()  # where `found` and `consequence` show a figure
    source: str = ""  # where the rule comes from
