"""Where candidates for dust lie: on the scan, on the film, on the print; and what is said of them.

Takes DustFacts and the picture's facts; gives places in pixels and millimetres, in the upright
picture, and a finding for the plan. Nothing is removed here or anywhere.
Theory: docs/theory/dust.md. Tests: tests/engine/test_dust_places.py.
"""

from __future__ import annotations

from collections import Counter

from firstsheet.engine.findings import choice, finding, joined
from firstsheet.engine.naming import place_words
from firstsheet.engine.records import Finding, PictureFacts, Record
from firstsheet.engine.records.detail import DustFacts, Mark, MarkKind
from firstsheet.engine.records.plan import SizePlan
from firstsheet.engine.units import MM_PER_INCH

__all__ = [
    "MarkPlace",
    "count_words",
    "dust_findings",
    "dust_sentence",
    "mark_places",
    "print_places",
    "told_places",
    "upright_box",
]

_SAID = 3  # places named in a finding
_PLURAL: dict[MarkKind, str] = {
    "dark speck": "dark specks",
    "bright speck": "bright specks",
    "hair": "hairs",
    "line": "lines",
    "line from edge to edge": "lines from edge to edge",
}
_HIDDEN_MM = 0.1  # on the print; smaller is not named as one of the worst
Box = tuple[float, float, float, float]


class MarkPlace(Record):
    """One candidate in the upright picture; millimetres on film or print, where known."""

    number: int  # from 1, the worst first
    kind: MarkKind
    x_px: float  # middle, from the left
    y_px: float  # from the top
    box_px: Box  # left, top, right, bottom
    length_px: float
    width_px: float
    x_mm: float | None = None
    y_mm: float | None = None
    length_mm: float | None = None
    place: str  # upper left, centre ...
    confidence: float
    words: str


def upright_box(box: Box, orientation: int, width: float, height: float) -> Box:
    """Turn a stored box (left, top, right, bottom) as the orientation flag says.

    Parameters
    ----------
    width, height
        Of the stored picture.

    Notes
    -----
    Flags 1 to 8 as TIFF 6.0 defines them (tag 274).
    """
    x0, y0, x1, y1 = box
    if orientation in (2, 3):
        x0, x1 = width - x1, width - x0
    if orientation in (3, 4):
        y0, y1 = height - y1, height - y0
    if orientation in (1, 2, 3, 4):
        return x0, y0, x1, y1
    if orientation in (6, 7):
        y0, y1 = height - y1, height - y0
    if orientation in (7, 8):
        x0, x1 = width - x1, width - x0
    return y0, x0, y1, x1


def mark_places(
    dust: DustFacts, facts: PictureFacts, *, spi: float | None = None
) -> tuple[MarkPlace, ...]:
    """Places on the whole picture; in mm on the film where its samples per inch are known."""
    scale = None if spi is None else MM_PER_INCH / spi
    return tuple(
        _place(number, mark, facts, (0.0, 0.0), scale)
        for number, mark in enumerate(dust.marks, start=1)
    )


def print_places(dust: DustFacts, facts: PictureFacts, size: SizePlan) -> tuple[MarkPlace, ...]:
    """Places on the print, mm from the picture's upper left corner; what is cut off is left out."""
    scale = size.width_mm / size.crop_width_px
    left, top = size.crop_left_px, size.crop_top_px
    right, bottom = left + size.crop_width_px, top + size.crop_height_px
    inside = []
    for mark in dust.marks:
        x0, y0, x1, y1 = _upright(mark, facts)
        if x1 > left and x0 < right and y1 > top and y0 < bottom:
            inside.append(mark)
    return tuple(
        _place(number, mark, facts, (left, top), scale)
        for number, mark in enumerate(inside, start=1)
    )


def _upright(mark: Mark, facts: PictureFacts) -> Box:
    box = (mark.left_px, mark.top_px, mark.right_px, mark.bottom_px)
    stored = (facts.stored_width_px, facts.stored_height_px)
    return upright_box(box, facts.orientation, *stored)


