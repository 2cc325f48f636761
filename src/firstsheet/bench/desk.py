"""What all parts of the bench share: places, drafts, open pictures, stocks, settings.

Takes allowed places and a state folder. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from firstsheet.bench.allowed_paths import NotAllowedError, Places
from firstsheet.bench.drafts import Draft, DraftStore
from firstsheet.bench.events import News
from firstsheet.bench.open_pictures import OpenPictures
from firstsheet.bench.session import PictureSession
from firstsheet.bench.work import Works
from firstsheet.engine.errors import FirstsheetError, TicketError
from firstsheet.engine.records import Stock
from firstsheet.engine.records.plan import Plan
from firstsheet.jobs.answers import StockListAnswer, StockShowAnswer
from firstsheet.jobs.planning.ticket_source import Stamp

if TYPE_CHECKING:
    from firstsheet.jobs.planning.colour_path import ColourPath

__all__ = ["Desk", "state_folder", "warm_up"]

_STOCK_WORDS = ("name", "surface", "title", "native_ppi", "margins", "media_setting", "notes")


def state_folder() -> Path:
    """Where drafts are kept: FIRSTSHEET_STATE, or the platform's place for state."""
    chosen = os.environ.get("FIRSTSHEET_STATE")
    if chosen:
        return Path(chosen) / "bench"
    from platformdirs import user_state_dir

    return Path(user_state_dir("firstsheet", appauthor=False)) / "bench"


def warm_up() -> None:
    """Bring in what the first picture needs, while the browser is still opening."""
    import importlib

    for name in _HEAVY:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    from firstsheet.pixels.native import prepare

    prepare(_FIRST_LOOK)  # on a machine's first run a picture is seen while the rest compiles
    prepare(_KERNELS)


_HEAVY = (
    "tifffile", "imagecodecs", "tomlkit", "PIL.Image", "PIL.JpegImagePlugin",
    "PIL.PngImagePlugin", "firstsheet.files.reading.opening", "firstsheet.files.reading.tiff",
    "firstsheet.files.reading.glance", "firstsheet.cms.chain", "firstsheet.engine.planning",
    "firstsheet.pixels.render", "firstsheet.pixels.window", "firstsheet.pixels.tilework",
    "firstsheet.pixels.proof", "firstsheet.pixels.lossmap", "firstsheet.files.writing.ruler_key",
)  # fmt: skip
_FIRST_LOOK = ("screen", "spread", "to_lab", "interleave")
_KERNELS = (
    "resample_horizontal", "resample_vertical_u16", "resample_vertical_u8",
    "loss", "measure", "paper_eight_u16", "paper_four_u16",
    "plain_u16", "screen", "shade", "sharpen", "spread", "to_lab", "interleave",
)  # fmt: skip


