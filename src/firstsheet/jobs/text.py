"""Records as text for files that people may open."""

from __future__ import annotations

import json

from firstsheet.engine.records import Record

__all__ = ["pretty_json"]


def pretty_json(record: Record) -> str:
    """JSON in the order of the record's fields, one value a line, the same bytes every time."""
    data = record.model_dump(mode="json")
    return json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
