"""Why a print differs: causes tried against the readings, ranked, each with its reason.

Takes aims, readings and circumstances; gives causes. A cause is held to what it would have
printed: computed through profiles by the caller (converted twice, another stock's paper), or by
small models here (another paper white, another ink load, one ink weak). Where colour cannot tell
two apart, both are named. Theory: docs/theory/verify.md. Tests: tests/engine/verify/test_causes.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.records.reading import Illumination
from firstsheet.engine.records.verification import Cause, PatchRole
from firstsheet.engine.verify.models import black_fit, ink_fit, load_fit, paper_scaled

__all__ = ["Circumstances", "Prediction", "likely_causes"]

Floats = NDArray[np.float64]
_WORTH_ASKING = 1.0  # mean ΔE00 below which nothing needs a cause
_LIKELY, _POSSIBLE = 0.5, 0.75  # share of the difference that is left with the cause
_PER_NUMBER = 0.04  # share a fitted number must earn before it counts
_PAPER_MOVED = 1.5  # ΔE00
_PAPER_SAME = 2.0
_DRY_HOURS = 24.0
_MOST = 4
_INKS = {0: ("cyan", "reds stay red, blues and greens fail"),
         1: ("magenta", "greens stay green, reds and blues fail"),
         2: ("yellow", "blues stay blue, reds and greens fail")}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Prediction:
    """What the patches would read if something had happened."""

    code: str  # converted-twice, not-converted, other-paper
    title: str
    lab: Floats  # (n, 3), absolute, in the order of the aims
    choice: str


@dataclass(frozen=True, eq=False)
class Circumstances:
    """What is known beside the colours."""

    predictions: tuple[Prediction, ...] = ()
    illumination: Illumination = ""  # the readings were made under
    expected_illumination: Illumination = ""  # the aims were made under
    hours_since_print: float | None = None
    drift: str = ""  # a sentence about earlier readings; empty where they show none


class _Tried(NamedTuple):
    """A cause with what is left of the difference."""

    code: str
    title: str
    reason: str
    after: float | None
    numbers: int  # that were fitted
    choice: str
    stated: bool = False  # known from what the file or the person says


def likely_causes(
    aim_lab: Floats, read_lab: Floats, roles: Sequence[PatchRole], known: Circumstances
) -> tuple[Cause, ...]:
    """Causes that explain the difference, the best first; at most four.

    Parameters
    ----------
    aim_lab, read_lab
        (n, 3), absolute.
    roles
        Of each patch.
    known
        What is known beside the colours.
    """
    before = _mean(aim_lab, read_lab)
    paper = next((index for index, role in enumerate(roles) if role == "paper"), None)
    same_paper = paper is None or _mean(aim_lab[paper], read_lab[paper]) < _PAPER_MOVED
    if before < _WORTH_ASKING and same_paper:
        return ()
    tried = [_predicted(one, read_lab, before) for one in known.predictions]
    if paper is not None:
        tried += _paper_causes(aim_lab, read_lab, paper, before, known)
        tried += _ink_causes(aim_lab, read_lab, paper, before, known)
    if known.drift:
        tried.append(_Tried("drift", "Slow drift", known.drift, None, 0, _DRIFT, True))
    return _ranked(tried, before)


_DRIFT = "Clean and calibrate the printer, and measure again; else make a new profile."
_PAPER = "Check which paper was loaded, and that the printable side faced up."
_LOAD = "Check the media setting and the print quality in the print dialog."


def _mean(first: Floats, second: Floats) -> float:
    return float(np.mean(delta_e_2000(first, second)))


def _fell(before: float, after: float) -> str:
    return f"mean ΔE00 falls from {before:.1f} to {after:.1f}"


def _predicted(one: Prediction, read: Floats, before: float) -> _Tried:
    after = _mean(one.lab, read)
    return _Tried(
        one.code,
        one.title,
        f"Held against what that would print, {_fell(before, after)}.",
        after,
        0,
        one.choice,
    )


# ---- the paper itself ---------------------------------------------------------------------


def _paper_causes(
    aim: Floats, read: Floats, paper: int, before: float, known: Circumstances
) -> list[_Tried]:
    """Everything that begins with another white."""
    moved = read[paper] - aim[paper]
    if _mean(aim[paper], read[paper]) < _PAPER_MOVED:
        return []
    after = _mean(paper_scaled(aim, read, paper), read)
    figures = f"ΔL* {moved[0]:+.1f}, Δa* {moved[1]:+.1f}, Δb* {moved[2]:+.1f}"
    told = f"The paper itself differs ({figures}); relative to it {_fell(before, after)}."
    bluish = abs(moved[2]) >= 1.2 and abs(moved[2]) >= 2.0 * max(abs(moved[0]), abs(moved[1]))
    if bluish:
        return _brightener(told, after, float(moved[2]), known)
    tried = [_Tried("other-paper", "Another paper", told, after, 2, _PAPER)]
    if max(abs(moved[1]), abs(moved[2])) < 0.6:
        tried.insert(
            0,
            _Tried(
                "instrument-scale",
                "The instrument’s white reference, or its aged lamp",
                f"All colours and the paper are {'darker' if moved[0] < 0 else 'lighter'} by one "
                f"factor, without a tint ({figures}); with it {_fell(before, after)}.",
                after,
                1,
                "Clean the white tile, calibrate, and read the paper again.",
            ),
        )
    return tried


def _brightener(told: str, after: float, moved_b: float, known: Circumstances) -> list[_Tried]:
    """Blue alone moved: UV in the instrument's light, brightener, or its loss."""
    way = "bluer" if moved_b < 0 else "yellower"
    both = (known.illumination, known.expected_illumination)
    stated = all(both) and both[0] != both[1]
    blue = f"{told} It moved mostly in b* ({way} by {abs(moved_b):.1f})"
    reason = f"{blue}, as brightener does under other UV."
    if stated:
        reason += f" The readings are {both[0]}, the aims {both[1]}."
    condition = _Tried(
        "measuring-condition",
        "Another measuring condition (brightener)",
        reason,
        after,
        1,
        "Read again under the condition the profile was made under, often M1.",
        stated,
    )
    if not stated and all(both):  # the same condition on both sides: the instrument or the paper
        lamp = _Tried(
            "aged-lamp",
            "An aged lamp of the instrument, or brightener that faded",
            f"{blue}, under the same {both[0]}.",
            after,
            1,
            "Read a fresh sheet of the same paper: if it reads as yellow, it is the instrument.",
        )
        return [lamp, _Tried("other-paper", "Another paper", told, after, 2, _PAPER)]
    return [condition, _Tried("other-paper", "Another paper", told, after, 2, _PAPER)]