def _place(
    number: int, mark: Mark, facts: PictureFacts, corner: tuple[float, float], scale: float | None
) -> MarkPlace:
    stored = (facts.stored_width_px, facts.stored_height_px)
    point = (mark.x_px, mark.y_px, mark.x_px, mark.y_px)
    x, y = upright_box(point, facts.orientation, *stored)[:2]
    box = _upright(mark, facts)
    width, height = facts.width_px, facts.height_px
    shares = (box[0] / width, box[1] / height, box[2] / width, box[3] / height)
    place = place_words(shares, (x / width, y / height))
    x_mm, y_mm, length_mm = (
        None if scale is None else round(value * scale, 1 if value is not mark.length_px else 2)
        for value in (x - corner[0], y - corner[1], mark.length_px)
    )
    return MarkPlace(
        number=number,
        kind=mark.kind,
        x_px=round(x, 1),
        y_px=round(y, 1),
        box_px=box,
        length_px=mark.length_px,
        width_px=mark.width_px,
        x_mm=x_mm,
        y_mm=y_mm,
        length_mm=length_mm,
        place=place,
        confidence=mark.confidence,
        words=_words(mark, place, (x, y), (x_mm, y_mm), length_mm),
    )


def _words(
    mark: Mark,
    place: str,
    at_px: tuple[float, float],
    at_mm: tuple[float | None, float | None],
    length_mm: float | None,
) -> str:
    """One candidate in words."""
    tone = "" if "speck" in mark.kind else "bright " if mark.height_l > 0 else "dark "
    if mark.kind == "line from edge to edge":
        return f"{tone}line from edge to edge, {place}, at {at_px[0]:.0f}, {at_px[1]:.0f} px"
    long = f"{mark.length_px:.0f} px" if length_mm is None else f"{length_mm:.2g} mm"
    where = f"{at_px[0]:.0f}, {at_px[1]:.0f} px"
    if at_mm[0] is not None:
        where = f"{at_mm[0]:.1f}, {at_mm[1]:.1f} mm ({where})"
    return f"{tone}{mark.kind}, {long}, {place}, at {where}"


def count_words(places: tuple[MarkPlace, ...]) -> str:
    """How many of each kind, most first.

    >>> count_words(())
    ''
    """
    counts = Counter(one.kind for one in places)
    words = []
    for kind, count in sorted(counts.items(), key=lambda entry: (-entry[1], entry[0])):
        words.append(f"{count} {kind if count == 1 else _PLURAL[kind]}")
    return joined(words)


def dust_sentence(dust: DustFacts | None, places: tuple[MarkPlace, ...]) -> str:
    """What the search found, and over how much of the picture it could tell."""
    if dust is None:
        return ""
    looked = f"{dust.looked_percent:.0f} %"
    if dust.told == "found":
        more = "" if dust.count <= len(places) else f" ({len(places)} of {dust.count} listed)"
        return (
            f"May be dust or scratches: {count_words(places)}{more}. "
            f"Only the {looked} of the picture that are even enough were searched."
        )
    if dust.told == "none":
        return f"None seen in the {looked} of the picture that are even enough to tell."
    return "Whether there is dust cannot be told: the picture is too busy for it to stand out."


def told_places(
    dust: DustFacts | None, facts: PictureFacts, size: SizePlan
) -> tuple[MarkPlace, ...]:
    """The candidates a finding speaks of: on the print, and not too small to be named."""
    if dust is None or dust.told != "found":
        return ()
    places = print_places(dust, facts, size)
    return tuple(one for one in places if one.length_mm is None or one.length_mm >= _HIDDEN_MM)


def dust_findings(
    dust: DustFacts | None, facts: PictureFacts, size: SizePlan
) -> tuple[Finding, ...]:
    """Say where candidates will lie on the print; none where none are inside the crop."""
    large = told_places(dust, facts, size)
    if dust is None or not large:
        return ()
    worst = "; ".join(one.words for one in large[:_SAID])
    longest = max(one.length_mm or 0.0 for one in large)
    found = f"May be dust or scratches: {count_words(large)}. The worst: {worst}."
    return (
        finding(
            "dust-candidates",
            "caution",
            found,
            "Positions are measured from the picture's upper left corner on the print. Dust that "
            "is small in the file shows on paper, most of all in sky and water.",
            choice(
                "Look at each mark at full size, and retouch the file where it is dust; nothing "
                "is removed here.",
                goes_to="dust",
            ),
            "If it belongs to the scene, leave it.",
            source="measured; docs/theory/dust.md",
            figures={
                "count": len(large),
                "longest_mm": round(longest, 2),
                "searched_percent": dust.looked_percent,
            },
        ),
    )
