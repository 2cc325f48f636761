"""Small parts of the table: the crop on the reduced picture, names, what regions have to say.

Takes records; gives records. Holds nothing. Tests: with the table, tests/jobs/, tests/web/.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from firstsheet.engine.loss.regions.findings import region_findings
from firstsheet.engine.records import Finding, Intent, PictureFacts, Ticket
from firstsheet.engine.records.plan import IntentLoss, SheetPlan, SizePlan
from firstsheet.jobs.planning.regions import Regions, RegionsSeen

__all__ = [
    "Box",
    "crop_box",
    "cut",
    "intent_taken",
    "mark_findings",
    "regions_told",
    "sha256",
    "source_name",
    "three",
]

Box = tuple[int, int, int, int]


def intent_taken(ticket: Ticket, intents: Sequence[IntentLoss], seen: RegionsSeen | None) -> Intent:
    """The wished intent; left open, the one that loses least of this picture."""
    if ticket.colour.intent != "auto":
        return ticket.colour.intent
    if seen is not None:
        return seen.recommended
    from firstsheet.engine.loss.intents import recommend_intent

    return recommend_intent(intents)[0]


def regions_told(regions: Regions | None) -> tuple[Finding, ...]:
    """What the regions have to say in the plan."""
    if regions is None:
        return ()
    return region_findings(regions.map.losses, tone=regions.tone, axis=regions.axis)


def crop_box(reduced: NDArray[np.float64], facts: PictureFacts, size: SizePlan) -> Box:
    """Left, top, right, bottom of the printed part of the reduced picture, nearest pixels."""
    height, width = reduced.shape[:2]
    across, down = width / facts.width_px, height / facts.height_px
    left, top = round(size.crop_left_px * across), round(size.crop_top_px * down)
    right = max(left + 1, round((size.crop_left_px + size.crop_width_px) * across))
    bottom = max(top + 1, round((size.crop_top_px + size.crop_height_px) * down))
    return left, top, right, bottom


def cut(reduced: NDArray[np.float64], box: Box) -> NDArray[np.float64]:
    """The printed part of the reduced picture."""
    left, top, right, bottom = box
    return reduced[top:bottom, left:right]


def mark_findings(ticket: Ticket, size: SizePlan, sheet: SheetPlan) -> tuple[Finding, ...]:
    """What ruler and key in the border have to say."""
    if not (ticket.output.ruler or ticket.output.key):
        return ()
    from firstsheet.files.writing.ruler_key import border_marks

    return border_marks(
        sheet,
        picture_width_px=size.width_px,
        picture_height_px=size.height_px,
        ppi=size.ppi,
        channels=3,
        ruler=ticket.output.ruler,
        key=ticket.output.key,
    ).findings


def source_name(facts: PictureFacts) -> str:
    """What the picture's colours are called."""
    if facts.profile is not None and facts.profile.kind != "broken" and facts.profile.description:
        return facts.profile.description
    return facts.read_as or facts.colour_model


def sha256(data: bytes) -> str:
    """Fingerprint of some bytes."""
    import hashlib

    return hashlib.sha256(data).hexdigest()


def three(xyz: NDArray[np.float64]) -> tuple[float, float, float]:
    """XYZ as a plan keeps it."""
    x, y, z = (round(float(value), 9) for value in xyz)
    return x, y, z
