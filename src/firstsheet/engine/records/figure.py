"""A figure and how it is worked out, as records, and the one way to make them.

Tests: tests/engine/test_explain.py.
"""

from __future__ import annotations

from firstsheet.engine.records import Record
from firstsheet.engine.units import plain_number

__all__ = [
    "Figure",
    "How",
    "Input",
    "one_figure",
]


class Input(Record):
    """One number that goes in."""

    name: str
    value: str  # as it is shown
    number: float


class How(Record):
    """How a figure is worked out."""

    formula: str
    inputs: tuple[Input, ...]
    source: str


class Figure(Record):
    """One number in words, with its way."""

    key: str
    label: str
    value: str  # as it is shown
    number: float
    how: How


def one_figure(
    key: str,
    label: str,
    number: float,
    unit: str,
    formula: str,
    source: str,
    *inputs: tuple[str, float, str],
    decimals: int = 1,
    words: str = "",
) -> Figure:
    """A figure; each input is a name, a number and its unit."""
    return Figure(
        key=key,
        label=label,
        value=words or _shown(number, unit, decimals),
        number=number,
        how=How(
            formula=formula,
            inputs=tuple(
                Input(name=name, value=_shown(value, of, 4), number=value)
                for name, value, of in inputs
            ),
            source=source,
        ),
    )


def _shown(number: float, unit: str, decimals: int) -> str:
    digits = plain_number(number, decimals)
    return f"{digits} {unit}".strip()
