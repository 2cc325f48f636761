"""What a picture truly holds, as facts. Data only; measured in `engine.detail`."""

from __future__ import annotations

from typing import Literal

from firstsheet.engine.records.base import Record

__all__ = [
    "BlockFacts",
    "DetailFacts",
    "DoubleJpegFacts",
    "DustFacts",
    "EdgeFacts",
    "EnlargedFacts",
    "FilmDetail",
    "HaloFacts",
    "Limit",
    "Mark",
    "MarkKind",
    "NoiseFacts",
    "Rescan",
    "StepFacts",
    "Verdict",
]


class EdgeFacts(Record):
    """What the picture's edges resolve; cycles per pixel of the file."""

    edges: int
    half_cpp: float | None  # MTF50 of the sharpest edges, all directions
    tenth_cpp: float | None  # MTF10
    half_x_cpp: float | None  # along x, from upright edges
    tenth_x_cpp: float | None
    half_y_cpp: float | None
    tenth_y_cpp: float | None
    spread: float | None  # (75 % quantile - median) / median of single MTF50s
    curve: tuple[float, ...] = ()  # pooled MTF at FREQUENCIES_CPP
    confidence: float
    told: Literal["measured", "few edges", "cannot tell"]


class NoiseFacts(Record):
    """Noise in even areas; frequencies in cycles per pixel of the file."""

    tiles: int
    sigma_l: float | None  # standard deviation, L*, median of the even tiles
    lightness: float | None  # L* of the tiles it was measured in, mean
    half_cpp: float | None  # where the response falls to a half: MTF50 of scanner and after
    tenth_cpp: float | None  # to a tenth; at most 1
    floor_share: float | None  # white floor over the low-frequency power
    size_px: float | None  # of a grain: half a period where the power has halved; 1 = one pixel
    power: tuple[float, ...] = ()  # L*^2 px^2 at RADII_CPP, median of the tiles
    confidence: float
    told: Literal["measured", "few even areas", "cannot tell"]


class HaloFacts(Record):
    """Rims along edges, in lightness."""

    edges: int
    overshoot_percent: float | None  # bright rim, per cent of the edge's height in L*
    undershoot_percent: float | None  # dark rim
    width_px: float | None  # both rims together, each at half its height
    told: Literal["none", "slight", "clear", "cannot tell"]
    confidence: float


class BlockFacts(Record):
    """Traces of 8 x 8 blocks."""

    excess_percent: float  # steps across borders are larger than the others by this much
    border_l: float | None  # the same as a mean height above the other steps, L*
    offset_x_px: int | None  # first border inside the picture, 0..7; None: no grid
    offset_y_px: int | None
    told: Literal["none", "faint", "plain"]
    confidence: float


Verdict = Literal["enlarged", "maybe enlarged", "no sign", "cannot tell"]


class EnlargedFacts(Record):
    """Traces of enlargement."""

    verdict: Verdict
    factor: float | None  # new pixels per old pixel; None where not stated
    confidence: float  # 0..1, in the verdict
    rhythm: float  # strength of the weaker axis, in units of its background
    emptiness: float | None  # decades of power lost above the old limit; None: not testable
    mirrored: float | None = None  # likeness of what lies above the old limit to what lies below
    told_by: Literal["rhythm", "mirror images", "neither"] = "neither"


class StepFacts(Record):
    """Flat runs in gradients, along the steeper direction of each tile."""

    tiles: int  # gradients looked at
    run_px: float | None  # median length of the runs
    step_l: float | None  # median height of the steps, L*
    stepped_percent: float | None  # share of the gradients that go in steps
    told: Literal["smooth", "stepped", "cannot tell"]
    confidence: float
    places: tuple[tuple[int, int, bool], ...] = ()  # top, left, whether it rises along the rows
    level_places: tuple[tuple[int, int], ...] = ()  # top, left, where L* does not rise; hue may


class DoubleJpegFacts(Record):
    """Traces of an earlier save."""

    told: Literal["twice", "no sign", "cannot tell"]
    first_quality: int | None  # of the earlier save, on the scale of 1 to 100
    surplus: float  # nats per coefficient
    confidence: float
    blocks: int


MarkKind = Literal["dark speck", "bright speck", "hair", "line", "line from edge to edge"]


class Mark(Record):
    """One candidate, in pixels of the stored picture."""

    kind: MarkKind
    x_px: float  # middle
    y_px: float
    left_px: int
    top_px: int
    right_px: int
    bottom_px: int
    length_px: float
    width_px: float
    height_l: float  # L* from the level around; bright positive
    confidence: float  # that it is no part of the scene


class DustFacts(Record):
    """What stands out of even surroundings, worst first."""

    marks: tuple[Mark, ...]
    count: int  # of all found, also those not kept
    looked_percent: float  # share of the picture even enough to tell
    left_out: int  # shapes that could as well be drawing
    told: Literal["none", "found", "cannot tell"]


Limit = Literal["pixels", "enlargement", "scanner", "negative or lens", "cannot tell"]


Rescan = Literal["gains", "only sharper grain", "cannot tell"]


class DetailFacts(Record):
    """What the picture holds, and why it does not hold more."""

    width_px: int
    height_px: int
    read_percent: float  # share of the picture looked at
    edges: EdgeFacts
    noise: NoiseFacts
    enlarged: EnlargedFacts
    halo: HaloFacts
    blocks: BlockFacts
    steps: StepFacts
    dust: DustFacts | None = None  # None: not looked for
    double_jpeg: DoubleJpegFacts | None = None  # None: no JPEG
    share: float | None  # true detail over what the pixels could hold, along one side, 0..1
    share_confidence: float
    megapixels: float
    effective_megapixels: float | None
    limit: Limit
    limit_confidence: float
    rescan: Rescan
    rescan_gain: float | None  # at most this much larger; None: not stated
    sentences: tuple[str, ...]


class FilmDetail(Record):
    """True detail on the film."""

    scan_spi: float
    true_spi: float
    lp_per_mm: float
    gain: float | None
    sentence: str
