"""Which reading belongs to which patch of a chart.

Takes aims and a reading; gives Lab in the order of the aims, and what was odd: missing, doubled,
foreign patches, another order, another chart. What numbers do not settle is asked about.
Theory: docs/theory/verify.md. Tests: tests/engine/verify/test_matching.py.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.errors import QuestionError, ReadingError
from firstsheet.engine.findings import finding, joined
from firstsheet.engine.records import Finding
from firstsheet.engine.records.reading import Reading, ReadPatch
from firstsheet.engine.records.verification import Aim

__all__ = ["CHART", "ORDER", "Matched", "match_reading", "merged_aims"]

ORDER, CHART = "readings-order", "readings-chart"  # questions; answered in words below
_SAME_DEVICE = 0.006  # of 1; half a step of a file that rounds to per cent is 0.005
_DOUBLED_DIFFER = 2.0  # ΔE00 between two readings of one patch that is told
_ORDER_FROM = 6.0  # median ΔE00 from which another order is tried
_ORDER_GAIN = 0.5  # and must bring it down to this share
_ALIKE = 0.5  # correlation of L* below which it is hardly the same chart
_NAMED = 6

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Matched:
    """Aims that were read, and their Lab."""

    aims: tuple[Aim, ...]
    read_lab: Floats  # (n, 3)
    by: Literal["device", "name", "order"]
    findings: tuple[Finding, ...]


def merged_aims(aims: Sequence[Aim]) -> tuple[Aim, ...]:
    """Aims of the same device values as one, with the mean of their colours."""
    groups: dict[object, list[Aim]] = {}
    for aim in aims:
        groups.setdefault(aim.name if aim.device is None else aim.device, []).append(aim)
    merged = []
    for held in groups.values():
        light, a, b = np.mean([one.lab for one in held], axis=0).tolist()
        merged.append(held[0].model_copy(update={"lab": (light, a, b)}))
    return tuple(merged)


def match_reading(
    aims: Sequence[Aim], reading: Reading, *, answers: Mapping[str, str] | None = None
) -> Matched:
    """Find each aim's reading: by device values, else by name, else by order.

    Parameters
    ----------
    aims
        The chart, in its order; no two with the same device values (see `merged_aims`).
    reading
        What was measured.
    answers
        Replies to the questions `readings-order` (`as-read` or `reversed`) and `readings-chart`
        (`right`).

    Raises
    ------
    ReadingError
        If the reading is of another chart.
    QuestionError
        If another order fits far better, or it looks like another chart.
    """
    replies = answers or {}
    patches = reading.patches
    if replies.get(ORDER) == "reversed":
        labs = [patch.lab for patch in reversed(patches)]
        patches = tuple(
            patch.model_copy(update={"lab": lab}) for patch, lab in zip(patches, labs, strict=True)
        )
    by, places = _places(aims, patches, reading)
    findings = _oddities(aims, patches, places)
    kept = [index for index, held in enumerate(places) if held]
    read = np.array(
        [np.mean([patches[at].lab for at in places[index]], axis=0) for index in kept]
    ).reshape(-1, 3)
    matched = Matched(tuple(aims[index] for index in kept), read, by, findings)
    _ask_about_order(matched, aims, patches, replies)
    return matched


def _places(
    aims: Sequence[Aim], patches: Sequence[ReadPatch], reading: Reading
) -> tuple[Literal["device", "name", "order"], list[list[int]]]:
    """For each aim, the readings that are its own."""
    by_device = _by_device(aims, patches)
    if by_device is not None:
        return "device", by_device
    by_name = _by_name(aims, patches)
    if sum(bool(held) for held in by_name) >= 0.8 * len(aims):
        return "name", by_name
    if len(patches) == len(aims):
        return "order", [[index] for index in range(len(aims))]
    raise ReadingError(
        f"{reading.file} holds {len(patches)} patches, the chart has {len(aims)}, and "
        f"{sum(bool(held) for held in by_name)} of its names are among them.",
        "It is not known which reading belongs to which patch.",
        "Give readings of this chart, or keep the names or device values in the file.",
        "wrong-chart",
    )


def _by_device(aims: Sequence[Aim], patches: Sequence[ReadPatch]) -> list[list[int]] | None:
    """By device values; None where either side has none, or hardly any is the same."""
    wanted = [aim.device for aim in aims]
    given = [patch.device for patch in patches]
    if any(one is None for one in (*wanted, *given)):
        return None
    if len({len(one) for one in (*wanted, *given) if one is not None}) != 1:
        return None
    chart, read = np.array(wanted, dtype=np.float64), np.array(given, dtype=np.float64)
    places: list[list[int]] = [[] for _ in aims]
    for index, one in enumerate(read):
        gap = np.abs(chart - one).max(axis=1)
        nearest = int(np.argmin(gap))
        if gap[nearest] <= _SAME_DEVICE:
            places[nearest].append(index)
    return places if sum(bool(held) for held in places) >= 0.2 * len(aims) else None


def _by_name(aims: Sequence[Aim], patches: Sequence[ReadPatch]) -> list[list[int]]:
    held: dict[str, list[int]] = {}
    for index, patch in enumerate(patches):
        held.setdefault(_plain(patch.name), []).append(index)
    return [held.get(_plain(aim.name), []) for aim in aims]


def _plain(name: str) -> str:
    """Names without case, blanks and idle zeros: A 01 is a1."""
    return re.sub(r"(?<!\d)0+(?=\d)", "", re.sub(r"[\s_\-]+", "", name.lower()))


def _oddities(
    aims: Sequence[Aim], patches: Sequence[ReadPatch], places: Sequence[Sequence[int]]
) -> tuple[Finding, ...]:
    found = []
    missing = [aim.name for aim, held in zip(aims, places, strict=True) if not held]
    if missing:
        found.append(
            finding(
                "patches-missing",
                "caution",
                f"{_count(missing)} of the chart {_was(missing)} not read: {_some(missing)}.",
                "The figures are of the others only.",
                "Read them too if a whole hue or the greys are among them.",
                figures={"missing": len(missing)},
            )
        )
    foreign = len(patches) - sum(len(held) for held in places)
    if foreign:
        found.append(
            finding(
                "patches-foreign",
                "caution" if foreign > 0.1 * len(patches) else "fine",
                f"{foreign} of {len(patches)} readings belong to no patch of the chart.",
                "They are left out.",
                figures={"foreign": foreign},
            )
        )
    return (*found, *_doubled(aims, patches, places))


def _doubled(
    aims: Sequence[Aim], patches: Sequence[ReadPatch], places: Sequence[Sequence[int]]
) -> tuple[Finding, ...]:
    several = [(aim.name, held) for aim, held in zip(aims, places, strict=True) if len(held) > 1]
    if not several:
        return ()
    apart = []
    for name, held in several:
        labs = np.array([patches[at].lab for at in held])
        if float(np.max(delta_e_2000(labs, labs.mean(axis=0)))) > _DOUBLED_DIFFER / 2.0:
            apart.append(name)
    names = [name for name, _ in several]
    words = f"{_count(names)} {_was(names)} read more than once: {_some(names)}."
    if apart:
        return (
            finding(
                "patches-doubled",
                "caution",
                f"{words} The readings of {_some(apart)} differ by more than "
                f"ΔE00 {_DOUBLED_DIFFER:g}.",
                "Their mean is used; one of the readings may be wrong.",
                "Read these patches again.",
                figures={"doubled": len(names), "apart": len(apart)},
            ),
        )
    return (
        finding(
            "patches-doubled", "fine", words, "Their mean is used.", figures={"doubled": len(names)}
        ),
    )


def _ask_about_order(
    matched: Matched,
    aims: Sequence[Aim],
    patches: Sequence[ReadPatch],
    replies: Mapping[str, str],
) -> None:
    """Ask where the colours fit another order, or hardly fit at all."""
    if not matched.aims or len(matched.aims) < 6:
        return
    aim = np.array([one.lab for one in matched.aims])
    as_read = float(np.median(delta_e_2000(aim, matched.read_lab)))
    if as_read < _ORDER_FROM:
        return
    if ORDER not in replies and len(patches) == len(aims):
        backward = np.array([patch.lab for patch in reversed(patches)])
        turned = float(np.median(delta_e_2000([one.lab for one in aims], backward)))
        if turned < _ORDER_GAIN * as_read:
            raise QuestionError(
                f"Read backwards the patches fit far better: median ΔE00 {turned:.1f} instead of "
                f"{as_read:.1f}.",
                "The strip seems to have been read from its other end.",
                "Say which way it was read.",
                ORDER,
                f"--answer {ORDER}=reversed (or =as-read)",
            )
    alike = float(np.corrcoef(aim[:, 0], matched.read_lab[:, 0])[0, 1])
    if CHART not in replies and not alike > _ALIKE:
        raise QuestionError(
            f"Light and dark patches do not lie where the chart has them (correlation of L* "
            f"{alike:.2f}, median ΔE00 {as_read:.1f}).",
            "It looks like the readings of another chart.",
            "Give the readings of this chart, or say that it is the right one.",
            CHART,
            f"--answer {CHART}=right",
        )


def _count(names: Sequence[str]) -> str:
    return "1 patch" if len(names) == 1 else f"{len(names)} patches"


def _was(names: Sequence[str]) -> str:
    return "was" if len(names) == 1 else "were"


def _some(names: Sequence[str]) -> str:
    if len(names) <= _NAMED:
        return joined(names)
    return f"{', '.join(names[:_NAMED])} and {len(names) - _NAMED} more"
