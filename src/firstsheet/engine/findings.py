"""How findings are worded and ordered.

Takes codes, sentences and figures; gives Finding records. A finding says what was found (with
unit), what follows, and what can be chosen. Tests: tests/engine/test_plan.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal, NamedTuple

from firstsheet.engine.records.finding import Choice, Finding, GoesTo, Span, Weight

__all__ = [
    "PRACTICE",
    "Said",
    "choice",
    "finding",
    "in_order",
    "joined",
    "percent",
    "said",
    "seen_once",
    "shown",
]

PRACTICE = "common practice, no source"
_OPEN, _MIDDLE, _CLOSE = "\uf8f0", "\uf8f1", "\uf8f2"  # private use: no text of a file has them

_ORDER: dict[Weight, int] = {"stop": 0, "caution": 1, "fine": 2}


def choice(
    text: str,
    change: Mapping[str, str] | None = None,
    *,
    option: str = "",
    goes_to: GoesTo = "",
) -> Choice:
    """One thing that can be done.

    Parameters
    ----------
    text
        A sentence, without the spelling of the command line.
    change
        The ticket lines it sets, as typed; an empty value takes a line out.
    option
        The command line's words, where it is more than a change of the ticket.
    goes_to
        The part of the program it leads to.
    """
    return Choice(text=text, change=dict(change or {}), option=option, goes_to=goes_to)


def shown(figure: str, words: str) -> str:
    """Words of a sentence that show a figure; `finding` and `said` note where they stand.

    >>> said(f"It has {shown('effective_ppi', '374 ppi')}.", "found").text
    'It has 374 ppi.'
    """
    return f"{_OPEN}{figure}{_MIDDLE}{words}{_CLOSE}"


class Said(NamedTuple):
    """A sentence, and where it shows figures."""

    text: str
    spans: tuple[Span, ...]


def said(sentence: str, part: Literal["found", "consequence"]) -> Said:
    """A sentence made with `shown`, as plain text and spans.

    >>> said(f"At {shown('ppi', '90 ppi')}.", "found").spans[0].start
    3
    """
    text, spans = "", []
    for piece in sentence.split(_OPEN):
        figure, middle, rest = piece.partition(_MIDDLE)
        if not middle:
            text += piece
            continue
        words, _, after = rest.partition(_CLOSE)
        spans.append(Span(part=part, start=len(text), end=len(text) + len(words), figure=figure))
        text += words + after
    return Said(text, tuple(spans))


def finding(
    code: str,
    weight: Weight,
    found: str,
    consequence: str,
    *ways: str | Choice,
    choices: Sequence[str | Choice] = (),
    source: str = "",
    figures: Mapping[str, float | int | str | bool] | None = None,
) -> Finding:
    """Build one finding; floats are rounded to six decimals so that they read well.

    Parameters
    ----------
    found, consequence
        Sentences; numbers that are figures are put in with `shown`.
    ways, choices
        What can be done: sentences, or made with `choice`.

    >>> finding("thin", "caution", "It is thin.", "It tears.", "Use more.").choices[0].text
    'Use more.'
    """
    tidy = {
        key: round(value, 6) if isinstance(value, float) else value
        for key, value in (figures or {}).items()
    }
    first, then = said(found, "found"), said(consequence, "consequence")
    return Finding(
        code=code,
        weight=weight,
        found=first.text,
        consequence=then.text,
        choices=tuple(choice(one) if isinstance(one, str) else one for one in (*ways, *choices)),
        figures=tidy,
        spans=(*first.spans, *then.spans),
        source=source,
    )


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort by weight (stop, caution, fine); the order within a weight is kept."""
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
