"""Limits: what the standards say, and what is ours."""

from __future__ import annotations

import pytest

from firstsheet.engine.records.verification import Greys
from firstsheet.engine.verify.compare import Statistics
from firstsheet.engine.verify.limits import failed, limit_lines

GREYS = Greys(count=5, mean_delta_ch=2.1, max_delta_ch=3.4, worst="g3", cast_a=0, cast_b=0, cast="")


def figures(mean: float = 1.0, p95: float = 2.0, maximum: float = 3.0) -> Statistics:
    return Statistics(count=30, mean=mean, median=mean, p95=p95, maximum=maximum, worst="x")


@pytest.mark.published
def test_the_standards_limits_stand_beside() -> None:
    """ISO 12647-7:2016 and -8:2021, from a public transcription of their previews."""
    shown = {line.name: (line.iso_7, line.iso_8) for line in limit_lines(figures(), None, GREYS)}

    assert shown == {
        "Mean ΔE00": (2.5, 2.5),
        "95 % below, ΔE00": (None, 5.0),
        "Largest ΔE00": (5.0, None),
        "Greys, mean ΔCh": (2.0, 2.5),
        "Greys, largest ΔCh": (3.5, 4.0),
    }


@pytest.mark.parametrize(
    ("given", "names"),
    [
        (figures(), []),
        (figures(mean=2.01), ["Mean ΔE00"]),
        (figures(mean=2.0, p95=4.0, maximum=6.0), []),
        (figures(p95=4.1, maximum=6.1), ["95 % below, ΔE00", "Largest ΔE00"]),
    ],
)
def test_only_our_own_limits_decide(given: Statistics, names: list[str]) -> None:
    assert [line.name for line in failed(limit_lines(given, None, None))] == names


def test_greys_beyond_our_limit_fail() -> None:
    assert [line.name for line in failed(limit_lines(figures(), None, GREYS))] == [
        "Greys, mean ΔCh"
    ]
