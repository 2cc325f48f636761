"""Which number in a sentence is which figure, so that a page can show how it is worked out.

Takes texts and figures; gives the texts in parts, the numbers among them with their figure's key.
A number belongs to a figure when it is that figure (or one of its inputs) rounded as the text
rounds it, and its unit agrees. Tests: tests/web/test_bench_worked.py.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from firstsheet.bench.answers import Part
from firstsheet.engine.records import Finding
from firstsheet.engine.records.figure import Figure, How, Input
from firstsheet.engine.units import plain_number

__all__ = ["own_figures", "parts_of", "worked_of"]

_NUMBER = re.compile(
    r"(?<![\w.,/])(?P<digits>\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?)(?![\d:])"
    r"(?:[  ](?P<unit>%|ppi|spi|mm|cm|lux|cd/m²|MB|L\*)(?![\w²]))?"
)
_BEFORE = re.compile(r"(?:ΔE00|above|than|under|about a screen of|screen of|×)[  ]?$")
_UNITS = ("%", "ppi", "spi", "mm", "lux", "cd/m²", "MB", "L*", "ΔE00")
_SUFFIXES = (
    ("_percent", "%"),
    ("_cd_m2", "cd/m²"),
    ("_mm", "mm"),
    ("_ppi", "ppi"),
    ("_spi", "spi"),
    ("_lux", "lux"),
    ("_de00", "ΔE00"),
    ("_px", "px"),
    ("_bytes", "bytes"),
)


def parts_of(text: str, figures: Sequence[Figure]) -> tuple[Part, ...]:
    """A text in parts; each number that is a figure carries its key."""
    parts: list[Part] = []
    at = 0
    for found in _NUMBER.finditer(text):
        key = _key_of(found, text, figures)
        if not key:
            continue
        if found.start() > at:
            parts.append(Part(text=text[at : found.start()]))
        parts.append(Part(text=found.group(), key=key))
        at = found.end()
    if at < len(text):
        parts.append(Part(text=text[at:]))
    return tuple(parts)


def _key_of(found: re.Match[str], text: str, figures: Sequence[Figure]) -> str:
    digits = found["digits"].replace(",", "")
    decimals = len(digits.partition(".")[2])
    unit = found["unit"] or ""
    if not unit and _BEFORE.search(text[: found.start()]):
        return ""  # a threshold that is named, not worked out
    for inputs_too in (False, True):
        for one in figures:
            held = one.how.inputs if inputs_too else (one,)
            if inputs_too and not unit:
                continue
            if any(_is(digits, decimals, unit, part.number, part.value) for part in held):
                return one.key
    return ""


def _is(digits: str, decimals: int, unit: str, number: float, shown: str) -> bool:
    own = next((one for one in _UNITS if one in shown), "")
    if unit and unit != own:
        return False
    if not unit and decimals == 0 and number < 10:
        return False  # a small bare count says too little to be recognised by
    return f"{abs(number):.{decimals}f}" == digits


def own_figures(finding: Finding) -> tuple[Figure, ...]:
    """What a finding itself has measured, as figures; its source stands beside them."""
    found = []
    numbers = {
        name: float(value)
        for name, value in finding.figures.items()
        if isinstance(value, int | float) and not isinstance(value, bool)
    }
    for name, number in numbers.items():
        label, unit = _named(name)
        value = f"{plain_number(number, 2)} {unit}".strip()
        inputs = tuple(
            Input(
                name=_named(other)[0],
                value=f"{plain_number(one, 2)} {_named(other)[1]}".strip(),
                number=one,
            )
            for other, one in numbers.items()
            if other != name
        )
        how = How(
            formula="measured in the picture or taken from the ticket",
            inputs=inputs,
            source=finding.source or "docs/theory",
        )
        found.append(
            Figure(key=f"{finding.code}/{name}", label=label, value=value, number=number, how=how)
        )
    return tuple(found)


def _named(name: str) -> tuple[str, str]:
    """A figure's name as words, and its unit.

    >>> _named("share_percent")
    ('share', '%')
    """
    for suffix, unit in _SUFFIXES:
        if name.endswith(suffix):
            return name.removesuffix(suffix).replace("_", " ") or unit, unit
    return name.replace("_", " "), ""


def worked_of(parts: Sequence[Part], figures: Sequence[Figure]) -> tuple[Figure, ...]:
    """The figures that parts name, each once, in the order they are read."""
    known = {one.key: one for one in figures}
    return tuple(known[key] for key in dict.fromkeys(one.key for one in parts if one.key))
