"""The predicted look on the page: a print with its ink spread, and as the eye takes it in.

Takes a prepared plan; gives tiles of the whole print from its stated distance, made when they
are first wanted and thrown away with their plan, and the print's own pixels with ink spread.
Only a few rows are held at a time; the rest lies in temporary files without a name.
Theory: docs/theory/acutance.md, tiles.md. Tests: tests/web/test_bench_seen.py.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.bench.answers import ErrorView, SeenView, error_view
from firstsheet.bench.levels import RowFile, finest_level, level_size
from firstsheet.engine.errors import OutputError, StoppedError
from firstsheet.engine.planning import plan_digest
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.sharpness.viewing_filter import reach_px, seen_part
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.viewing_light import PrintLight, ink_words, light_of_codes, print_light
from firstsheet.pixels.team import let_by

if TYPE_CHECKING:
    from firstsheet.jobs.planning.colour_path import ColourPath
    from firstsheet.jobs.planning.open_picture import Prepared

__all__ = ["LOOKS", "SeenTiles", "ViewingPreview", "inked_pixels", "look_key", "make_seen_tiles"]

Bytes = NDArray[np.uint8]
Window = Callable[[int, int, int, int], NDArray[Any]]
# kind of tile: whether the eye from the stated distance is worked in
LOOKS: Mapping[str, bool] = {"inked": False, "seen": True}
_LEAST_MARGIN_PX = 14  # beside a tile of single print pixels: 540 is quick to transform
_RENDERED = 0.75  # share of the work that is done when the light is there


class SeenTiles:
    """Finished looks of one print in halved sizes. Safe to use from several threads."""

    def __init__(self, light: PrintLight, folder: Path) -> None:
        self.width_px, self.height_px = light.width_px, light.height_px
        self.pitch_mm = light.pitch_mm
        self.zmax = finest_level(self.width_px, self.height_px)
        self._folder = folder
        self._levels: dict[tuple[str, int], RowFile] = {}
        self._lock = threading.Lock()

    def level(self, kind: str, z: int) -> RowFile:
        """Where the bytes of one level are kept; made on first use."""
        if (kind, z) not in self._levels:
            size = level_size(self.width_px, self.height_px, self.zmax - z)
            self._levels[kind, z] = RowFile(*size, 3, np.uint8, self._folder)
        return self._levels[kind, z]

    def tile(self, kind: str, z: int, box: tuple[int, int, int, int]) -> Bytes | None:
        """A rectangle of a level, bytes for the screen; None once it was thrown away."""
        left, top, width, height = box
        with self._lock:
            held = self._levels.get((kind, z))
            return None if held is None else held.block(top, top + height, left, left + width)

    def close(self) -> None:
        """Give the files back."""
        with self._lock:
            for level in self._levels.values():
                level.close()
            self._levels.clear()


def make_seen_tiles(
    prepared: Prepared, way: ColourPath, folder: Path, *, progress: Progress, stop: StopCheck
) -> SeenTiles:
    """Render the print once, on one thread, and make both looks of it.

    Raises
    ------
    StoppedError
        When `stop` says so.
    OSError
        If the temporary files cannot be written; none of them is left.
    """
    with contextlib.ExitStack() as left_over:

        def keeper(width_px: int, height_px: int) -> RowFile:
            kept = RowFile(width_px, height_px, 3, np.float32, folder)
            left_over.callback(kept.close)
            return kept

        light = print_light(
            prepared,
            way,
            keeper,
            progress=lambda doing, share: progress(doing, share * _RENDERED),
            stop=stop,
            threads=1,  # the page goes on asking meanwhile
        )
        tiles = SeenTiles(light, folder)
        try:
            _fill(tiles, light, _white(prepared.plan, way), progress, stop)
        except BaseException:
            tiles.close()
            raise
        return tiles


def _fill(
    tiles: SeenTiles, light: PrintLight, white: Any, progress: Progress, stop: StopCheck
) -> None:
    from firstsheet.pixels.tilecolours import light_bytes

    steps = [(kind, eye, band) for kind, eye in LOOKS.items() for band in light.bands()]
    for done, (kind, eye, (top, bottom)) in enumerate(steps):
        stop()
        progress("Looking from where you stand", _RENDERED + (1 - _RENDERED) * done / len(steps))
        part = light.band(top, bottom, eye=eye)
        for halvings in range(tiles.zmax + 1):
            rows = light_bytes(part, white_xyz=white)
            tiles.level(kind, tiles.zmax - halvings).write(top >> halvings, rows)
            part = _halved(part)


def _halved(light: NDArray[Any]) -> NDArray[Any]:
    """Means of four, as a screen's pixel shows them; what is left over is repeated.

    Bands begin at rows that every level divides (BAND_ROWS is a power of two).
    """
    height, width = light.shape[:2]
    even = np.pad(light, ((0, height % 2), (0, width % 2), (0, 0)), mode="edge")
    return np.asarray(even.reshape(-(-height // 2), 2, -(-width // 2), 2, 3).mean(axis=(1, 3)))


def _white(plan: Plan, way: ColourPath) -> Any:
    """The paper's white, where it is to be told from the screen's."""
    return way.chain.paper_white_xyz if plan.ticket.output.proof_white == "paper" else None


def inked_pixels(
    window: Window,
    box: tuple[int, int, int, int],
    size_px: tuple[int, int],
    *,
    pitch_mm: float,
    spread_mm: float,
    way: ColourPath,
    mode: str,
    white_xyz: Any,
) -> Bytes:
    """Pixels of the print file as the paper shows them once the ink has spread.

    Parameters
    ----------
    window
        Codes of a rectangle of the print: left, top, width, height.
    box
        The rectangle wanted, counted like that; it lies inside `size_px`.
    """
    from firstsheet.pixels.tilecolours import light_bytes

    reach = reach_px(pitch_mm, distance_mm=None, spread_mm=spread_mm)
    margin = max(_LEAST_MARGIN_PX, reach)
    left, top = max(0, box[0] - margin), max(0, box[1] - margin)
    right = min(size_px[0], box[0] + box[2] + margin)
    bottom = min(size_px[1], box[1] + box[3] + margin)
    light = light_of_codes(way, mode, window(left, top, right - left, bottom - top))
    beyond = (
        (margin - (box[1] - top), margin - (bottom - box[1] - box[3])),
        (margin - (box[0] - left), margin - (right - box[0] - box[2])),
        (0, 0),
    )
    shown = seen_part(
        np.pad(np.asarray(light, np.float32), beyond, mode="edge"),
        margin_px=margin,
        pitch_mm=pitch_mm,
        spread_mm=spread_mm,
    )
    return light_bytes(shown, white_xyz=white_xyz)


def look_key(plan: Plan) -> str:
    """What the looks of a plan depend on: all but what is said of it and of the file's detail."""
    return plan_digest(
        plan.model_copy(update={"findings": (), "verdict": "", "detail": None, "look": None})
    )


