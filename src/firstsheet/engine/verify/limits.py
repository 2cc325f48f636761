"""Limits a reading can be held against: our own, and those of two standards shown beside.

Takes figures; gives lines of a table. The standards are for press proofs against a printing
condition and are shown for scale only; a verdict here never carries their name.
Theory: docs/theory/verify.md. Tests: tests/engine/verify/test_limits.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from firstsheet.engine.records.verification import Greys, LimitLine, PatchResult
from firstsheet.engine.verify.compare import Statistics

__all__ = ["ISO_SOURCE", "OWN_SOURCE", "limit_lines"]

OWN_SOURCE = "our own suggestion for a fine-art print against its own profile, no source"
ISO_SOURCE = (
    "ISO 12647-7:2016 (4.3.2 b, table 2) and ISO 12647-8:2021 (4.2.1 b, table 1), read in a public "
    "transcription of their previews; they are for press proofs"
)


class _Limit(NamedTuple):
    name: str
    own: float | None
    iso_7: float | None
    iso_8: float | None


_PAPER = _Limit("Paper, ΔE00", 3.0, 3.0, 3.0)
_MEAN = _Limit("Mean ΔE00", 2.0, 2.5, 2.5)
_P95 = _Limit("95 % below, ΔE00", 4.0, None, 5.0)
_LARGEST = _Limit("Largest ΔE00", 6.0, 5.0, None)
_GREY_MEAN = _Limit("Greys, mean ΔCh", 2.0, 2.0, 2.5)
_GREY_LARGEST = _Limit("Greys, largest ΔCh", None, 3.5, 4.0)


def limit_lines(
    figures: Statistics, paper: PatchResult | None, greys: Greys | None
) -> tuple[LimitLine, ...]:
    """The table of figures and limits.

    Parameters
    ----------
    figures
        Of all patches that count.
    paper, greys
        None where none was read.
    """
    lines: list[LimitLine] = []
    if paper is not None:
        lines.append(_line(_PAPER, paper.de00))
    lines += [
        _line(_MEAN, figures.mean),
        _line(_P95, figures.p95),
        _line(_LARGEST, figures.maximum, figures.worst),
    ]
    if greys is not None:
        lines.append(_line(_GREY_MEAN, greys.mean_delta_ch))
        lines.append(_line(_GREY_LARGEST, greys.max_delta_ch, greys.worst))
    return tuple(lines)


def _line(limit: _Limit, value: float, worst: str = "") -> LimitLine:
    return LimitLine(
        name=limit.name,
        value=value,
        worst=worst,
        own_limit=limit.own,
        own_passes=None if limit.own is None else value <= limit.own,
        iso_7=limit.iso_7,
        iso_8=limit.iso_8,
    )


def failed(lines: Sequence[LimitLine]) -> tuple[LimitLine, ...]:
    """The lines beyond our own limit."""
    return tuple(line for line in lines if line.own_passes is False)
