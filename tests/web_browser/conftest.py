"""Fixtures that drive a real Chromium; without one, every test here is skipped and says so."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from bench_process import make_picture, serving  # type: ignore[import-not-found]
from chromium import BROWSER, FLAGS, NOT_RUN  # type: ignore[import-not-found]
from on_the_page import Pages, lay_out  # type: ignore[import-not-found]

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything in this folder `web` and `slow`."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.web)
            item.add_marker(pytest.mark.slow)


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """One browser for all; each test opens its own context."""
    if not BROWSER:
        pytest.skip(NOT_RUN)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=BROWSER, args=FLAGS)
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the pictures lie."""
    made = tmp_path_factory.mktemp("harbour")
    make_picture(made / "ferry-stairs.tif")
    make_picture(made / "pier-light.tif", 480, 640)
    make_picture(made / "no-profile.tif", 700, 500, tagged=False)
    return made


@pytest.fixture(scope="session")
def opened(
    browser: Browser, folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Any]:
    """The running bench: (address, cookies, requests seen)."""
    places = tmp_path_factory.mktemp("bench")
    with serving(folder, places / "state", places / "stocks") as bench:
        context = browser.new_context()
        page = context.new_page()
        page.goto(bench.address)
        page.wait_for_selector("body.there")
        yield bench.address.split("?")[0], context.storage_state(), []
        context.close()


@pytest.fixture
def problems() -> list[str]:
    """What went wrong in a page; whatever is still in it at the end fails the test."""
    return []


@pytest.fixture
def pages(browser: Browser, opened: Any, problems: list[str]) -> Iterator[Pages]:
    """Open a page on a picture, or at an address; problems in the page fail the test."""
    address, cookies, seen = opened
    contexts = []

    def open_page(where: str = "", **given: Any) -> Page:
        given.setdefault("viewport", {"width": 1024, "height": 700})
        context = browser.new_context(storage_state=cookies, **given)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(30_000)
        page.on("request", lambda request: seen.append(request.url))
        page.on("pageerror", lambda error: problems.append(str(error)))
        page.on(
            "console",
            lambda line: problems.append(line.text) if line.type == "error" else None,
        )
        page.goto(address + (where if where.startswith("#") else ""))
        page.wait_for_selector("body.there")
        if where and not where.startswith("#"):
            lay_out(page, where)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert problems == []
