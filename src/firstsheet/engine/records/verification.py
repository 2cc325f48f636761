"""What readings say of a print: differences patch by patch, figures, limits, causes, trends.

Data only. Colours CIELAB D50, absolute unless said otherwise; differences are read minus aim.
Made by `engine.verify`.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from firstsheet.engine.records.base import Record
from firstsheet.engine.records.figure import Figure
from firstsheet.engine.records.finding import Finding

__all__ = [
    "Aim",
    "Cause",
    "Greys",
    "GroupResult",
    "LimitLine",
    "PatchResult",
    "PatchRole",
    "Seen",
    "TrendPoint",
    "TrendResult",
    "Verification",
]

PatchRole = Literal["paper", "black", "grey", "colour"]
Lab = tuple[float, float, float]


class Aim(Record):
    """One patch as it should read."""

    name: str
    lab: Lab  # what should be read: what the profile says will print, where there is one
    device: tuple[float, ...] | None = None  # 0..1, what stands in the print file
    role: PatchRole | None = None  # None: told from the colour
    wanted_lab: Lab | None = None  # what was asked for, where no ink reaches it


class PatchResult(Record):
    """One patch, aim against reading."""

    name: str
    role: PatchRole
    hue: str = ""  # of the aim; empty for greys
    aim_lab: Lab
    read_lab: Lab
    de00: float
    delta_l: float
    delta_a: float
    delta_b: float
    delta_ch: float  # distance in the a* b* plane
    out_of_reach: bool = False  # what was asked for lies outside the paper's gamut


class GroupResult(Record):
    """Patches of one hue or tone."""

    name: str
    count: int
    mean_de00: float
    max_de00: float
    worst: str
    mean_delta_l: float
    mean_delta_c: float
    mean_turn_degrees: float  # of hue; positive from red over yellow to green


class Greys(Record):
    """The near-neutral patches."""

    count: int
    mean_delta_ch: float
    max_delta_ch: float
    worst: str
    cast_a: float  # mean of the differences in a*
    cast_b: float
    cast: str  # in words: warm, greenish ...; empty where there is none to see


class LimitLine(Record):
    """One figure beside the limits it can be held against."""

    name: str
    value: float
    worst: str = ""  # the patch, where the figure is that of one
    own_limit: float | None  # our own suggestion
    own_passes: bool | None
    iso_7: float | None  # ISO 12647-7:2016
    iso_8: float | None  # ISO 12647-8:2021


class Seen(Record):
    """Something that will be seen, whether it passes or not."""

    code: str
    words: str  # such as “warm greys”; fits behind “with”
    amount: float
    figure: str  # with its unit


class Cause(Record):
    """A likely reason, and what speaks for it."""

    code: str
    title: str
    reason: str  # a sentence with figures
    chance: Literal["likely", "possible"]
    mean_before: float  # mean ΔE00 of the readings against the aims
    mean_after: float | None  # against what this cause would print; None: not told by colour
    choice: str = ""  # what to do about it


class Verification(Record):
    """Everything said of one reading."""

    count: int  # patches compared
    mean_de00: float
    p95_de00: float  # linear interpolation between ranks
    max_de00: float
    worst: str  # the patch with the largest difference
    paper: PatchResult | None
    black: PatchResult | None
    greys: Greys | None
    hues: tuple[GroupResult, ...]
    tones: tuple[GroupResult, ...]
    limits: tuple[LimitLine, ...]
    passes: bool
    verdict: str  # one sentence
    seen: tuple[Seen, ...]  # strongest first
    out_of_reach: tuple[PatchResult, ...]  # told apart, in no figure above
    causes: tuple[Cause, ...] = ()
    patches: tuple[PatchResult, ...]
    findings: tuple[Finding, ...] = ()
    figures: tuple[Figure, ...] = ()


class TrendPoint(Record):
    """One reading against the reference of its series."""

    file: str
    at: str  # ISO date; of the file where it does not say one
    mean_de00: float
    p95_de00: float
    paper_de00: float | None
    grey_cast: str
    beyond: bool  # over the limit of the series


class TrendResult(Record):
    """Readings of one strip over time."""

    reference: str
    points: tuple[TrendPoint, ...] = Field(min_length=1)
    noise_de00: float | None  # mean difference between repeated readings; None: none were repeated
    limit_de00: float
    beyond_since: str  # date from which every reading is over the limit; empty: none
    per_month_de00: float | None  # slope; None: too few or too close
    sentence: str
