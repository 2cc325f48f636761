"""Fixtures that drive a real Chromium; without one, every test here is skipped and says so."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import BROWSER, FLAGS, NOT_RUN  # type: ignore[import-not-found]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything in this folder `web` and `slow`."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.web)
            item.add_marker(pytest.mark.slow)


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    """One browser for a module; each test opens its own context."""
    if not BROWSER:
        pytest.skip(NOT_RUN)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=BROWSER, args=FLAGS)
        yield opened
        opened.close()
