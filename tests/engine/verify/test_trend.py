"""A series of readings: noise, limit, since when, and whether two are the same."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstsheet.engine.errors import ReadingError
from firstsheet.engine.records.verification import PatchRole, TrendResult
from firstsheet.engine.verify.trend import SeriesReading, drift_of, same_print, trend_of

ROLES: list[PatchRole] = ["paper", "grey", "grey", "black", "colour", "colour"]
STRIP = np.array(
    [(95, 0, -2), (70, 0, 0), (40, 0, 0), (16, 0, 0), (48, 70, 40), (50, -60, 25)], dtype=float
)


def read(
    at: str, shift: Any = 0.0, *, noise: float = 0.1, seed: int = 0, condition: Any = "M1"
) -> SeriesReading:
    rng = np.random.default_rng(seed)
    lab = STRIP + np.asarray(shift) + rng.normal(0, noise, STRIP.shape)
    return SeriesReading(f"{at}.txt", at, lab, condition)


def drifting(slope_l: float, jump_at: int | None = None) -> TrendResult:
    months = range(1, 9)
    shifts = [
        (slope_l * m if jump_at is None else (4.0 if m >= jump_at else 0.0), 0, 0) for m in months
    ]
    return trend_of(
        [read(f"2026-0{m}-10", s, seed=m) for m, s in zip(months, shifts, strict=True)], ROLES
    )


def test_a_steady_strip_stays_within_the_limit() -> None:
    found = drifting(0.0)

    assert found.beyond_since == ""
    assert all(not point.beyond for point in found.points)
    assert "within the limit of 1.5" in found.sentence


def test_a_drift_is_told_with_since_when_and_how_fast() -> None:
    """0.6 L* a month: about 0.45 ΔE00 at these tones, beyond 1.5 after some four months."""
    found = drifting(0.6)

    assert found.beyond_since in ("2026-04-10", "2026-05-10", "2026-06-10")
    assert found.per_month_de00 == pytest.approx(0.5, abs=0.12)
    assert f"since {found.beyond_since}" in found.sentence
    assert drift_of(found).startswith("The difference from 2026-01-10 grew over 8 readings")


def test_one_jump_is_no_drift() -> None:
    found = drifting(0.0, jump_at=5)

    assert found.beyond_since == "2026-05-10"
    assert drift_of(found) == ""


def test_repeated_readings_of_a_day_give_the_noise() -> None:
    found = trend_of(
        [read("2026-03-01T10:00", noise=0.5, seed=1), read("2026-03-01T10:05", noise=0.5, seed=2),
         read("2026-04-01", noise=0.5, seed=3)],
        ROLES,
    )  # fmt: skip

    assert found.noise_de00 is not None
    assert 0.3 < found.noise_de00 < 1.4
    assert f"Reading alone gives {found.noise_de00:.2f}." in found.sentence


def test_a_noisy_instrument_raises_the_limit() -> None:
    found = trend_of(
        [read("2026-03-01T10:00", noise=2.0, seed=1), read("2026-03-01T10:05", noise=2.0, seed=2),
         read("2026-04-01", noise=2.0, seed=3)],
        ROLES,
    )  # fmt: skip

    assert found.noise_de00 is not None
    assert found.limit_de00 == pytest.approx(3 * found.noise_de00)
    assert not found.points[-1].beyond


def test_readings_may_come_in_any_order() -> None:
    found = trend_of([read("2026-05-01", 3.0), read("2026-01-01")], ROLES)

    assert found.reference == "2026-01-01"
    assert [point.at for point in found.points] == ["2026-01-01", "2026-05-01"]


def test_different_measuring_conditions_are_never_one_series() -> None:
    with pytest.raises(ReadingError, match="made under M0 and M1"):
        trend_of([read("2026-01-01", condition="M0"), read("2026-02-01", condition="M1")], ROLES)


@pytest.mark.parametrize(
    ("mean", "noise", "said"),
    [
        (0.8, None, "Same as in March? Mean ΔE00 0.8: yes."),
        (2.4, None, "Same as in March? Mean ΔE00 2.4: no."),
        (2.4, 1.0, "Same as in March? Mean ΔE00 2.4: yes."),
    ],
)
def test_the_question_of_every_reprint(mean: float, noise: float | None, said: str) -> None:
    assert same_print(mean, "March", noise) == said
