"""Which number in a sentence is which figure, so that a page can show how it is worked out.

Takes texts and figures; gives the texts in parts, the numbers among them with their figure's key.
Which number is which figure was noted where the sentence was made.
Tests: tests/web/test_bench_worked.py.
"""

from __future__ import annotations

from collections.abc import Sequence

from firstsheet.bench.answers import Part
from firstsheet.engine.records import Finding, Span
from firstsheet.engine.records.figure import Figure, How, Input
from firstsheet.engine.units import plain_number

__all__ = ["own_figures", "parts_of", "worked_of"]

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


def parts_of(text: str, spans: Sequence[Span], figures: Sequence[Figure]) -> tuple[Part, ...]:
    """A text in parts; each that shows a known figure carries its key.

    Parameters
    ----------
    spans
        Where the text shows figures, as `engine.findings.said` noted them.
    figures
        Those that can be shown; a span of another one stays plain text.
    """
    known = {one.key for one in figures}
    own = {one.key.rpartition("/")[2]: one.key for one in figures if "/" in one.key}
    parts: list[Part] = []
    at = 0
    for span in sorted(spans, key=lambda one: one.start):
        key = span.figure if span.figure in known else own.get(span.figure, "")
        if not key:
            continue
        if span.start > at:
            parts.append(Part(text=text[at : span.start]))
        parts.append(Part(text=text[span.start : span.end], key=key))
        at = span.end
    if at < len(text):
        parts.append(Part(text=text[at:]))
    return tuple(parts)


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
