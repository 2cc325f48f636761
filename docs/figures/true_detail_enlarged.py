"""What an enlargement leaves behind: a rhythm of bends and steps, and mirror images after JPEG."""

from __future__ import annotations

from typing import Any

import numpy as np
from drawing import ACCENT, GREY, SECOND, Axis, Drawing, Look, ticks
from sources import looked_through, made_scans

from firstsheet.engine.detail.mirrors import mirror_trace

__all__ = ["draw"]


def folded(trace: Any, factor: float, lies_px: float, places: int = 16) -> Any:
    """Mean of a trace over all old pixels, against the place within one, octaves from its mean."""
    at = np.arange(trace.size)
    known = np.isfinite(trace) & (at > 8) & (at < trace.size - 8)
    where = np.floor(((at + lies_px) / factor % 1.0) * places).astype(int)[known]
    sums = np.bincount(where, trace[known], places) / np.bincount(where, minlength=places)
    return sums - sums.mean()


def draw() -> str:
    """Two panels."""
    scans = made_scans()
    drawing = Drawing(high_px=330)
    spec = scans.ScanSpec(seed=5, factor=1.9, kernel="bicubic", scene="texture", size_px=512)
    clean = looked_through(scans.make_scan(spec))
    factor = scans.true_factor(spec)
    left = drawing.panel(
        58, 32, 250, 248, title=f"A scan enlarged ×{factor:.2f}",
        x=Axis(title="place, in old pixels", low=0.0, high=2.0, ticks=ticks(0, 2, 0.5)),
        y=Axis(title="octaves from the mean", low=-1.0, high=1.0, ticks=ticks(-1, 1, 0.5)),
    )  # fmt: skip
    bends, steps = Look(ACCENT), Look(SECOND, 1.8, "6 3")
    for trace, lies_px, look in (
        (clean.column_bend, 0.5, bends),  # pixel centres
        (clean.column_step, 0.0, steps),  # borders between pixels
    ):
        once = folded(trace, factor, lies_px)
        left.curve((np.arange(32) + 0.5) / 16.0, np.concatenate([once, once]), look)
    left.legend(((bends, "bends"), (steps, "steps")), 84, 16)
    right = drawing.panel(
        372, 32, 326, 248, title="Enlarged, then saved as JPEG",
        x=Axis(title="rate, old pixels per new pixel", low=0.2, high=0.8,
               ticks=ticks(0.2, 0.8, 0.1)),
        y=Axis(title="strength of mirror images", low=1.0, high=2000.0,
               ticks=(1, 3, 10, 20, 100, 1000), log=True),
    )  # fmt: skip
    cases = ((1.9, Look(ACCENT, 1.5), "enlarged ×1.9"), (1.0, Look(GREY, 1.2), "untouched"))
    true = Look(SECOND, 1.4, "6 3")
    rows: list[tuple[Look, str]] = []
    for wished, look, words in cases:
        made = scans.ScanSpec(
            seed=5, factor=wished, scene="texture", size_px=512, jpeg_quality=90, bits=8
        )
        survey = looked_through(scans.make_scan(made))
        mirrors = mirror_trace(survey.strips, survey.width_px, down=False)
        if wished > 1.0:
            right.upright(1.0 / scans.true_factor(made), true)
        count = mirrors.rate.size // 5 * 5  # the highest of five neighbours each: no line is lost
        highest = mirrors.strength[:count].reshape(-1, 5).max(axis=1)
        right.curve(mirrors.rate[:count].reshape(-1, 5)[:, 2], np.maximum(highest, 0.1), look)
        rows.append((look, words))
    right.level(20.0)
    right.label(0.21, 20.0, "told from 20 on", dy=-5, colour=GREY)
    right.legend([*rows, (true, "the true rate")], 12, 18)
    return drawing.svg()
