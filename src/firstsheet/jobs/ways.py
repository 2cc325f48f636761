"""One picture's way onto one paper, as fast as it can be had without changing the numbers.

Where the print's own kernels can do it, they do (measured off the floating-point engine by the
link error in the plan); for papers of four inks the engine itself does.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.cms.chain import Chain
from firstsheet.cms.link import PaperLink, SourceColour, paper_link, proof_link, source_colour
from firstsheet.engine.bands import StopCheck
from firstsheet.engine.colour.difference import delta_e_2000
from firstsheet.jobs.threads import in_bands, worker_count

if TYPE_CHECKING:
    from firstsheet.pixels.colours import PrintColours
    from firstsheet.pixels.tilework import TileColours

__all__ = ["Way", "de00_between"]

Floats = NDArray[Any]


class Way:
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

    @cached_property
    def tile_colours(self) -> TileColours | None:
        """The kernels, for tiles; None for papers of four inks."""
        if self._colours is None:
            return None
        from firstsheet.pixels.tilework import TileColours

        return TileColours(self.source, self.link, proof_link(self.chain), threads=worker_count())

    def wanted_lab(self, picture: Floats, stop: StopCheck) -> Floats:
        """What the picture means, media-relative Lab."""
        if self._colours is None:
            return in_bands(self.chain.wanted_lab, picture, stop)
        return self._colours.wanted_lab(picture)

    def printed_lab(self, picture: Floats, stop: StopCheck) -> Floats:
        """What the paper shows, Lab relative to its white."""
        if self._colours is None:
            return in_bands(
                lambda band: self.chain.printed_lab(self.chain.device(band)), picture, stop
            )
        return self._colours.printed_lab(self._colours.device(picture))


def de00_between(first: Floats, second: Floats, stop: StopCheck) -> NDArray[np.float64]:
    """CIEDE2000 pixel by pixel, (h, w)."""
    both = np.concatenate([first, second], axis=-1)

    def work(band: Floats) -> NDArray[np.float64]:
        return np.asarray(delta_e_2000(band[..., :3], band[..., 3:]))

    return in_bands(work, both, stop)
