"""What detail a picture truly holds: reads bands of its lightness and lets the engine judge.

Orientation does not matter here; rows are read as stored. Theory: docs/theory/true-detail.md.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.detail.double_jpeg import twice_facts
from firstsheet.engine.detail.dust.search import find_dust
from firstsheet.engine.detail.survey import Read
from firstsheet.engine.detail.verdict import analyse, with_double_jpeg
from firstsheet.engine.records.detail import DetailFacts, DoubleJpegFacts
from firstsheet.engine.sizing.rescan import rescan
from firstsheet.engine.streams import Progress, StopCheck
from firstsheet.jobs.planning.cache import kept_on_disk

if TYPE_CHECKING:
    from firstsheet.cms.link import SourceColour
    from firstsheet.files.reading.opening import OpenedPicture

__all__ = ["detail_but_dust", "detail_of", "kept_detail", "readers", "spi_on_film", "with_dust"]

_CODES = 65535
_JFIF_LUMA = (0.299, 0.587, 0.114)  # JFIF 1.02
_SQUARES = 6000  # of 16 px that are looked at for an earlier save
# how much each channel counts for lightness, roughly; an RGB matrix knows better
_WEIGHTS = {
    "grey": (1.0,),
    "rgb": (0.25, 0.65, 0.1),
    "cmyk": (0.2, 0.25, 0.05, 0.5),
    "lab": (1.0, 0.0, 0.0),
}
_STRIP_PX = 1 << 20  # whose codes are held at a time
_NEAR_PX = 1 << 14  # of which so many are worked on in a near cache
_TABLE = 16384  # nodes of the quick table: steps of 0.1 L* at most, in deep shadow


def detail_of(opened: OpenedPicture, *, progress: Progress, stop: StopCheck) -> DetailFacts:
    """Measure resolving power, enlargement, sharpening, grain, blocks and dust of a picture."""
    return with_dust(
        opened,
        lambda: detail_but_dust(opened, progress=progress, stop=stop),
        progress=progress,
        stop=stop,
    )


def detail_but_dust(opened: OpenedPicture, *, progress: Progress, stop: StopCheck) -> DetailFacts:
    """The same without dust, which alone needs every pixel."""
    read, _ = readers(opened, progress=progress, stop=stop)
    found = analyse(opened.source.width_px, opened.source.height_px, read)
    twice = _twice(opened, stop)
    return found if twice is None else with_double_jpeg(found, twice)


def kept_detail(opened: OpenedPicture, *, progress: Progress, stop: StopCheck) -> DetailFacts:
    """As `detail_but_dust`, remembered between two runs by the picture's content."""
    keeper, facts = kept_on_disk("detail"), opened.facts
    if facts.alpha == "partly-clear" or facts.sample_format == "float":  # answers change these
        return detail_but_dust(opened, progress=progress, stop=stop)
    key = (
        facts.sha256,
        facts.page,
        facts.read_as,
        hashlib.sha256(opened.profile_bytes).hexdigest(),
        opened.source.width_px,
        opened.source.height_px,
    )
    kept = keeper.load(key)
    if kept is not None:
        return DetailFacts.model_validate_json(kept)
    found = detail_but_dust(opened, progress=progress, stop=stop)
    keeper.save(key, found.model_dump_json().encode())
    return found


def with_dust(
    opened: OpenedPicture,
    rest: Callable[[], DetailFacts],
    *,
    progress: Progress,
    stop: StopCheck,
) -> DetailFacts:
    """Look for dust, and measure the rest beside it."""
    _, quick = readers(opened, progress=progress, stop=stop)
    width, height = opened.source.width_px, opened.source.height_px
    with ThreadPoolExecutor(1) as beside:
        found = beside.submit(rest)
        dust = find_dust(width, height, quick)
        return found.result().model_copy(update={"dust": dust})


