"""Tiles of the opened picture: as it is, as it will print, what is lost.

Theory: docs/theory/tiles.md. Tests: tests/jobs/test_bench_tiles.py.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.planrecord import Plan
from firstsheet.jobs.bench_answers import TileSet

if TYPE_CHECKING:
    from firstsheet.jobs.table import Prepared, Table

__all__ = ["TILE_PX", "Tile", "finest_level", "tile_bytes", "tile_sets"]

TILE_PX = 512


def finest_level(width_px: int, height_px: int) -> int:
    """Number of halvings after which the whole picture fits one tile."""
    return max(0, math.ceil(math.log2(max(width_px, height_px) / TILE_PX)))


def tile_sets(draft_id: str, plan: Plan) -> dict[str, TileSet]:
    """Where the tiles of each kind are; the address changes whenever a pixel would."""
    picture = plan.picture
    zmax = finest_level(picture.width_px, picture.height_px)

    def one(kind: str, *what: object) -> TileSet:
        digest = hashlib.sha256(repr((picture.sha256, *what)).encode()).hexdigest()[:16]
        return TileSet(
            url=f"/tiles/{draft_id}/{kind}/{digest}/{{z}}/{{x}}/{{y}}.jpg",
            width=picture.width_px,
            height=picture.height_px,
            zmax=zmax,
            ppi=plan.size.effective_ppi,
        )

    colour = (plan.stock.name, plan.colour.intent, plan.colour.black_point, plan.colour.mode)
    return {
        "picture": one("picture"),
        "proof": one("proof", *colour, plan.ticket.output.proof_white),
    }


@dataclass(frozen=True, slots=True)
class Tile:
    """An encoded tile; one that is not final may look better later."""

    data: bytes
    final: bool


def tile_bytes(
    table: Table, prepared: Prepared, kind: str, place: tuple[int, int, int], suffix: str
) -> Tile | None:
    """One tile, encoded and tagged; None where there is none."""
    from firstsheet.pixels.proof import proof_picture, show_printed

    z, x, y = place
    facts = table.opened.facts
    zmax = finest_level(facts.width_px, facts.height_px)
    step = 2 ** (zmax - z)
    left, top = x * TILE_PX * step, y * TILE_PX * step
    if not (0 <= z <= zmax and 0 <= left < facts.width_px and 0 <= top < facts.height_px):
        return None
    source = table.opened.source
    rows = source.rows(top, min(source.height_px, top + TILE_PX * step))
    block = rows[::step, left : left + TILE_PX * step : step].astype(np.float64)
    block /= np.iinfo(rows.dtype).max if rows.dtype.kind == "u" else 1.0
    if kind == "proof":
        rgb = proof_picture(block, prepared.chain, white="paper").rgb
    else:
        rgb = show_printed(prepared.chain.wanted_lab(block), prepared.chain, white="screen").rgb
    return Tile(_encoded((rgb >> 8).astype(np.uint8), suffix), True)


def _encoded(rgb: NDArray[np.uint8], suffix: str) -> bytes:
    import io

    from PIL import Image

    from firstsheet.cms.build import space_profile

    out = io.BytesIO()
    image: Any = Image.fromarray(rgb)
    tag = space_profile("display-p3")
    if suffix == "png":
        image.save(out, "PNG", compress_level=1, icc_profile=tag)
    else:
        image.save(out, "JPEG", quality=92, subsampling=0, icc_profile=tag)
    return out.getvalue()