class Desk:
    """The shared parts of one running bench."""

    def __init__(self, places: Sequence[Path], *, state: Path, stocks_dir: Path | None) -> None:
        self.state, self.stocks_dir = state, stocks_dir
        self.news = News()
        self.uploads = (state / "uploads").resolve()
        self.places = Places(places, unnamed=[self.uploads])
        self.drafts = DraftStore(state)
        self.open_pictures = OpenPictures(self.news, stocks_dir, state)
        self.works = Works(self.news)
        self._known: tuple[object, Mapping[str, Stock]] | None = None
        self._settings_lock = threading.Lock()
        self.settings = self._read_settings()

    def close(self) -> None:
        """Stop what is under way and put everything away."""
        self.works.close()
        self.open_pictures.close_all()

    def within(self, changes: Mapping[str, str]) -> dict[str, str]:
        """Changes of lines that name files, held to the allowed places.

        Raises
        ------
        NotAllowedError
            If one leads outside.
        """
        held = dict(changes)
        for key in ("picture", "colour.read-as"):
            value = held.get(key, "")
            if value and (key == "picture" or value.lower().endswith((".icc", ".icm"))):
                held[key] = str(self.places.real(value))
        return held

    # ---- settings --------------------------------------------------------------------------

    def _read_settings(self) -> dict[str, Any]:
        try:
            found = json.loads((self.state / "settings.json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return found if isinstance(found, dict) else {}

    def keep_setting(self, name: str, value: Any) -> None:
        """Keep one setting over restarts."""
        from firstsheet.files.writing.whole import write_whole

        with self._settings_lock:
            self.settings[name] = value
            text = json.dumps(self.settings, indent=1)
            write_whole(self.state / "settings.json", text.encode("utf-8"))

    def keep_screen(self, screen: Mapping[str, float]) -> None:
        """Keep what a card held to the screen said about its size."""
        self.keep_setting("screen", dict(screen))

    # ---- stocks ----------------------------------------------------------------------------

    def stocks(self) -> Mapping[str, Stock]:
        """All stocks by name; read again only where a file was touched."""
        from firstsheet.store.stocks import builtin_names, load_stocks, stocks_folder

        folder = stocks_folder(self.stocks_dir)
        paths = sorted(folder.glob("*.toml")) if folder.is_dir() else []
        state = (builtin_names(), tuple((path, Stamp.of(path)) for path in paths))
        if self._known is None or self._known[0] != state:
            self._known = (state, load_stocks(self.stocks_dir, _told_in_the_list))
        return self._known[1]

    def stock_list(self) -> StockListAnswer:
        """All stocks with their white and black."""
        from firstsheet.jobs.stocks import list_all

        return list_all(self.stocks_dir)

    def stock_show(self, name: str) -> StockShowAnswer:
        """One stock with its measured facts."""
        from firstsheet.jobs.stocks import show

        return show(name, self.stocks_dir)

    def add_stock(self, profile: bytes, words: Mapping[str, str]) -> StockShowAnswer:
        """Keep a profile as a stock.

        Raises
        ------
        FirstsheetError
            If the profile is no paper's, the name is taken, or a word cannot be read.
        """
        from firstsheet.jobs.stocks import add

        missing = [one for one in ("name", "surface") if not words.get(one)]
        if missing:
            raise TicketError(
                f"The stock has no {missing[0]} yet.",
                "Tickets call it by its name, and the surface decides the sharpening.",
                "Say both.",
                "missing-key",
            )
        given: dict[str, Any] = {key: words[key] for key in _STOCK_WORDS if words.get(key)}
        with tempfile.NamedTemporaryFile(suffix=".icc", dir=self.state) as file:
            file.write(profile)
            file.flush()
            answer = add(
                Path(file.name),
                replace=words.get("replace") == "true",
                stocks_dir=self.stocks_dir,
                **given,
            )
        self.news.tell(type="stocks")
        return answer

    def change_stock(self, name: str, words: dict[str, str]) -> StockShowAnswer:
        """Change margins, notes and the like of a stock."""
        from firstsheet.bench.stocks import change_stock

        answer = change_stock(name, words, self.stocks_dir)
        self.news.tell(type="stocks")
        return answer

    def remove_stock(self, name: str) -> StockListAnswer:
        """Forget one of the person's own stocks."""
        from firstsheet.jobs.stocks import remove

        answer = remove(name, self.stocks_dir)
        self.news.tell(type="stocks")
        return answer

    # ---- shared ----------------------------------------------------------------------------

    def way(self, held: PictureSession, plan: Plan) -> ColourPath:
        """The way of the picture onto the plan's paper."""
        assert held.table is not None
        _, profile = held.table.stock(plan.stock.name, self.stocks_dir)
        return held.table.way(profile, plan.colour.intent, black_point=plan.colour.black_point)

    def target(self, draft: Draft, folder: str) -> Path:
        """Where a print goes: the folder named, or one beside the picture.

        Raises
        ------
        NotAllowedError
            If it lies outside the allowed folders.
        """
        if not folder.strip():
            picture = Path(draft.ticket.picture)
            beside = picture.parent
            if beside == self.uploads:
                beside = next((one for one in self.places.roots if one.is_dir()), beside)
            origin = Path(draft.origin)
            name = origin.stem if origin.suffix.lower() == ".toml" else ""
            return beside / (name or f"{picture.stem}-{draft.ticket.stock}")
        wished = Path(folder)
        if not wished.is_absolute():
            wished = Path(draft.ticket.picture).parent / wished
        with contextlib.suppress(FirstsheetError):
            parent = self.places.real(str(wished.parent))
            if parent.is_dir() and wished.name and not wished.name.startswith("."):
                return parent / wished.name
        raise NotAllowedError(
            f"{folder[:200]!r} is not a folder a print can be made in.",
            "Nothing was made.",
            "Name a new folder inside one of the allowed ones.",
            "not-allowed",
        )


def _told_in_the_list(_name: str, _error: FirstsheetError) -> None:
    """A stock with a slip in its file cannot be chosen; the list of stocks says why."""
