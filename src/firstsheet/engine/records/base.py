"""The frozen record every room's data is made of."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

__all__ = [
    "Record",
]


class Record(BaseModel):
    """A frozen record; an unknown field is a slip, never ignored."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