def readers(opened: OpenedPicture, *, progress: Progress, stop: StopCheck) -> tuple[Read, Read]:
    """Two readers of an opened picture's lightness: a true one, and a quick one for dust."""
    from firstsheet.cms.build import space_profile
    from firstsheet.cms.chain import build_chain
    from firstsheet.cms.link import source_colour

    facts = opened.facts
    any_paper = space_profile("srgb")  # only the picture's side of the chain is used
    colour = source_colour(
        build_chain(
            source_profile=opened.profile_bytes,
            colour_model=facts.colour_model,
            paper_profile=any_paper,
            intent="relative",
            black_point=False,
        )
    )
    height = opened.source.height_px

    def read(top: int, bottom: int, left: int, right: int) -> NDArray[np.float32]:
        stop()
        progress("Looking for true detail", bottom / height)
        return _in_strips(true.lightness, top, bottom, left, right)

    true = _Lightness(colour)
    tones = _Tones(colour, facts.colour_model)

    def quick(top: int, bottom: int, left: int, right: int) -> NDArray[np.float32]:
        stop()
        progress("Looking for dust", bottom / height)
        return _in_strips(tones.lightness, top, bottom, left, right)

    def _in_strips(
        lightness: Callable[[NDArray[Any]], NDArray[np.float32]],
        top: int,
        bottom: int,
        left: int,
        right: int,
    ) -> NDArray[np.float32]:
        """Lightness of a rectangle; its codes are held a few rows at a time."""
        light = np.empty((bottom - top, right - left), np.float32)
        strip = max(16, _STRIP_PX // opened.source.width_px)
        for low in range(top, bottom, strip):
            high = min(low + strip, bottom)
            codes = opened.source.rows(low, high)[:, left:right]
            light[low - top : high - top] = lightness(codes)
        return light

    return read, quick


def _twice(opened: OpenedPicture, stop: StopCheck) -> DoubleJpegFacts | None:
    """Traces of an earlier save, from some strips of a JPEG; None for other files."""
    facts, source = opened.facts, opened.source
    model = facts.colour_model
    if facts.format != "JPEG" or not facts.jpeg_luma or model not in ("rgb", "grey"):
        return None
    across, down = source.width_px // 8 - 1, source.height_px // 8 - 1
    if across < 1 or down < 1:
        return None
    strips = min(down, -(-_SQUARES // across))
    squares = []
    for strip in np.unique(np.linspace(0, down - 1, strips).astype(int)):
        stop()
        rows = source.rows(8 * int(strip), 8 * int(strip) + 16).astype(np.float32)
        luma = rows @ np.array(_JFIF_LUMA if model == "rgb" else (1.0,), np.float32)
        squares += [luma[:, 8 * at : 8 * at + 16] for at in range(across)]
    return twice_facts(np.array(squares), facts.jpeg_luma)


class _Tones:
    """Lightness near enough for finding dust: true for neutral colours, within a few L* else.

    The channels are weighed as encoded, and one table turns the sum into L*: four times as fast
    as `_Lightness`.
    """

    def __init__(self, colour: SourceColour, model: str) -> None:
        weights = np.array(_WEIGHTS[model])
        if colour.to_xyz is not None and model == "rgb":
            weights = np.maximum(colour.to_xyz[1], 0.0)
        self._weights = (weights / weights.sum()).astype(np.float32)
        ramp = np.repeat(np.linspace(0.0, 1.0, _TABLE)[:, None], len(weights), axis=1)
        if model == "lab":
            ramp[:, 1:] = 128 / 255
        self._table = np.asarray(colour.to_lab(ramp))[:, 0].astype(np.float32)

    def lightness(self, codes: NDArray[Any]) -> NDArray[np.float32]:
        """L*, (rows, columns)."""
        full = 1.0 if codes.dtype.kind == "f" else float(np.iinfo(codes.dtype).max)
        weights = self._weights * np.float32((_TABLE - 1) / full)
        flat = codes.reshape(-1, codes.shape[2])
        light = np.empty(len(flat), np.float32)
        for low in range(0, len(flat), _NEAR_PX):
            tone = flat[low : low + _NEAR_PX].astype(np.float32) @ weights
            np.clip(tone, 0.0, _TABLE - 1, out=tone)
            np.take(self._table, tone.astype(np.uint16), out=light[low : low + _NEAR_PX])
        return light.reshape(codes.shape[:2])


class _Lightness:
    """Lightness as the colour chain has it."""

    def __init__(self, colour: SourceColour) -> None:
        self._to_lab, self._curves = colour.to_lab, None
        if colour.kind != "engine":
            assert colour.decode is not None
            assert colour.to_xyz is not None
            self._curves = [
                curve * np.float32(share)
                for curve, share in zip(colour.decode, colour.to_xyz[1], strict=True)
            ]

    def lightness(self, codes: NDArray[Any]) -> NDArray[np.float32]:
        """L*, (rows, columns)."""
        flat = codes.reshape(-1, codes.shape[2])
        light = np.empty(len(flat), np.float32)
        for low in range(0, len(flat), _NEAR_PX):
            light[low : low + _NEAR_PX] = self._near(flat[low : low + _NEAR_PX])
        return light.reshape(codes.shape[:2])

    def _near(self, codes: NDArray[Any]) -> NDArray[np.float32]:
        """A few, (n, channels) to (n,)."""
        if self._curves is None:
            full = 1.0 if codes.dtype.kind == "f" else float(np.iinfo(codes.dtype).max)
            return np.asarray(self._to_lab(codes / full))[..., 0].astype(np.float32)
        if codes.dtype.kind == "f":
            index = np.rint(np.clip(codes, 0.0, 1.0) * _CODES).astype(np.uint16)
        else:
            index = codes.astype(np.uint16) * np.uint16(257) if codes.dtype == np.uint8 else codes
        light = np.zeros(len(codes), np.float32)
        for channel, curve in enumerate(self._curves):
            light += curve[index[:, channel]]
        root = np.cbrt(np.maximum(light, 0.0))
        line = light * np.float32(24389 / 27)
        return np.where(light > 216 / 24389, np.float32(116.0) * root - np.float32(16.0), line)


def spi_on_film(film: str, width_px: int, height_px: int) -> float:
    """Samples per inch of a file that shows the whole frame.

    Raises
    ------
    TicketError
        If the film format cannot be read.
    """
    return rescan(film, width_mm=100.0, file_px=(width_px, height_px)).present_spi
