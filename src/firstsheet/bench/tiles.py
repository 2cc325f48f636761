"""Tiles of the opened picture: as it is, as it will print, what is lost, the print's own pixels.

Takes a plan and the picture's levels; gives addresses that change whenever a pixel would, and
encoded tiles. Theory: docs/theory/tiles.md. Tests: tests/web/test_bench_frames.py,
tests/web/test_bench_seen.py.
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from firstsheet.bench.answers import TileSet
from firstsheet.bench.levels import (
    TILE_PX,
    Levels,
    finest_level,
    level_size,
    reducing_job,
    shares,
)
from firstsheet.bench.light import light_share
from firstsheet.bench.viewing import LOOKS, SeenTiles, inked_pixels, look_key
from firstsheet.engine.records.plan import Plan
from firstsheet.engine.sharpness.print_chain import INK_SPREAD_MM
from firstsheet.engine.units import MM_PER_INCH
from firstsheet.jobs.planning.colour_path import ColourPath, RepairedPath, de00_between

if TYPE_CHECKING:
    from firstsheet.jobs.planning.open_picture import Prepared
    from firstsheet.pixels.repairs import Lies
    from firstsheet.pixels.window import Windows

__all__ = [
    "Kind",
    "Tile",
    "TileMaker",
    "encoded_picture",
    "loss_shown",
    "proof_shown",
    "wanted_shown",
]

Kind = Literal[
    "picture", "proof", "lit", "loss", "print", "print-unsharpened",
    "print-inked", "print-unsharpened-inked", "inked", "seen",
]  # fmt: skip
Bytes = NDArray[np.uint8]
_REMEMBERED = 40  # kinds and settings whose tiles can still be asked for
_QUALITY = 92


@dataclass(frozen=True, slots=True)
class Tile:
    """An encoded tile; one that is not final may look better later."""

    data: bytes
    final: bool


@dataclass(frozen=True, eq=False)
class _Spec:
    """Everything the pixels of one kind depend on."""

    kind: Kind
    way: ColourPath
    mode: str
    paper_white: bool
    floor_de00: float
    width_px: int
    height_px: int
    windows: _Later | None = None
    crop: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    light: float = 1.0  # share of the brightness a proof has
    pitch_mm: float = 0.0  # of a print pixel on paper
    spread_mm: float = 0.0  # of the ink; none is shown where it is 0
    seen: SeenTiles | None = None

    @property
    def zmax(self) -> int:
        return finest_level(self.width_px, self.height_px)


class TileMaker:
    """The tiles of one opened picture. Safe to use from several threads."""

    def __init__(self, draft_id: str, levels: Levels) -> None:
        self._draft_id, self.levels = draft_id, levels
        self._specs: OrderedDict[str, _Spec] = OrderedDict()
        self._lock = threading.Lock()

    def sets(
        self, plan: Plan, way: ColourPath, prepared: Prepared | None, seen: SeenTiles | None = None
    ) -> dict[str, TileSet]:
        """Where the tiles of each kind are for a plan; 'print' only once it is decided.

        Parameters
        ----------
        seen
            The looks from the plan's distance, where they are made.
        """
        picture = plan.picture
        repairs: tuple[object, ...] = ()
        if prepared is not None and prepared.repairs:
            way, repairs = RepairedPath(way, prepared.repairs), plan.ticket.repairs
        paper: tuple[object, ...] = (
            plan.stock.name,
            plan.colour.intent,
            plan.colour.black_point,
            plan.colour.mode,
        )
        paper = (*paper, *repairs)
        profile = plan.stock.facts.profile.sha256 if plan.stock.facts else ""
        white = plan.ticket.output.proof_white
        floor = plan.stock.facts.floor_p99_de00 if plan.stock.facts else 0.0
        whole = (picture.width_px, picture.height_px)
        common: dict[str, Any] = {
            "way": way,
            "mode": plan.colour.mode,
            "paper_white": white == "paper",
            "floor_de00": floor,
        }
        own = plan.size.effective_ppi
        sets = {
            "picture": self._set(_spec("picture", whole, common), own, ()),
            "proof": self._set(_spec("proof", whole, common), own, (profile, *paper, white)),
        }
        if (light := light_share(plan)) < 1.0:
            spec = _spec("lit", whole, {**common, "paper_white": True, "light": light})
            sets["lit"] = self._set(spec, own, (profile, *paper, round(light, 6)))
        if plan.colour.mode != "as-is":
            sets["loss"] = self._set(
                _spec("loss", whole, common), own, (profile, *paper, round(floor, 6))
            )
        if prepared is not None and _on_the_sheet(plan):
            size = (plan.size.width_px, plan.size.height_px)
            on_sheet = (plan.sheet.picture_left_px, plan.sheet.picture_top_px)
            decided = (plan.size.model_dump_json(), plan.sharpen.model_dump_json())
            what = (profile, *paper, white, *decided, plan.output.bits, on_sheet)
            common["crop"] = _crop_of(plan)
            for kind in ("print", "print-unsharpened"):
                common["windows"] = _Later(self.levels.source, prepared, sharpened=kind == "print")
                sets[kind] = self._set(_spec(kind, size, common), plan.size.ppi, what)
                ink = INK_SPREAD_MM[plan.stock.surface]
                inked = {**common, "spread_mm": ink, "pitch_mm": MM_PER_INCH / plan.size.ppi}
                spec = _spec(f"{kind}-inked", size, inked)
                sets[spec.kind] = self._set(spec, plan.size.ppi, (*what, ink))
        if seen is not None:
            sets |= self._looks(plan, way, seen)
        return sets

    def _looks(self, plan: Plan, way: ColourPath, seen: SeenTiles) -> dict[str, TileSet]:
        """Both looks of a plan; their files live as long as it does."""
        size, key = (seen.width_px, seen.height_px), look_key(plan)
        common: dict[str, Any] = {
            "way": way, "mode": plan.colour.mode, "paper_white": False, "floor_de00": 0.0,
            "seen": seen,
        }  # fmt: skip
        return {
            kind: self._set(_spec(kind, size, common), MM_PER_INCH / seen.pitch_mm, (key,))
            for kind in LOOKS
        }

    def _set(self, spec: _Spec, ppi: float, what: tuple[object, ...]) -> TileSet:
        picture = self.levels.digest
        digest = hashlib.sha256(repr((spec.kind, picture, what)).encode()).hexdigest()[:20]
        with self._lock:
            if spec.seen is not None:
                self._specs[digest] = spec  # made anew, perhaps
            self._specs.setdefault(digest, spec)
            self._specs.move_to_end(digest)
            while len(self._specs) > _REMEMBERED:
                self._specs.popitem(last=False)
        return TileSet(
            url=f"/tiles/{self._draft_id}/{spec.kind}/{digest}/{{z}}/{{x}}/{{y}}.jpg",
            width=spec.width_px,
            height=spec.height_px,
            zmax=spec.zmax,
            ppi=ppi,
            tile=TILE_PX,
        )

    def _print_tile(
        self, spec: _Spec, z: int, box: tuple[int, int, int, int]
    ) -> tuple[Bytes, bool]:
        """The print file's own pixels; from farther away, the proof of the picture there."""
        step = 2 ** (spec.zmax - z)
        if step == 1:
            return _own_pixels(spec, box), True
        codes, final = self._from_picture(spec, step, box)
        left, top, width, height = spec.crop
        across, down = left / self.levels.width_px, top / self.levels.height_px
        width, height = width / self.levels.width_px, height / self.levels.height_px
        x, y, wide, high = _shares(box, (-(-spec.width_px // step), -(-spec.height_px // step)))
        rgb = proof_shown(
            spec.way, codes, as_is=spec.mode == "as-is", paper_white=spec.paper_white,
            lies=(across + x * width, down + y * height, wide * width, high * height),
        )  # fmt: skip
        return rgb, final

    def _from_picture(
        self, spec: _Spec, step: int, box: tuple[int, int, int, int]
    ) -> tuple[NDArray[Any], bool]:
        """Codes of the picture where a coarse tile of the print lies."""
        levels = self.levels
        size = (-(-spec.width_px // step), -(-spec.height_px // step))
        per_px = spec.crop[2] / size[0]  # file pixels for one of the tile's
        halvings = min(levels.zmax, max(0, int(np.log2(max(per_px, 1.0)))))
        held = levels.level(halvings)
        if held is None:
            return self._nearest(spec, size, box, halvings), False
        source, orientation = held
        across, down = level_size(levels.width_px, levels.height_px, halvings)
        x, y = across / levels.width_px, down / levels.height_px
        left, top, width, height = spec.crop
        job = reducing_job(size, (left * x, top * y, width * x, height * y), orientation, source)
        from firstsheet.pixels.window import Windows

        return Windows(source, job, levels.colour, None).make(*box), True

    def _nearest(
        self, spec: _Spec, size: tuple[int, int], box: tuple[int, int, int, int], halvings: int
    ) -> NDArray[Any]:
        """The same from the nearest pixels of what is there, until the level is."""
        levels, crop = self.levels, spec.crop
        across, down = level_size(levels.width_px, levels.height_px, halvings)
        x = (box[0] + np.arange(box[2]) + 0.5) * crop[2] / size[0] + crop[0]
        y = (box[1] + np.arange(box[3]) + 0.5) * crop[3] / size[1] + crop[1]
        columns = np.clip((x * across / levels.width_px).astype(int), 0, across - 1)
        rows = np.clip((y * down / levels.height_px).astype(int), 0, down - 1)
        left, top = int(columns[0]), int(rows[0])
        width, height = int(columns[-1]) - left + 1, int(rows[-1]) - top + 1
        part, _ = levels.codes(levels.zmax - halvings, left, top, width, height)
        return np.ascontiguousarray(part[(rows - top)[:, None], (columns - left)[None, :]])

    def tile(self, kind: str, digest: str, place: tuple[int, int, int], suffix: str) -> Tile | None:
        """One tile, encoded and tagged; None where there is none (any more)."""
        with self._lock:
            spec = self._specs.get(digest)
        z, x, y = place
        if spec is None or spec.kind != kind or not 0 <= z <= spec.zmax:
            return None
        width, height = level_size(spec.width_px, spec.height_px, spec.zmax - z)
        left, top = x * TILE_PX, y * TILE_PX
        if not (0 <= left < width and 0 <= top < height):
            return None
        box = (left, top, min(TILE_PX, width - left), min(TILE_PX, height - top))
        if spec.seen is not None:
            shown, final = spec.seen.tile(spec.kind, z, box), True
            if shown is None:
                return None
            rgb = shown
        elif spec.windows is not None:
            rgb, final = self._print_tile(spec, z, box)
        else:
            codes, final = self.levels.codes(z, *box)
            rgb = _picture_tile(spec, codes, _shares(box, (width, height)))
        space = "srgb" if kind == "loss" else "display-p3"
        return Tile(encoded_picture(rgb, space, suffix), final)


def _on_the_sheet(plan: Plan) -> bool:
    """Whether there is a print to show at all; a picture that leaves its sheet has none."""
    size, sheet = plan.size, plan.sheet
    left, top = sheet.picture_left_px, sheet.picture_top_px
    right, bottom = left + size.width_px, top + size.height_px
    return left >= 0 and top >= 0 and right <= sheet.width_px and bottom <= sheet.height_px


def _crop_of(plan: Plan) -> tuple[float, float, float, float]:
    """The printed part of the upright file, its pixels."""
    size = plan.size
    return size.crop_left_px, size.crop_top_px, size.crop_width_px, size.crop_height_px


def _spec(kind: Any, size: tuple[int, int], common: dict[str, Any]) -> _Spec:
    return _Spec(kind=kind, width_px=size[0], height_px=size[1], **common)


class _Later:
    """Windows of the print, laid out when the first tile is asked for."""

    def __init__(self, source: Any, prepared: Prepared, *, sharpened: bool) -> None:
        self._source, self._prepared, self._sharpened = source, prepared, sharpened
        self._made: Windows | None = None
        self._lock = threading.Lock()

    def make(self, left: int, top: int, width: int, height: int) -> NDArray[Any]:
        with self._lock:
            if self._made is None:
                self._made = self._windows()
        return self._made.make(left, top, width, height)

    def _windows(self) -> Windows:
        from dataclasses import replace

        from firstsheet.jobs.planning.render_job import render_job
        from firstsheet.pixels.window import Windows

        job = render_job(self._prepared)
        if not self._sharpened:
            job = replace(job, sharpen=None)
        prepared = self._prepared
        return Windows(self._source, job, prepared.source_colour, prepared.link)


# ---- pixels ----------------------------------------------------------------------------------


def _shares(box: tuple[int, int, int, int], size: tuple[int, int]) -> Lies:
    """A rectangle of pixels as shares of a picture of a size."""
    width, height = size
    return box[0] / width, box[1] / height, box[2] / width, box[3] / height


def _picture_tile(spec: _Spec, codes: NDArray[Any], lies: Lies) -> Bytes:
    """Wanted colour, printed colour, or the difference, as bytes for the screen."""
    if spec.kind == "picture":
        return wanted_shown(spec.way, codes)
    if spec.kind == "loss":
        return loss_shown(spec.way, codes, floor_de00=spec.floor_de00, lies=lies)
    as_is = spec.mode == "as-is"
    return proof_shown(
        spec.way, codes, as_is=as_is, paper_white=spec.paper_white, light=spec.light, lies=lies
    )


def wanted_shown(way: ColourPath, codes: NDArray[Any], white_xyz: Any = None) -> Bytes:
    """What picture codes mean, Display P3 bytes."""
    from firstsheet.pixels.tilecolours import Screen, screen_bytes

    fast = way.tile_colours
    if fast is not None:
        return fast.wanted_bytes(codes, Screen(white_xyz=white_xyz))
    return screen_bytes(way.chain.wanted_lab(shares(codes)), white_xyz=white_xyz)


def proof_shown(
    way: ColourPath,
    codes: NDArray[Any],
    *,
    as_is: bool,
    paper_white: bool,
    light: float = 1.0,
    lies: Lies | None = None,
) -> Bytes:
    """The soft proof of picture codes, Display P3 bytes; `light` darkens it to that share.

    `lies` is what of the whole upright file they show; repairs ask for it.
    """
    from firstsheet.pixels.tilecolours import Screen, screen_bytes

    white = way.chain.paper_white_xyz * light if paper_white else None
    if as_is:
        return wanted_shown(way, codes, white)
    fast = way.tile_colours
    if fast is not None:
        repairs = way.placed((codes.shape[1], codes.shape[0]), lies)
        return fast.proof_bytes(codes, Screen(white_xyz=white), repairs)
    return screen_bytes(way.printed_lab(shares(codes), _go_on, lies), white_xyz=white)


def loss_shown(
    way: ColourPath, codes: NDArray[Any], *, floor_de00: float, lies: Lies | None = None
) -> Bytes:
    """CIEDE2000 between wanted and printed in the colours of the loss map, sRGB bytes."""
    from firstsheet.pixels.tilecolours import loss_bytes, loss_de00

    fast, absolute = way.tile_colours, way.chain.intent == "absolute"
    if fast is not None and not absolute:
        repairs = way.placed((codes.shape[1], codes.shape[0]), lies)
        return fast.loss_bytes(codes, floor_de00=floor_de00, repairs=repairs)
    encoded = shares(codes)
    wanted, printed = way.wanted_lab(encoded, _go_on), way.printed_lab(encoded, _go_on, lies)
    if absolute:  # judged against the picture's own white
        printed = way.chain.absolute_lab(printed)
    if fast is None:
        de00 = de00_between(wanted, printed, _go_on).astype(np.float32)
    else:
        de00 = loss_de00(wanted, printed)
    return loss_bytes(de00, floor_de00=floor_de00)


def _own_pixels(spec: _Spec, box: tuple[int, int, int, int]) -> Bytes:
    """Pixels of the print file as the paper shows them."""
    from firstsheet.pixels.tilecolours import Screen, screen_bytes

    assert spec.windows is not None
    way = spec.way.plain  # the file holds its repairs already
    white = way.chain.paper_white_xyz if spec.paper_white else None
    if spec.spread_mm:
        return inked_pixels(
            spec.windows.make, box, (spec.width_px, spec.height_px),
            pitch_mm=spec.pitch_mm, spread_mm=spec.spread_mm, way=way, mode=spec.mode,
            white_xyz=white,
        )  # fmt: skip
    codes = spec.windows.make(*box)
    if spec.mode != "paper":  # still in the picture's own space
        as_is = spec.mode == "as-is"
        return proof_shown(way, codes, as_is=as_is, paper_white=spec.paper_white)
    if way.tile_colours is not None:
        return way.tile_colours.printed_bytes(codes, Screen(white_xyz=white))
    return screen_bytes(way.chain.printed_lab(shares(codes)), white_xyz=white)


def _go_on() -> None:
    """Nobody stops."""


def encoded_picture(rgb: Bytes, space: str, suffix: str) -> bytes:
    """A picture as JPEG (4:4:4) or PNG, tagged with the profile of its space."""
    import io

    from PIL import Image

    from firstsheet.cms.build import space_profile

    out = io.BytesIO()
    image: Any = Image.fromarray(rgb)
    tag = space_profile(space)
    if suffix == "png":
        image.save(out, "PNG", compress_level=1, icc_profile=tag)
    else:
        image.save(out, "JPEG", quality=_QUALITY, subsampling=0, icc_profile=tag)
    return out.getvalue()
