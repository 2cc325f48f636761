"""What a readings file says of itself: how it was measured, and when.

Takes keywords of ISO 28178 and texts; gives a `Condition` and ISO dates. A date that can be read
two ways (3/4/2026) is not guessed. Tests: tests/files/measured/test_said.py.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Literal, get_args

from firstsheet.engine.records.reading import Condition, Illumination

__all__ = ["condition_said", "date_said"]

_LIGHT = re.compile(r"\b(A|B|C|E|D5[05]|D6[05]|D75|F\d{1,2}|LED-B\d)\b")
_DAYLIGHT = re.compile(r"(?<![A-Za-z0-9])(D5[05]|D6[05]|D75)(?![A-Za-z0-9])")
_FORMATS = (
    "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%Y-%m-%d",
    "%Y/%m/%d %H:%M:%S", "%Y/%m/%d", "%d.%m.%Y %H:%M:%S", "%d.%m.%Y %H:%M", "%d.%m.%Y",
    "%a %b %d %H:%M:%S %Y", "%d %B %Y", "%B %d, %Y", "%d %b %Y", "%b %d, %Y", "%B %Y",
)  # fmt: skip


def condition_said(keywords: Mapping[str, str]) -> Condition:
    """The measuring condition as keywords state it; what is not stated stays empty."""
    everything = " ".join(f"{name}={text}" for name, text in keywords.items())
    light = keywords.get("ILLUMINATION_NAME") or keywords.get("ILLUMINANT") or ""
    found = _LIGHT.search(light) or _DAYLIGHT.search(everything)
    return Condition(
        illumination=_illumination(everything),
        illuminant=found[1] if found else "",
        observer=_observer(keywords, everything),
        backing=_backing(keywords, everything),
        instrument=keywords.get("INSTRUMENTATION", "") or keywords.get("TARGET_INSTRUMENT", ""),
        geometry=keywords.get("MEASUREMENT_GEOMETRY", ""),
    )


def _illumination(everything: str) -> Illumination:
    stated = re.search(r"MeasurementCondition\W{0,3}(M[0-3])", everything, re.IGNORECASE)
    stated = stated or re.search(r"(?<![A-Za-z0-9])(M[0-3])(?![A-Za-z0-9])", everything)
    if stated:
        return next(one for one in get_args(Illumination) if one == stated[1].upper())
    if re.search(r"UV[ _-]?(?:cut|excl|filter)", everything, re.IGNORECASE):
        return "M2"
    if re.search(r"(?<!no )pol(?:ari[sz]|filter)", everything, re.IGNORECASE) and not re.search(
        r"(no|without) polari[sz]", everything, re.IGNORECASE
    ):
        return "M3"
    return ""


def _observer(keywords: Mapping[str, str], everything: str) -> Literal["2", "10", ""]:
    text = keywords.get("OBSERVER_ANGLE") or keywords.get("OBSERVER") or ""
    found = re.search(r"\b(10|2)\b", text) or re.search(
        r"\b(10|2)\s*(?:deg|°)|ObserverAngle=(10|2)", everything, re.IGNORECASE
    )
    if not found:
        return ""
    return "10" if "10" in found.groups() else "2"


def _backing(keywords: Mapping[str, str], everything: str) -> Literal["white", "black", ""]:
    text = (keywords.get("SAMPLE_BACKING") or "").lower()
    if not text:
        found = re.search(r"(white|black) backing", everything, re.IGNORECASE)
        text = found[1].lower() if found else ""
    if "black" in text:
        return "black"
    return "white" if "white" in text else ""


def date_said(text: str) -> str:
    """A date in ISO form; empty where it is none, or could be two.

    Examples
    --------
    >>> date_said("Thu Jul 03 16:12:41 2003"), date_said("8/28/2006"), date_said("3/4/2026")
    ('2003-07-03T16:12:41', '2006-08-28', '')
    >>> date_said("December 2006")
    '2006-12'
    """
    plain = re.sub(r"(\d\d:\d\d(:\d\d)?)([.,]\d+)?\s*(Z|[+-]\d\d:?\d\d)?$", r"\1", text.strip())
    slashed = re.match(r"(\d{1,2})/(\d{1,2})/(\d{4})", plain)
    if slashed:
        first, second, year = (int(part) for part in slashed.groups())
        if (first > 12) == (second > 12):
            return ""
        month, day = (second, first) if first > 12 else (first, second)
        plain = f"{year:04}-{month:02}-{day:02}"
    for form in _FORMATS:
        try:
            moment = datetime.strptime(plain, form).replace(tzinfo=UTC)  # no zone is said or used
        except ValueError:
            continue
        if "%d" not in form:
            return moment.strftime("%Y-%m")
        return moment.strftime("%Y-%m-%dT%H:%M:%S" if "%H" in form else "%Y-%m-%d")
    return ""
