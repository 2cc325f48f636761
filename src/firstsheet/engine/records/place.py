"""Where a print is judged or hangs. Data only; lengths mm, light in lux."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = [
    "Place",
]


class Place(Record):
    """Where the print is judged or hangs."""

    distance_mm: float = Field(default=500.0, gt=0)
    illuminance_lux: float = Field(default=500.0, gt=0)
    lamp: Literal["daylight", "warm", "neutral", "window", "unknown"] = "unknown"
