"""The plan: everything decided, in numbers. Pure data, the same every time.

Made by `engine.planning.make_plan` from ticket, facts, stock, place and colour facts; read by
every output. Lengths mm and px, colours Lab D50, shares per cent.
"""

from __future__ import annotations

from typing import Literal

from firstsheet.engine.records import (
    Finding,
    Intent,
    MarginsMm,
    PictureFacts,
    Place,
    Record,
    Span,
    Stock,
    Ticket,
)
from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.records.losses import PictureLosses
from firstsheet.engine.records.repair import RepairFacts
from firstsheet.engine.records.sharpness import LookPlan

__all__ = [
    "ColourPlan",
    "DistanceVerdict",
    "IntentLoss",
    "LossFacts",
    "OutputPlan",
    "Plan",
    "RescanAnswer",
    "SharpenPlan",
    "SheetPlan",
    "SizePlan",
]


class DistanceVerdict(Record):
    """Is it enough at one distance?"""

    name: str  # arm's length, half a metre, the stated distance
    distance_mm: float
    needed_ppi: float  # one arc-minute
    effective_ppi: float
    beyond_eye: bool
    step: str  # the trade's step: excellent, very good, good, soft close to, only far
    sentence: str


class SizePlan(Record):
    """Crop, size and raster of the picture itself."""

    crop_left_px: float  # in the upright picture's pixels
    crop_top_px: float
    crop_width_px: float
    crop_height_px: float
    crop_loss_percent: float
    crop_loss_mm: tuple[float, float, float, float]  # top right bottom left, at print scale
    width_px: int  # on the print
    height_px: int
    ppi: float  # raster of the print file
    width_mm: float  # exactly width_px at ppi
    height_mm: float
    effective_ppi: float  # the file's own pixels per inch at this size
    true_ppi: float | None = None  # of true detail, where that is surely less; judges the size
    scale: float  # print pixels per file pixel
    enlarged: bool
    resample: Literal["none", "reduce", "enlarge"]
    verdicts: tuple[DistanceVerdict, ...]


class SheetPlan(Record):
    """The sheet as it faces the viewer."""

    name: str
    width_px: int
    height_px: int
    width_mm: float  # exactly width_px at the plan's ppi
    height_mm: float
    asked_width_mm: float
    asked_height_mm: float
    picture_left_px: int
    picture_top_px: int
    border_mm: tuple[float, float, float, float]  # top right bottom left, bare paper
    margins: MarginsMm  # as turned
    fits_printable: bool


class SharpenPlan(Record):
    """Output sharpening in numbers."""

    strength: float  # 0 = off, 1 = normal on this surface at this distance
    name: str
    radius_mm: float
    radius_px: float  # Gaussian sigma on the print raster
    gain: float  # multiplies the detail band where an edge stands
    halo_width_mm: float
    overshoot_limit_l: float  # L* beyond the local range
    edge_low_l: float  # band amplitude (L*) below which nothing is added
    edge_high_l: float  # above which all is added
    reason: str


class ColourPlan(Record):
    """Exactly one conversion, or none."""

    mode: Literal["paper", "keep", "as-is"]  # as-is: already in an output space
    source_name: str
    source_profile_sha256: str
    intent: Intent
    black_point: bool
    source_black_xyz: tuple[float, float, float] = (0.0, 0.0, 0.0)
    paper_black_xyz: tuple[float, float, float] = (0.0, 0.0, 0.0)
    link: str = ""  # how the fast link works, in words
    link_mean_de00: float = 0.0  # against floating-point truth, on this picture's colours
    link_p99_de00: float = 0.0
    link_max_de00: float = 0.0
    paper_white_device: tuple[float, ...] = (1.0, 1.0, 1.0)


class IntentLoss(Record):
    """What one intent loses of this picture."""

    intent: Intent
    mean_de00: float
    p95_de00: float
    share_over_2_percent: float
    share_over_5_percent: float
    merged_levels: int
    differs_from_chosen_max_de00: float
    differs_from_relative_max_de00: float | None = None  # None: relative was not tried
    separation_kept: float | None = None  # printed : wanted steps where colours move; None: unknown
    # by regions, where this intent was looked at place by place
    truly_lost_percent: float | None = None  # share of the picture in places that truly lose
    lost_total: float | None = None  # visible steps x per cent of the picture
    place: int | None = None  # 1 loses least; those alike share a place
    reason: str = ""


class LossFacts(Record):
    """What the paper takes away of this picture, through the chosen chain."""

    mean_de00: float
    p95_de00: float
    max_de00: float
    floor_de00: float  # the profile's own noise; below it nothing is called a loss
    bands_percent: tuple[float, float, float, float, float]  # <1, 1-2, 2-5, 5-10, >10
    merged_shadow_levels: int  # source grey levels (of 256) printed as the darkest one
    merged_shadow_percent: float  # share of the picture that lies there
    white_l: float  # of the paper, absolute
    black_l: float
    contrast: float
    intents: tuple[IntentLoss, ...] = ()
    recommended: Intent | None = None
    recommendation: str = ""


class RescanAnswer(Record):
    """What a scan of the film would have to be."""

    film: str
    frame_width_mm: float
    frame_height_mm: float
    needed_spi: float
    width_px: int
    height_px: int
    bytes_8bit: int
    bytes_16bit: int
    present_spi: float
    present_is_limit: bool
    sentence: str


class OutputPlan(Record):
    """The files to be written."""

    bits: Literal[8, 16]
    compression: Literal["none", "lzw", "deflate"]
    big_tiff: bool
    print_file_bytes: int  # before compression
    print_file: str = "print.tif"
    proof_file: str = "proof.png"
    loss_file: str = "loss-map.png"
    repairs_file: str = "repairs.png"  # written where the ticket holds repairs
    job_sheet_file: str = "job-sheet.pdf"
    plan_file: str = "plan.json"
    ruler: bool = False
    key: bool = False


class Plan(Record):
    """Everything decided."""

    schema_version: Literal[2] = 2
    made_by: str  # firstsheet and its version
    ticket: Ticket
    picture: PictureFacts
    stock: Stock
    place: Place
    size: SizePlan
    sheet: SheetPlan
    sharpen: SharpenPlan
    colour: ColourPlan
    loss: LossFacts | None  # None where nothing is converted
    regions: PictureLosses | None = None  # what is truly lost, place by place
    rescan: RescanAnswer | None
    detail: DetailFacts | None = None  # what the pixels truly hold, where it was measured
    look: LookPlan | None = None  # how sharp it will look, where that was measured
    repairs: tuple[RepairFacts, ...] = ()  # in this print, as the ticket wishes them
    output: OutputPlan
    findings: tuple[Finding, ...]
    verdict: str  # one sentence: good enough or not, and why
    verdict_spans: tuple[Span, ...] = ()  # where it shows a figure
    digest: str = ""  # SHA-256 of what the plan decides: `engine.planning.decisions`
