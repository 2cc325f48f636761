"""What is kept of the regions of one picture on one paper: frozen records.

Shares are per cent of the picture, lengths mm, colours CIELAB relative to the paper.
"""

from __future__ import annotations

from typing import Literal

from firstsheet.engine.records import Record, Weight

__all__ = [
    "EdgeMelt",
    "PaperEnds",
    "PictureLosses",
    "RegionKind",
    "RegionLoss",
]

RegionKind = Literal["flattened", "black", "paper-white", "hue", "neutral", "skin-like", "moved"]


class RegionLoss(Record):
    """One connected area and what the paper does to it."""

    colour: str  # deep blue
    place: str  # lower left
    kinds: tuple[RegionKind, ...]  # what is lost, most telling first
    weight: Weight  # fine: it moves and keeps what it shows
    pieces: int  # connected areas of one colour in one place, told as one
    area_percent: float
    area_mm2: float
    box: tuple[float, float, float, float]  # left top right bottom, 0..1 of the printed picture
    wanted_lab: tuple[float, float, float]  # mean
    printed_lab: tuple[float, float, float]
    mean_de00: float
    wanted_steps_de: float  # modelling the file holds, at the scales the eye sees
    modelling_kept: float | None  # printed : wanted; None where there is none to keep
    hue_turn_degrees: float | None  # Oklab; None where there is no hue to speak of
    hue_toward: str  # violet; empty where nothing turns
    lost: float  # just visible steps lost by a place in it
    visibility: float  # 0..1, small areas are overlooked
    rank: float  # lost x area per cent x visibility
    words: str


class EdgeMelt(Record):
    """How much of the picture's edge cannot be told from the border."""

    top_mm: float
    right_mm: float
    bottom_mm: float
    left_mm: float
    total_mm: float


class PaperEnds(Record):
    """What lies at the paper's white and at its black."""

    white_percent: float  # prints within Delta E00 2 of bare paper
    white_largest_mm2: float
    white_drawn_percent: float  # of the picture: lies there though the file holds drawing
    black_percent: float  # prints within 1 L* of the darkest
    black_largest_mm2: float
    black_drawn_percent: float
    edge: EdgeMelt


class PictureLosses(Record):
    """What one paper takes of one picture, region by region."""

    verdict: str
    nothing_to_do: bool
    regions: tuple[RegionLoss, ...]  # most lost first, then those that are fine
    modelling_kept: float | None  # of the whole picture
    hurt_percent: float  # share of the picture in regions that truly lose
    moved_fine_percent: float  # moves by more than Delta E00 2 and keeps what it shows
    lost_total: float  # sum over the regions' ranks; orders papers and intents
    moved_total: float  # shift beyond Delta E00 5, in fives, x per cent of the picture
    mean_shift_de00: float  # between the mean colours of cells
    ends: PaperEnds
    finest_mm: float  # period of the finest modelling judged
    distance_mm: float
