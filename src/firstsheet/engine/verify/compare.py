"""Aims against readings, patch by patch and in groups.

Takes aims and Lab in the same order; gives results and their figures. Percentiles interpolate
linearly between ranks (NumPy's default). Theory: docs/theory/verify.md.
Tests: tests/engine/verify/test_compare.py.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.engine.colour.lab import lab_to_lch
from firstsheet.engine.records.verification import (
    Aim,
    Greys,
    GroupResult,
    PatchResult,
    PatchRole,
)

__all__ = [
    "Statistics",
    "cast_words",
    "compare_patches",
    "grey_result",
    "group_by_hue",
    "group_by_tone",
    "hue_name",
    "roles_of",
    "statistics",
]

Floats = NDArray[np.float64]
GREY_CHROMA = 5.0  # an aim up to this C*ab is a grey
HUE_CHROMA = 15.0  # from here on a colour has a hue to group by
SEEN_CAST = 1.0  # ΔCh of the mean of all greys from which a cast has a name
_LIGHTEST_BLACK = 50.0  # L*; on newsprint black is no darker than 37
_DARKEST_PAPER = 70.0

# Ends of the hues in CIELAB, halfway between the solids and overprints of FOGRA39L.
_HUES = (
    ("magentas", 16.0), ("reds", 64.0), ("yellows", 125.0), ("greens", 195.0),
    ("cyans", 264.0), ("blues", 326.0), ("magentas", 360.0),
)  # fmt: skip
# Directions in the a* b* plane as a cast is called.
_CASTS = (
    ("pinkish", 20.0), ("warm", 105.0), ("yellow-green", 135.0), ("greenish", 200.0),
    ("cool", 285.0), ("purplish", 330.0), ("pinkish", 360.0),
)  # fmt: skip


@dataclass(frozen=True)
class Statistics:
    """Of ΔE00 over patches."""

    count: int
    mean: float
    median: float
    p95: float
    maximum: float
    worst: str


def hue_name(lab: Sequence[float]) -> str:
    """The hue of a colour, of six; empty for what is nearly grey.

    >>> hue_name((48, 66, 44)), hue_name((50, 1, 1))
    ('reds', '')
    """
    _, chroma, hue = lab_to_lch(lab).tolist()
    if chroma < HUE_CHROMA:
        return ""
    return next(name for name, end in _HUES if hue < end)


def cast_words(delta_a: float, delta_b: float) -> str:
    """A cast in words; empty where it is too small to be one.

    >>> cast_words(0.6, 1.4), cast_words(-1.2, 0.1), cast_words(0.2, 0.3)
    ('warm', 'greenish', '')
    """
    if math.hypot(delta_a, delta_b) < SEEN_CAST:
        return ""
    hue = math.degrees(math.atan2(delta_b, delta_a)) % 360.0
    return next(name for name, end in _CASTS if hue < end)


def roles_of(aims: Sequence[Aim]) -> list[PatchRole]:
    """What each patch is: said by the aim, else the lightest, the darkest, greys and colours."""
    lab = np.array([aim.lab for aim in aims])
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    roles: list[PatchRole] = ["grey" if one <= GREY_CHROMA else "colour" for one in chroma]
    lightest, darkest = int(np.argmax(lab[:, 0])), int(np.argmin(lab[:, 0]))
    if lab[lightest, 0] >= _DARKEST_PAPER:
        roles[lightest] = "paper"
    if lab[darkest, 0] <= _LIGHTEST_BLACK and darkest != lightest:
        roles[darkest] = "black"
    return [aim.role or role for aim, role in zip(aims, roles, strict=True)]


def compare_patches(
    aims: Sequence[Aim], read_lab: ArrayLike, *, out_of_reach_de00: float = 0.0
) -> tuple[PatchResult, ...]:
    """Each patch's differences.

    Parameters
    ----------
    aims
        What should be read.
    read_lab
        (n, 3), in the same order.
    out_of_reach_de00
        From this ΔE00 between what was asked for and what the paper can show, a patch is told
        apart; the profile's own round-trip error.
    """
    aim = np.array([one.lab for one in aims], dtype=np.float64).reshape(-1, 3)
    read = np.asarray(read_lab, dtype=np.float64).reshape(-1, 3)
    de00 = np.atleast_1d(delta_e_2000(aim, read))
    gap = read - aim
    results = []
    for index, (one, role) in enumerate(zip(aims, roles_of(aims), strict=True)):
        delta_l, delta_a, delta_b = (round(float(v), 6) for v in gap[index])
        results.append(
            PatchResult(
                name=one.name,
                role=role,
                hue="" if role != "colour" else hue_name(one.lab),
                aim_lab=one.lab,
                read_lab=_lab(read[index]),
                de00=round(float(de00[index]), 6),
                delta_l=delta_l,
                delta_a=delta_a,
                delta_b=delta_b,
                delta_ch=round(math.hypot(delta_a, delta_b), 6),
                out_of_reach=_is_out(one, out_of_reach_de00),
            )
        )
    return tuple(results)


def _is_out(aim: Aim, limit: float) -> bool:
    if aim.wanted_lab is None:
        return False
    return float(delta_e_2000(aim.wanted_lab, aim.lab)) > limit


def _lab(values: Floats) -> tuple[float, float, float]:
    return (round(float(values[0]), 6), round(float(values[1]), 6), round(float(values[2]), 6))


def statistics(patches: Sequence[PatchResult]) -> Statistics:
    """Mean, median, 95th percentile and maximum of ΔE00.

    Raises
    ------
    ValueError
        If there is no patch.
    """
    if not patches:
        raise ValueError("no patch to judge")
    de00 = np.array([one.de00 for one in patches])
    return Statistics(
        count=len(patches),
        mean=float(de00.mean()),
        median=float(np.median(de00)),
        p95=float(np.percentile(de00, 95)),
        maximum=float(de00.max()),
        worst=patches[int(np.argmax(de00))].name,
    )


def grey_result(patches: Sequence[PatchResult]) -> Greys | None:
    """The near-neutral patches together, paper and black left out; None where there is none."""
    greys = [one for one in patches if one.role == "grey"]
    if not greys:
        return None
    worst = max(greys, key=lambda one: one.delta_ch)
    cast_a = float(np.mean([one.delta_a for one in greys]))
    cast_b = float(np.mean([one.delta_b for one in greys]))
    return Greys(
        count=len(greys),
        mean_delta_ch=float(np.mean([one.delta_ch for one in greys])),
        max_delta_ch=worst.delta_ch,
        worst=worst.name,
        cast_a=cast_a,
        cast_b=cast_b,
        cast=cast_words(cast_a, cast_b),
    )


def group_by_hue(patches: Sequence[PatchResult]) -> tuple[GroupResult, ...]:
    """The coloured patches by hue, in the order of the circle."""
    names = tuple(dict.fromkeys(name for name, _ in _HUES))
    groups = {name: [one for one in patches if one.hue == name] for name in names}
    return tuple(_group(name, held) for name, held in groups.items() if held)


def group_by_tone(patches: Sequence[PatchResult]) -> tuple[GroupResult, ...]:
    """All patches by how light their aims are."""
    tones = {
        "darks (L* below 35)": [one for one in patches if one.aim_lab[0] < 35.0],
        "middle tones": [one for one in patches if 35.0 <= one.aim_lab[0] <= 70.0],
        "lights (L* above 70)": [one for one in patches if one.aim_lab[0] > 70.0],
    }
    return tuple(_group(name, held) for name, held in tones.items() if held)


def _group(name: str, patches: Sequence[PatchResult]) -> GroupResult:
    figures = statistics(patches)
    aim = lab_to_lch([one.aim_lab for one in patches])
    read = lab_to_lch([one.read_lab for one in patches])
    turn = (read[:, 2] - aim[:, 2] + 180.0) % 360.0 - 180.0
    coloured = aim[:, 1] >= HUE_CHROMA
    return GroupResult(
        name=name,
        count=figures.count,
        mean_de00=figures.mean,
        max_de00=figures.maximum,
        worst=figures.worst,
        mean_delta_l=float(np.mean([one.delta_l for one in patches])),
        mean_delta_c=float(np.mean(read[:, 1] - aim[:, 1])),
        mean_turn_degrees=float(turn[coloured].mean()) if coloured.any() else 0.0,
    )
