"""A stock: one paper on one printer, and the facts measured from its profile.

Data only. Lengths mm, colours CIELAB D50.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record

__all__ = [
    "Intent",
    "IntentFacts",
    "MarginsMm",
    "ProfileFacts",
    "Stock",
    "StockFacts",
]

Intent = Literal["perceptual", "relative", "saturation", "absolute"]


class MarginsMm(Record):
    """Unprintable margins of a sheet as it is fed: top edge enters the printer first."""

    top: float = Field(default=3.0, ge=0)
    right: float = Field(default=3.0, ge=0)
    bottom: float = Field(default=3.0, ge=0)
    left: float = Field(default=3.0, ge=0)


class IntentFacts(Record):
    """What one rendering intent of a profile does, on a fixed set of colours."""

    intent: Intent
    has_table: bool
    same_as: Intent | None = None  # an earlier intent that gives the same result
    mean_de00_from_relative: float = 0.0
    max_de00_from_relative: float = 0.0


class ProfileFacts(Record):
    """What an ICC profile says of itself, and what our checklist found."""

    description: str = ""
    version: str = ""  # such as 4.3
    device_class: str = ""  # scnr mntr prtr link spac abst nmcl
    colour_space: str = ""  # GRAY RGB CMYK Lab
    pcs: str = ""  # XYZ or Lab
    kind: Literal["working", "screen", "input", "output", "grey", "other", "broken"] = "other"
    sha256: str = ""
    size_bytes: int = 0
    has_tables: bool = False  # LUT profile rather than matrix and curves
    space: str = ""  # name in engine.colour.spaces where the profile is that of a known space
    wide: bool | None = None  # clearly larger than sRGB; None: not judged
    problems: tuple[str, ...] = ()  # readable reasons; empty when the checklist passes


class StockFacts(Record):
    """Measured once when a stock is added; relative numbers are media-relative."""

    profile: ProfileFacts
    white_lab: tuple[float, float, float]  # absolute
    black_lab: tuple[float, float, float]  # absolute
    white_density: float
    black_density: float
    contrast: float  # luminance ratio white : black
    gamut_volume: float  # cubic Lab units, media-relative
    intents: tuple[IntentFacts, ...]
    floor_p95_de00: float
    floor_p99_de00: float
    floor_max_de00: float


class Stock(Record):
    """One paper on one printer."""

    name: str  # kebab-case, how tickets call it
    title: str  # how people call it
    profile_file: str  # relative to the stock's own file, or absolute
    surface: Literal["gloss", "baryta", "satin", "matte", "canvas", "newsprint", "other"]
    native_ppi: Literal[300, 360, 600, 720] = 360
    margins: MarginsMm = MarginsMm()
    media_setting: str = ""
    notes: str = ""
    facts: StockFacts | None = None
