"""Records as text for files that people may open."""

from __future__ import annotations

import json

from firstsheet.engine.records import Record

__all__ = ["pretty_json"]


def pretty_json(record: Record) -> str:
    """JSON in the order of the record's fields, one value a line, the same bytes every time."""
    data = record.model_dump(mode="json")
    text = json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)
    if not text.isprintable() and any("\ud800" <= one <= "\udfff" for one in text):
        text = json.dumps(data, indent=1, allow_nan=False)  # a file name that is no text
    return text + "\n"
