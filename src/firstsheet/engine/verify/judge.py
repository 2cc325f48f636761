"""One reading judged: figures, limits, verdict, causes, in one record.

Takes aims and readings in the same order; gives a `Verification`.
Theory: docs/theory/verify.md. Tests: tests/engine/verify/test_readings_verdict.py.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from firstsheet.engine.errors import ReadingError
from firstsheet.engine.findings import in_order
from firstsheet.engine.records import Finding
from firstsheet.engine.records.figure import Figure, one_figure
from firstsheet.engine.records.verification import (
    Aim,
    Cause,
    Greys,
    PatchResult,
    Verification,
)
from firstsheet.engine.verify.causes import Circumstances, likely_causes
from firstsheet.engine.verify.compare import (
    Statistics,
    compare_patches,
    grey_result,
    group_by_hue,
    group_by_tone,
    statistics,
)
from firstsheet.engine.verify.limits import limit_lines
from firstsheet.engine.verify.words import seen_by_eye, verdict_sentence

__all__ = ["judge_reading"]

_DE00 = "CIEDE2000 (Sharma, Wu, Dalal 2005), D50, absolute"


def judge_reading(
    aims: Sequence[Aim],
    read_lab: ArrayLike,
    *,
    circumstances: Circumstances | None = None,
    out_of_reach_de00: float = 0.0,
    findings: Sequence[Finding] = (),
) -> Verification:
    """Judge readings against aims.

    Parameters
    ----------
    aims
        What should be read.
    read_lab
        (n, 3), absolute Lab D50, in the same order.
    circumstances
        What else could have been printed, and how it was measured; None looks for no cause.
    out_of_reach_de00
        As `compare.compare_patches`.
    findings
        What was found on the way.

    Raises
    ------
    ReadingError
        If there is nothing to compare.
    """
    everything = compare_patches(aims, read_lab, out_of_reach_de00=out_of_reach_de00)
    patches = tuple(one for one in everything if not one.out_of_reach)
    if not patches:
        raise ReadingError(
            "None of the patches can be judged: each was asked for outside the paper's gamut.",
            "There is no difference to speak of that the printer could have avoided.",
            "Read a chart with colours this paper can show.",
            "nothing-to-judge",
        )
    figures = statistics(patches)
    paper = next((one for one in patches if one.role == "paper"), None)
    black = next((one for one in patches if one.role == "black"), None)
    greys, hues = grey_result(patches), group_by_hue(patches)
    lines = limit_lines(figures, paper, greys)
    seen = seen_by_eye(figures, patches, greys, hues)
    causes: tuple[Cause, ...] = ()
    if circumstances is not None:
        causes = likely_causes(
            np.array([one.aim_lab for one in everything]),
            np.array([one.read_lab for one in everything]),
            [one.role for one in everything],
            circumstances,
        )
    return Verification(
        count=figures.count,
        mean_de00=figures.mean,
        p95_de00=figures.p95,
        max_de00=figures.maximum,
        worst=figures.worst,
        paper=paper,
        black=black,
        greys=greys,
        hues=hues,
        tones=group_by_tone(patches),
        limits=lines,
        passes=all(line.own_passes is not False for line in lines),
        verdict=verdict_sentence(lines, seen),
        seen=seen,
        out_of_reach=tuple(one for one in everything if one.out_of_reach),
        causes=causes,
        patches=patches,
        findings=in_order(findings),
        figures=_figures(figures, greys, patches),
    )


def _figures(
    figures: Statistics, greys: Greys | None, patches: Sequence[PatchResult]
) -> tuple[Figure, ...]:
    """How the main figures were worked out."""
    count = ("patches", float(figures.count), "")
    worst = max(patches, key=lambda one: one.de00)
    found = [
        one_figure("mean_de00", "Mean ΔE00", figures.mean, "",
                   "sum of ΔE00 / number of patches", _DE00, count, decimals=2),
        one_figure("p95_de00", "95 % of the patches below, ΔE00", figures.p95, "",
                   "rank 0.95 (n − 1) from 0, linear between ranks", _DE00, count, decimals=2),
        one_figure("max_de00", f"Largest ΔE00 ({worst.name})", figures.maximum, "",
                   "largest ΔE00", _DE00, ("ΔL*", worst.delta_l, ""), ("Δa*", worst.delta_a, ""),
                   ("Δb*", worst.delta_b, ""), decimals=2),
    ]  # fmt: skip
    if greys is not None:
        found.append(
            one_figure("grey_delta_ch", "Greys, mean ΔCh", greys.mean_delta_ch, "",
                       "mean of √(Δa*² + Δb*²) over aims with C* up to 5",
                       "definition of ΔCh in ISO 12647-7, second hand",
                       ("greys", float(greys.count), ""), decimals=2)
        )  # fmt: skip
    return tuple(found)
