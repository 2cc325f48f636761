"""How sharp a print will look, as a plan holds it. Pure data.

Made by `engine.sharpness.predict`; read by every output. Theory: docs/theory/acutance.md.
"""

from __future__ import annotations

from typing import Literal

from firstsheet.engine.records.base import Record

__all__ = [
    "Bound",
    "HaloOnPrint",
    "LookPlan",
    "PrintNoise",
    "StrengthAnswer",
]

Bound = Literal["target", "nothing needed", "halo", "overshoot", "noise", "highest strength"]


class PrintNoise(Record):
    """Grain as it will be on the print."""

    sigma_l: float  # L*, on the pixels of the print
    size_mm: float  # of a grain
    distance_mm: float
    visible: bool  # at that distance
    times_threshold: float  # strongest channel of the eye, at that distance
    gone_from_mm: float | None  # distance from which it is not seen; None: still seen at 10 m
    sentence: str


class HaloOnPrint(Record):
    """The rims as they will lie on paper."""

    width_mm: float
    visible_from_mm: float  # nearer than this the rims can be told from the edge
    sentence: str


class StrengthAnswer(Record):
    """Output sharpening solved for a print."""

    strength: float  # as engine.sharpness.output.sharpen_plan takes it, in steps of 0.05
    gain: float
    radius_mm: float
    radius_px: float
    target: float  # acutance wanted
    unsharpened: float  # acutance of the print without output sharpening
    reached: float
    bound_by: Bound
    halo_width_mm: float  # both rims of an edge of 40 L*, each at half its height
    halo_limit_mm: float
    overshoot_l: float  # what sharpening adds beyond that edge
    noise_gain: float
    sentence: str


class LookPlan(Record):
    """What the eye will make of this print at the stated distance."""

    basis: Literal["edges", "pixels"]  # the picture's own edges, or its pixels at their best
    distance_mm: float
    spread_mm: float  # of the ink, Gaussian sigma: assumed from the surface until measured
    acutance_plain: float  # without output sharpening; 1 is a perfect print
    acutance_sharpened: float  # with the plan's own sharpening
    target: float
    overshoot_l: float  # what the plan's sharpening adds beyond an edge of 40 L*
    halo_mm: float  # both its rims on such an edge, each at half its height
    halo_limit_mm: float  # wider is noticed from there
    sharp_from_mm: float | None  # None: nowhere near
    soft_below_mm: float | None  # None: never soft
    sentence: str
    fitted: StrengthAnswer | None = None  # the sharpening solved for it; None: cannot be told
    wished_strength: float = 0.0  # before it was eased for a file that is sharpened already
    eased: bool = False
    grain: PrintNoise | None = None
    file_halo: HaloOnPrint | None = None  # rims the file already carries, at print size
