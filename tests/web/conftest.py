"""A bench with a small made scan, and a browser that was let in."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from visitors import Visitor, write_scan  # type: ignore[import-not-found]

from firstsheet.bench.bench import Bench


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    """A folder of pictures that the page may open."""
    folder = tmp_path / "harbour"
    folder.mkdir()
    write_scan(folder / "ferry stairs.tif")
    return folder


@pytest.fixture
def visitor(tmp_path: Path, harbour: Path) -> Iterator[Visitor]:
    """A browser at a bench that may open the harbour."""
    bench = Bench([harbour], state=tmp_path / "state", stocks_dir=tmp_path / "stocks")
    visitor = Visitor(bench)
    yield visitor
    visitor.close()
