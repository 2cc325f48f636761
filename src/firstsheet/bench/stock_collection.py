"""The stocks of one bench: read when a file was touched, added, changed, removed.

Takes the stocks' folder; tells the pages of each change. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from firstsheet.bench.events import News
from firstsheet.bench.stocks import change_stock
from firstsheet.engine.errors import FirstsheetError, TicketError
from firstsheet.engine.records import Stock
from firstsheet.jobs.answers import StockListAnswer, StockShowAnswer
from firstsheet.jobs.planning.ticket_source import Stamp

__all__ = ["StockCollection"]

_STOCK_WORDS = ("name", "surface", "title", "native_ppi", "margins", "media_setting", "notes")


class StockCollection:
    """All stocks that a page can choose from."""

    def __init__(self, folder: Path | None, state: Path, news: News) -> None:
        self._folder, self._state, self._news = folder, state, news
        self._known: tuple[object, Mapping[str, Stock]] | None = None

    def all(self) -> Mapping[str, Stock]:
        """All stocks by name; read again only where a file was touched."""
        from firstsheet.store.stocks import builtin_names, load_stocks, stocks_folder

        folder = stocks_folder(self._folder)
        paths = sorted(folder.glob("*.toml")) if folder.is_dir() else []
        state = (builtin_names(), tuple((path, Stamp.of(path)) for path in paths))
        if self._known is None or self._known[0] != state:
            self._known = (state, load_stocks(self._folder, _told_in_the_list))
        return self._known[1]

    def list(self) -> StockListAnswer:
        """All stocks with their white and black."""
        from firstsheet.jobs.stocks import list_all

        return list_all(self._folder)

    def show(self, name: str) -> StockShowAnswer:
        """One stock with its measured facts."""
        from firstsheet.jobs import stocks

        return stocks.show(name, self._folder)

    def add(self, profile: bytes, words: Mapping[str, str]) -> StockShowAnswer:
        """Keep a profile as a stock.

        Raises
        ------
        FirstsheetError
            If the profile is no paper's, the name is taken, or a word cannot be read.
        """
        from firstsheet.jobs import stocks

        missing = [one for one in ("name", "surface") if not words.get(one)]
        if missing:
            raise TicketError(
                f"The stock has no {missing[0]} yet.",
                "Tickets call it by its name, and the surface decides the sharpening.",
                "Say both.",
                "missing-key",
            )
        given: dict[str, Any] = {key: words[key] for key in _STOCK_WORDS if words.get(key)}
        with tempfile.NamedTemporaryFile(suffix=".icc", dir=self._state) as file:
            file.write(profile)
            file.flush()
            answer = stocks.add(
                Path(file.name),
                replace=words.get("replace") == "true",
                stocks_dir=self._folder,
                **given,
            )
        self._news.tell(type="stocks")
        return answer

    def change(self, name: str, words: dict[str, str]) -> StockShowAnswer:
        """Change margins, notes and the like of a stock."""
        answer = change_stock(name, words, self._folder)
        self._news.tell(type="stocks")
        return answer

    def remove(self, name: str) -> StockListAnswer:
        """Forget one of the person's own stocks."""
        from firstsheet.jobs import stocks

        answer = stocks.remove(name, self._folder)
        self._news.tell(type="stocks")
        return answer


def _told_in_the_list(_name: str, _error: FirstsheetError) -> None:
    """A stock with a slip in its file cannot be chosen; the list of stocks says why."""