class ViewingPreview:
    """One draft's look from its distance: of one plan at a time, made when it is asked for."""

    def __init__(self) -> None:
        self._digest = ""  # what the looks depend on
        self._state: Literal["", "making", "ready", "failed"] = ""
        self._share = 0.0
        self._slip: ErrorView | None = None
        self._tiles: SeenTiles | None = None
        self._lock = threading.Lock()

    def view(self, plan: Plan) -> tuple[SeenView, SeenTiles | None]:
        """How far it is for a plan; what was made for another plan is thrown away."""
        with self._lock:
            if self._state and self._digest != look_key(plan):
                self._forget()
            view = SeenView(
                state=self._state, share=self._share, error=self._slip, ink=ink_words(plan)
            )
            return view, self._tiles

    def claim(self, plan: Plan) -> bool:
        """Whether it must be made for a plan now; whoever is told so makes it."""
        digest = look_key(plan)
        with self._lock:
            if self._digest == digest and self._state in ("making", "ready"):
                return False
            self._forget()
            self._digest, self._state = digest, "making"
            return True

    def make(
        self,
        prepared: Prepared,
        way: ColourPath,
        folder: Path,
        *,
        tell: Callable[[float], None],
        stop: StopCheck,
    ) -> bool:
        """Make it; says whether it came to an end for which somebody waits."""
        digest = look_key(prepared.plan)

        def go_on() -> None:
            let_by()
            stop()
            if self._digest != digest:
                raise StoppedError("Another wish came.", "Nothing was changed.", "", "stopped")

        def progress(_doing: str, share: float) -> None:
            if self._digest == digest:
                self._share = share
                tell(share)

        try:
            tiles = make_seen_tiles(prepared, way, folder, progress=progress, stop=go_on)
        except StoppedError:
            return False
        except Exception as error:  # a page must be told, whatever went wrong
            return self._end(digest, "failed", slip=_told(error, folder))
        return self._end(digest, "ready", tiles=tiles)

    def close(self) -> None:
        """Throw it away."""
        with self._lock:
            self._forget()

    def _end(
        self,
        digest: str,
        state: Literal["ready", "failed"],
        *,
        tiles: SeenTiles | None = None,
        slip: ErrorView | None = None,
    ) -> bool:
        with self._lock:
            wanted = self._digest == digest
            if wanted:
                self._state, self._share = state, 1.0
                self._tiles, self._slip = tiles, slip
            elif tiles is not None:
                tiles.close()
            return wanted

    def _forget(self) -> None:
        if self._tiles is not None:
            self._tiles.close()
        self._digest, self._state, self._share = "", "", 0.0
        self._tiles, self._slip = None, None


def _told(error: Exception, folder: Path) -> ErrorView:
    """Why it could not be made; a disk's refusal in words of its own."""
    if not isinstance(error, OSError):
        return error_view(error)
    return error_view(
        OutputError(
            f"The look from where you stand could not be kept in {folder} ({error.strerror}).",
            "Nothing is lost. The soft proof is shown instead, without ink spread.",
            "Make room there, then come back to this way to look.",
            "disk-full",
        )
    )
