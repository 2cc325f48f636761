"""What browser tests do on the bench's page, and how they wait for what it shows.

The page says by itself what lies on the stage (data attributes); nothing here samples a state that
may still be the earlier one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from playwright.sync_api import expect

if TYPE_CHECKING:
    from playwright.sync_api import Page

__all__ = ["Pages", "lay_out", "look", "ready", "view_of", "wish"]

expect.set_options(timeout=30_000)
Pages = Callable[..., "Page"]
# What the page was told is measured in full and lies on the stage too.
_DRAWN = """n => {
  const { view } = firstsheet, { dataset } = document.querySelector('.stage') ?? {};
  return view?.state === 'ready' && !view.measuring && !view.dust_pending && view.revision > n
    && dataset?.revision === String(view.revision) && (ALSO);
}"""


def view_of(page: Page) -> Any:
    """The view that the page has now."""
    return page.evaluate("firstsheet.view")


def ready(page: Page, revision: int = -1, also: str = "true") -> Any:
    """Wait until a view after `revision` is measured, drawn and as said; gives it."""
    page.wait_for_function(_DRAWN.replace("ALSO", also), arg=revision)
    return view_of(page)


def lay_out(page: Page, name: str) -> Any:
    """Open a picture by its name at the start page and wait until it lies on the table."""
    page.get_by_role("combobox", name="Picture or ticket").fill(name)
    page.keyboard.press("Enter")
    return ready(page, also=f"view.name === {name.rpartition('.')[0]!r}")


def look(page: Page, name: str, way: str) -> None:
    """Take a way to look and wait until all its tiles, and none other, lie on the stage."""
    page.get_by_role("tab", name=name).click()
    page.locator(f".stage[data-shows='{way}'][data-settled=true]").wait_for()


def wish(page: Page, key: str, text: str) -> None:
    """Type a part of the sentence."""
    field = page.locator(f"[data-key='{key}'] input")
    field.fill(text)
    field.press("Enter")
