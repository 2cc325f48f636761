"""What files say of their measuring condition and date."""

from __future__ import annotations

import pytest

from firstsheet.files.reading.measured.said import condition_said, date_said


@pytest.mark.parametrize(
    ("keywords", "condition"),
    [
        ({"MEASUREMENT_SOURCE": "MeasurementCondition=M1 Filter=no"}, "M1"),
        (
            {"MEASUREMENT_SOURCE": "Illumination=D50 ObserverAngle=2 WhiteBase=Abs Filter=UVcut"},
            "M2",
        ),
        ({"FILTER": "M0"}, "M0"),
        ({"INSTRUMENTATION": "45/0, polarisation filter"}, "M3"),
        (
            {"INSTRUMENTATION": "D50, 2 degree, 45/0, no polarisation filter, white backing"},
            "",
        ),
        ({}, ""),
    ],
)
def test_the_illumination_is_the_one_stated(keywords: dict[str, str], condition: str) -> None:
    assert condition_said(keywords).illumination == condition


def test_a_published_header_is_understood() -> None:
    """FOGRA39L's own words."""
    said = condition_said(
        {
            "INSTRUMENTATION": "D50, 2 degree, geometry 45/0, no polarisation filter, "
            "white backing, according to ISO 13655",
            "PRINT_CONDITIONS": "tone value increase curves A (CMY) and B (K)",
        }
    )

    assert (said.illuminant, said.observer, said.backing) == ("D50", "2", "white")


@pytest.mark.parametrize(
    ("keywords", "light", "eye"),
    [
        ({"ILLUMINATION_NAME": "D65", "OBSERVER_ANGLE": "10"}, "D65", "10"),
        ({"MEASUREMENT_SOURCE": "Illumination=D50 ObserverAngle=2degree"}, "D50", "2"),
        ({"ILLUMINANT": "A", "OBSERVER": "CIE 10 degree"}, "A", "10"),
        ({"DESCRIPTOR": "a chart of type A, 10 patches"}, "", ""),
    ],
)
def test_light_and_observer_are_those_stated(
    keywords: dict[str, str], light: str, eye: str
) -> None:
    said = condition_said(keywords)

    assert (said.illuminant, said.observer) == (light, eye)


@pytest.mark.parametrize(
    ("text", "date"),
    [
        ("2026-11-03", "2026-11-03"),
        ("2026-11-03T10:20:30+01:00", "2026-11-03T10:20:30"),
        ("2007-06-14T00:00:00.000-08:00", "2007-06-14T00:00:00"),
        ("03.11.2026", "2026-11-03"),
        ("11/28/2026", "2026-11-28"),
        ("28/11/2026", "2026-11-28"),
        ("11/03/2026", ""),
        ("November 3, 2026", "2026-11-03"),
        ("next week", ""),
        ("", ""),
    ],
)
def test_dates_that_could_be_two_are_none(text: str, date: str) -> None:
    assert date_said(text) == date
