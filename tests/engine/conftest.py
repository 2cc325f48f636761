"""Published tables and second opinions that the tests of this room share."""

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

PUBLISHED = Path(__file__).parents[1] / "published"

Published = Callable[[str], tuple[list[dict[str, Any]], float]]


def _number_or_name(value: str) -> float | str:
    try:
        return float(value)
    except ValueError:
        return value


def read_published(name: str) -> tuple[list[dict[str, Any]], float]:
    """Rows of a published table and its tolerance; a table without a source is no table."""
    lines = (PUBLISHED / name).read_text(encoding="utf-8").splitlines()
    head = dict(line[2:].split(": ", 1) for line in lines if line.startswith("# "))
    assert head["source"], f"{name} must name its source"
    assert head["copied"], f"{name} must say how it was copied"
    rows = [
        {key: _number_or_name(value) for key, value in row.items() if value != ""}
        for row in csv.DictReader(line for line in lines if not line.startswith("#"))
    ]
    assert rows, f"{name} is empty"
    return rows, float(head["tolerance"])


@pytest.fixture(scope="session")
def published() -> Published:
    """Give `published(name)`: the rows of a table in tests/published, and its tolerance."""
    return read_published
