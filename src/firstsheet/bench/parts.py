"""What the parts of one bench share: allowed folders, drafts, open pictures, stocks, settings.

Takes allowed folders and a state folder. Tests: tests/web/test_bench_frames.py.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from firstsheet.bench.allowed_paths import NotAllowedError, Places
from firstsheet.bench.drafts import Draft, DraftStore
from firstsheet.bench.events import News
from firstsheet.bench.open_pictures import OpenPictures
from firstsheet.bench.session import PictureSession
from firstsheet.bench.settings import Settings
from firstsheet.bench.stock_collection import StockCollection
from firstsheet.bench.work import Works
from firstsheet.engine.errors import FirstsheetError
from firstsheet.engine.records.plan import Plan

if TYPE_CHECKING:
    from firstsheet.jobs.planning.colour_path import ColourPath

__all__ = ["BenchParts", "state_folder", "warm_up"]


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


class BenchParts:
    """The shared parts of one running bench."""

    def __init__(self, places: Sequence[Path], *, state: Path, stocks_dir: Path | None) -> None:
        self.state, self.stocks_dir = state, stocks_dir
        self.news = News()
        self.uploads = (state / "uploads").resolve()
        self.places = Places(places, unnamed=[self.uploads])
        self.drafts = DraftStore(state)
        self.open_pictures = OpenPictures(self.news, stocks_dir, state)
        self.works = Works(self.news)
        self.stocks = StockCollection(stocks_dir, state, self.news)
        self.settings = Settings(state)

    def close(self) -> None:
        """Stop what is under way and close every picture."""
        self.works.close()
        self.open_pictures.close_all()

    def within(self, changes: Mapping[str, str]) -> dict[str, str]:
        """Changes of lines that name files, safe to the allowed places.

        Raises
        ------
        NotAllowedError
            If one leads outside.
        """
        safe = dict(changes)
        for key in ("picture", "colour.read-as"):
            value = safe.get(key, "")
            if value and (key == "picture" or value.lower().endswith((".icc", ".icm"))):
                safe[key] = str(self.places.real(value))
        return safe

    def way(self, session: PictureSession, plan: Plan) -> ColourPath:
        """The way of the picture onto the plan's paper."""
        assert session.table is not None
        _, profile = session.table.stock(plan.stock.name, self.stocks_dir)
        return session.table.way(profile, plan.colour.intent, black_point=plan.colour.black_point)

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