# ---- inks ---------------------------------------------------------------------------------


def _ink_causes(
    aim: Floats, read: Floats, paper: int, before: float, known: Circumstances
) -> list[_Tried]:
    """Everything that changes inks on the same paper."""
    if _mean(aim[paper], read[paper]) > _PAPER_SAME:
        aim = paper_scaled(aim, read, paper)
    tried: list[_Tried] = []
    factor, lab = load_fit(aim, read, paper)
    after = _mean(lab, read)
    amount = f"{abs(factor - 1):.0%} {'more' if factor > 1 else 'less'} ink density in all colours"
    hours = known.hours_since_print
    if hours is not None and hours < _DRY_HOURS:
        tried.append(
            _Tried(
                "not-dried",
                "Not dried yet",
                f"It was read {_hours(hours)} after printing; colour settles for a day. "
                f"With {amount} {_fell(before, after)}.",
                after,
                0,
                "Read it again after 24 hours.",
                hours < 2.0,
            )
        )
    if abs(factor - 1.0) >= 0.04:
        tried.append(
            _Tried(
                "media-setting",
                "Another media setting or quality",
                f"The paper agrees, and with {amount} {_fell(before, after)}.",
                after,
                1,
                _LOAD,
            )
        )
    for channel, (ink, effect) in _INKS.items():
        left, lab = ink_fit(aim, read, paper, channel)
        if left < 0.9:
            after = _mean(lab, read)
            tried.append(_weak_ink(ink, effect, left, after, before))
    left, lab = black_fit(aim, read, paper)
    if left < 0.9:
        after = _mean(lab, read)
        tried.append(_weak_ink("black", "neutrals fail, pure colours do not", left, after, before))
    return tried


def _weak_ink(ink: str, effect: str, left: float, after: float, before: float) -> _Tried:
    strength = "missing" if left < 0.1 else f"at {left:.0%} of its density"
    return _Tried(
        f"weak-{ink}",
        f"The {ink} ink is weak or missing",
        f"With {ink} {strength} {_fell(before, after)}; {effect}.",
        after,
        1,
        "Print the nozzle pattern, clean if lines are missing, and look at the ink level.",
    )


def _hours(hours: float) -> str:
    return f"{hours * 60:.0f} minutes" if hours < 1.5 else f"{hours:.0f} hours"


# ---- ranking ------------------------------------------------------------------------------


def _ranked(tried: Sequence[_Tried], before: float) -> tuple[Cause, ...]:
    """Sort by what is left, every fitted number held against it; what explains little goes."""

    def left(one: _Tried) -> float:
        share = 1.0 if one.after is None else one.after / before
        return share + _PER_NUMBER * one.numbers - (0.1 if one.stated else 0.0)

    kept = sorted(
        (one for one in tried if left(one) <= _POSSIBLE or one.stated), key=lambda one: left(one)
    )
    best = left(kept[0]) if kept else 0.0
    return tuple(
        Cause(
            code=one.code,
            title=one.title,
            reason=one.reason,
            chance="likely" if one.stated or _is_likely(left(one), best) else "possible",
            mean_before=before,
            mean_after=one.after,
            choice=one.choice,
        )
        for one in kept[:_MOST]
    )


def _is_likely(left: float, best: float) -> bool:
    return left <= _LIKELY and left <= best + 0.1
