"""The sentence: why it passes or not, and what will still be seen."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstsheet.engine.records.verification import Aim, Verification
from firstsheet.engine.verify.judge import judge_reading

AIMS = np.array([(95, 0, -1), (72, -1, -2), (50, 0, 0), (28, 0, 0), (9, 0, 0), (48, 66, 44),
                 (55, -55, 32), (30, 18, -48), (82, 2, 80), (65, 18, 19)], dtype=float)  # fmt: skip
READ = np.array([(94.6, .2, -1.9), (71.2, .1, -.6), (49.1, .4, 1.6), (28.9, .3, 1.2),
                 (10.4, .2, .7), (47.6, 63.9, 42.1), (54.1, -52.8, 30.2), (31.2, 15.1, -43.8),
                 (81.5, 2.9, 77.1), (64.6, 18.9, 20.3)])  # fmt: skip


def judged(read: Any) -> Verification:
    return judge_reading([Aim(name=f"p{i}", lab=tuple(one)) for i, one in enumerate(AIMS)], read)


def moved(index: int | slice, by: tuple[float, float, float]) -> Any:
    read = AIMS.copy()
    read[index] += by
    return read


def test_the_worked_example_passes_and_says_what_will_be_seen() -> None:
    verdict = judged(READ)

    assert verdict.passes
    assert verdict.verdict == "Passes, with warm greys and a black 1.4 L* too light."
    assert [one.code for one in verdict.seen] == ["grey-cast", "black-shifted"]


@pytest.mark.parametrize(
    ("read", "said"),
    [
        (AIMS, "Passes; nothing of the difference will be seen."),
        (moved(slice(1, 4), (0, -1.5, 0)), "Passes, with greenish greys."),
        (moved(4, (-2.0, 0, 0)), "Passes, with a black 2.0 L* too dark."),
        (moved(0, (0, 0, 2.5)), "Passes, with a warmer paper."),
        (moved(slice(1, 10), (1.5, 0, 0)), "tones 1.5 L* too light throughout"),
        (moved(6, (0, 15, 0)), "duller greens"),
    ],
)
def test_each_visible_difference_has_its_words(read: Any, said: str) -> None:
    assert said in judged(read).verdict


def test_what_fails_says_which_figure_and_its_limit() -> None:
    verdict = judged(moved(slice(1, 10), (8.0, 0, 0)))

    assert not verdict.passes
    assert verdict.verdict.startswith("Does not pass: mean ΔE00 is ")
    assert "(limit 2)" in verdict.verdict


def test_the_figures_say_how_they_were_worked_out() -> None:
    shown = {one.key: one for one in judged(READ).figures}

    assert shown["mean_de00"].value == "1.26"
    assert shown["p95_de00"].value == "2.02"
    assert shown["p95_de00"].how.formula.startswith("rank 0.95")
