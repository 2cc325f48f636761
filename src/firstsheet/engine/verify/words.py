"""The verdict in a sentence, and what will still be seen.

Takes figures; gives words. A set that passes with warm greys says so: limits are about press
proofs and averages, an eye is about neutrals. The thresholds from which something is named are
ours. Theory: docs/theory/verify.md. Tests: tests/engine/verify/test_readings_verdict.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from firstsheet.engine.findings import joined
from firstsheet.engine.records.verification import (
    Greys,
    GroupResult,
    LimitLine,
    PatchResult,
    Seen,
)
from firstsheet.engine.verify.compare import Statistics, cast_words
from firstsheet.engine.verify.limits import failed

__all__ = ["seen_by_eye", "verdict_sentence"]

_BLACK_L = 1.0  # L* from which a black's shift is named
_PAPER = 1.5  # ΔE00
_ALL_L = 1.0  # L*, mean of all patches
_HUE = 2.0  # ΔE00, mean of one hue
_HUE_APART = 1.4  # times the mean of all
_MOST_NAMED = 3


def seen_by_eye(
    figures: Statistics,
    patches: Sequence[PatchResult],
    greys: Greys | None,
    hues: Sequence[GroupResult],
) -> tuple[Seen, ...]:
    """What a person will see on this print, most visible first."""
    found: list[Seen] = []
    if greys is not None and greys.cast:
        amount = math.hypot(greys.cast_a, greys.cast_b)
        found.append(
            Seen(
                code="grey-cast",
                words=f"{greys.cast} greys",
                amount=amount,
                figure=f"ΔCh {amount:.1f} on average",
            )
        )
    found += _overall(patches)
    found += [one for patch in patches for one in _single(patch)]
    for hue in hues:
        if hue.mean_de00 >= _HUE and hue.mean_de00 >= _HUE_APART * figures.mean:
            found.append(
                Seen(
                    code=f"hue-{hue.name}",
                    words=f"{_hue_change(hue)} {hue.name}",
                    amount=hue.mean_de00,
                    figure=f"mean ΔE00 {hue.mean_de00:.1f}",
                )
            )
    return tuple(sorted(found, key=lambda one: -_weight(one)))


def _weight(seen: Seen) -> float:
    """Neutrals count double: common practice, no source."""
    return seen.amount * (2.0 if seen.code in ("grey-cast", "all-shifted") else 1.0)


def _overall(patches: Sequence[PatchResult]) -> list[Seen]:
    """Everything lighter or darker, paper left out."""
    shifts = [one.delta_l for one in patches if one.role != "paper"]
    mean = sum(shifts) / len(shifts) if shifts else 0.0
    if abs(mean) < _ALL_L:
        return []
    way = "light" if mean > 0 else "dark"
    words = f"tones {abs(mean):.1f} L* too {way} throughout"
    return [Seen(code="all-shifted", words=words, amount=abs(mean), figure=f"{mean:+.1f} L*")]


def _single(patch: PatchResult) -> list[Seen]:
    """What is seen of the black and of the paper."""
    if patch.role == "black" and abs(patch.delta_l) >= _BLACK_L:
        way = "light" if patch.delta_l > 0 else "dark"
        return [
            Seen(
                code="black-shifted",
                words=f"a black {abs(patch.delta_l):.1f} L* too {way}",
                amount=abs(patch.delta_l),
                figure=f"{patch.delta_l:+.1f} L*",
            )
        ]
    if patch.role == "paper" and patch.de00 >= _PAPER:
        return [
            Seen(
                code="paper-differs",
                words=f"a {_paper_words(patch)} paper",
                amount=patch.de00,
                figure=f"ΔE00 {patch.de00:.1f}",
            )
        ]
    return []


def _paper_words(paper: PatchResult) -> str:
    cast = cast_words(paper.delta_a, paper.delta_b)
    if cast and paper.delta_ch >= abs(paper.delta_l):
        return {"warm": "warmer", "cool": "cooler"}.get(cast, f"more {cast}")
    return "lighter" if paper.delta_l > 0 else "darker"


def _hue_change(hue: GroupResult) -> str:
    """How a group of colours differs, by the largest part of it."""
    ways = {
        ("duller" if hue.mean_delta_c < 0 else "stronger"): abs(hue.mean_delta_c) / 1.5,
        ("darker" if hue.mean_delta_l < 0 else "lighter"): abs(hue.mean_delta_l),
        "turned": abs(hue.mean_turn_degrees) / 2.0,
    }
    return max(ways, key=lambda word: ways[word])


def verdict_sentence(lines: Sequence[LimitLine], seen: Sequence[Seen]) -> str:
    """Passes or not, why, and what will still be seen.

    Examples
    --------
    >>> verdict_sentence((), ())
    'Passes; nothing of the difference will be seen.'
    """
    broken = failed(lines)
    named = joined(one.words for one in seen[:_MOST_NAMED])
    if not broken:
        if not named:
            return "Passes; nothing of the difference will be seen."
        return f"Passes, with {named}."
    reasons = joined(
        f"{_in_a_sentence(line.name)} is {line.value:.1f} (limit {line.own_limit:g})"
        for line in broken
    )
    return f"Does not pass: {reasons}" + (f"; it shows {named}." if named else ".")


def _in_a_sentence(name: str) -> str:
    return name[0].lower() + name[1:]
