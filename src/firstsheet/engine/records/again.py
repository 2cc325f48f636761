"""A print made once more: what has changed since, and by how much it shows. Data only."""

from __future__ import annotations

from typing import Literal

from firstsheet.engine.records.base import Record

__all__ = ["CodeDifference", "PictureFound", "PictureStatus", "StockFound"]

PictureStatus = Literal["same", "moved", "edited", "gone"]


class PictureFound(Record):
    """Where the picture of a print is now."""

    status: PictureStatus
    path: str  # empty where it is gone
    before: str  # where it was


class StockFound(Record):
    """What has become of a stock; the kept one is used in any case."""

    is_there: bool
    same_profile: bool
    changed: tuple[str, ...] = ()  # settings that differ today, as `media setting “a”, was “b”`


class CodeDifference(Record):
    """A print's codes on the ledger's grid, against those of the first time."""

    points: int
    differing: int
    mean_de00: float
    p95_de00: float
    max_de00: float
