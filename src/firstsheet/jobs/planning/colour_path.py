"""One picture's way onto one paper, as fast as it can be had without changing the numbers.

Where the print's own kernels can do it, they do (measured off the floating-point engine by the
link error in the plan); for papers of four inks the engine itself does.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.chain import Chain
from firstsheet.cms.link import PaperLink, SourceColour, paper_link, proof_link, source_colour
from firstsheet.engine.loss.repair.record import RepairField
from firstsheet.engine.streams import StopCheck
from firstsheet.jobs.planning.threads import in_bands
from firstsheet.pixels.team import worker_count

if TYPE_CHECKING:
    from firstsheet.pixels.colours import PrintColours
    from firstsheet.pixels.repairs import Lies, PlacedRepairs
    from firstsheet.pixels.tilework import TileColours

__all__ = ["ColourPath", "RepairedPath", "Unrepaired", "de00_between"]

Floats = NDArray[Any]
_ROW_PX = 512
_WHOLE = (0.0, 0.0, 1.0, 1.0)


class ColourPath:
    """Wanted and printed colour of small pictures, (h, w, c) codes 0..1, through one chain."""

    def __init__(self, chain: Chain) -> None:
        self.chain = chain

    @cached_property
    def source(self) -> SourceColour:
        """The picture's side of the chain."""
        return source_colour(self.chain)

    @cached_property
    def link(self) -> PaperLink:
        """The paper's side of the chain."""
        return paper_link(self.chain)

    @cached_property
    def _colours(self) -> PrintColours | None:
        if self.chain.paper.channels != 3:
            return None
        from firstsheet.pixels.colours import PrintColours

        return PrintColours(self.source, self.link, proof_link(self.chain), threads=worker_count())

    @property
    def plain(self) -> ColourPath:
        """The way without repairs."""
        return self

    @cached_property
    def tile_colours(self) -> TileColours | None:
        """The kernels, for tiles; None for papers of four inks."""
        if self._colours is None:
            return None
        from firstsheet.pixels.tilework import TileColours

        return TileColours(self.source, self.link, proof_link(self.chain), threads=worker_count())

    def placed(self, size_px: tuple[int, int], lies: Lies | None) -> PlacedRepairs | None:
        """The repairs of this way laid over a picture of a size; None where it has none."""
        del size_px, lies
        return None

    def wanted_lab(self, picture: Floats, stop: StopCheck) -> Floats:
        """What the picture means, media-relative Lab."""
        if self._colours is None:
            return in_bands(self.chain.wanted_lab, picture, stop)
        return self._colours.wanted_lab(picture)

    def printed_lab(self, picture: Floats, stop: StopCheck, lies: Lies | None = None) -> Floats:
        """What the paper shows, Lab relative to its white.

        Parameters
        ----------
        lies
            What of the whole upright file the picture shows; only repairs ask. None where it is
            no part of it, such as a ramp of greys.
        """
        del lies
        if self._colours is None:
            return in_bands(
                lambda band: self.chain.printed_lab(self.chain.device(band)), picture, stop
            )
        return self._colours.printed_lab(self._colours.device(picture))

    def printed_of(self, wanted_lab: Any) -> Floats:
        """What the paper shows of colours a picture means, (..., 3)."""
        lab = np.asarray(wanted_lab)
        if self._colours is None:
            chain = self.chain
            return chain.printed_lab(chain.device_from_lab(chain.aim_from_wanted(lab)))
        rows = lab.reshape(-1, 3)
        width = max(1, min(len(rows), _ROW_PX))
        filled = np.pad(rows, ((0, -len(rows) % width), (0, 0)), mode="edge")
        device = self._colours.device_of(filled.reshape(-1, width, 3))
        shown = self._colours.printed_lab(device)
        return shown.reshape(-1, 3)[: len(rows)].reshape(lab.shape)


@dataclass(frozen=True, eq=False)
class Unrepaired:
    """A picture without its repairs, (h, w, 3) each, relative to the paper's white."""

    wanted_lab: Floats
    printed_lab: Floats


class RepairedPath(ColourPath):
    """A way with repairs before it: wanted stays what the picture means, printed is repaired."""

    def __init__(self, way: ColourPath, fields: tuple[RepairField, ...]) -> None:
        super().__init__(way.chain)
        self._plain, self.fields = way, fields

    @property
    def plain(self) -> ColourPath:
        """The way without the repairs."""
        return self._plain

    @cached_property
    def source(self) -> SourceColour:
        """The picture's side of the chain."""
        return self._plain.source

    @cached_property
    def link(self) -> PaperLink:
        """The paper's side of the chain."""
        return self._plain.link

    @cached_property
    def _colours(self) -> PrintColours | None:
        return self._plain._colours

    @cached_property
    def tile_colours(self) -> TileColours | None:
        """The kernels, for tiles: the plain way's own."""
        return self._plain.tile_colours

    def placed(self, size_px: tuple[int, int], lies: Lies | None) -> PlacedRepairs | None:
        """The repairs laid over a picture; without a place, those that have no mask."""
        from firstsheet.pixels.repairs import place_repairs

        fields = [one for one in self.fields if lies is not None or one.mask is None]
        return place_repairs(fields, size_px=size_px, lies=lies or _WHOLE) if fields else None

    def printed_lab(
        self,
        picture: Floats,
        stop: StopCheck,
        lies: Lies | None = None,
        unrepaired: Unrepaired | None = None,
    ) -> Floats:
        """What the paper shows of the repaired picture; without a place, of what has no mask.

        Parameters
        ----------
        unrepaired
            The same picture without repairs, where it is known: it is not worked out again, and
            papers without kernels print only what the repairs move.
        """
        height, width = picture.shape[:2]
        placed = self.placed((width, height), lies)
        if placed is None:
            return self._plain.printed_lab(picture, stop)
        wanted = (
            self._plain.wanted_lab(picture, stop) if unrepaired is None else unrepaired.wanted_lab
        )
        colours = self._colours
        if colours is not None:
            return colours.printed_lab(colours.device_of(colours.repaired(wanted, placed)))
        planes = np.array(np.moveaxis(wanted, -1, 0), dtype=np.float32, order="C")
        before = planes.copy()
        rows = np.arange(height, dtype=np.int64)
        placed.apply(planes, rows, rows)
        repaired = np.moveaxis(planes, 0, -1)
        if unrepaired is None:
            return in_bands(self._plain.printed_of, repaired, stop)
        moved = np.any(planes != before, axis=0)
        shown = np.array(unrepaired.printed_lab)
        shown[moved] = self._plain.printed_of(repaired[moved])
        return shown


def de00_between(first: Floats, second: Floats, stop: StopCheck) -> NDArray[np.float64]:
    """CIEDE2000 pixel by pixel, (h, w), in single precision: off by 0.001 at most."""
    from firstsheet.pixels.tilecolours import loss_de00

    stop()
    return loss_de00(first, second).astype(np.float64)
