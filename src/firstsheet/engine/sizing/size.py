"""How large, how fine, and what is cut off.

Takes pixels, millimetres and distances; gives crops, rasters, verdicts and tables of sizes.
One arc-minute of the eye is arithmetic; the trade's steps are common practice, no source.
Theory: docs/theory/sizing.md. Tests: tests/engine/test_sizing.py.
"""

from __future__ import annotations

import math
import re

from firstsheet.engine.errors import TicketError
from firstsheet.engine.findings import percent
from firstsheet.engine.light.viewing import ppi_one_arc_minute
from firstsheet.engine.records import Record
from firstsheet.engine.records.plan import DistanceVerdict
from firstsheet.engine.sheets import SHEETS, SheetKind
from firstsheet.engine.units import MM_PER_INCH, distance_words, mm_to_px, px_to_mm

__all__ = [
    "ARMS_LENGTH_MM",
    "GRADES",
    "HALF_METRE_MM",
    "LARGE_PRINT_PPI",
    "NOTHING_GAINED_PPI",
    "SMALLEST_OFFERED_MM",
    "Crop",
    "GradeSize",
    "Raster",
    "SizeRow",
    "beyond_eye_from_mm",
    "choose_raster",
    "crop_to_shape",
    "distance_verdicts",
    "effective_ppi",
    "grade",
    "is_large",
    "largest_sizes",
    "needed_ppi",
    "parse_shape",
    "size_table",
]

ARMS_LENGTH_MM = 300.0  # a print held in the hand; common practice, no source
HALF_METRE_MM = 500.0  # where people end up who walk up to a print on a wall

# The trade's steps, common practice, no source. A step counts from this whole-number ppi.
GRADES: tuple[tuple[str, int], ...] = (
    ("excellent", 300),
    ("very good", 240),
    ("good", 180),
    ("soft close to", 150),
    ("only far", 0),
)
SMALLEST_OFFERED_MM = 20.0  # a print smaller than a stamp is no way out; our own choice
LARGE_PRINT_PPI = (220, 240)  # large prints want at least this; common practice, no source
NOTHING_GAINED_PPI = 360  # nothing visible is gained above; common practice, no source
_LARGE_SIDE_MM = 355.6  # a picture of 14 in and up is what a 13x19 in sheet is bought for
_PPI_DECIMALS = 4  # a raster in a file is a fraction over 10,000, so it is one here too


class Crop(Record):
    """The part of the upright picture that is printed, in its pixels."""

    left_px: float
    top_px: float
    width_px: float
    height_px: float
    loss_percent: float


class Raster(Record):
    """The picture on paper: whole pixels at one ppi, and what was done to get there."""

    crop: Crop
    width_px: int
    height_px: int
    ppi: float
    scale: float  # print pixels per file pixel
    wanted_ppi: float  # what the ticket asked for; differs where pixels would be invented
    held_back: bool  # True where `wanted_ppi` was not met because enlarging is not allowed


class SizeRow(Record):
    """One standard size, turned as the picture is, filled by cropping."""

    name: str
    kind: SheetKind
    width_mm: float
    height_mm: float
    ppi: float
    crop_loss_percent: float
    whole_width_mm: float  # the uncropped picture inside this size
    whole_height_mm: float
    step: str
    good_from_mm: float  # from here on one arc-minute is not exceeded
    sentence: str


class GradeSize(Record):
    """The largest uncropped print that still earns a grade."""

    step: str
    ppi: int
    width_mm: float
    height_mm: float


def effective_ppi(length_px: float, length_mm: float) -> float:
    """The file's own pixels per inch on paper, after cropping.

    >>> effective_ppi(3000, 381), round(effective_ppi(5600, 381), 1)
    (200.0, 373.3)
    """
    return length_px * MM_PER_INCH / length_mm


def needed_ppi(distance_mm: float) -> float:
    """Pixels per inch at which one pixel spans one arc-minute of the eye.

    Notes
    -----
    ppi = 1 / (d · tan(1/60°)), d in inches: 3437.75 / d. A keen eye on fine line work sees up
    to twice that. Theory: docs/theory/sizing.md.

    >>> round(needed_ppi(250), 1), round(needed_ppi(1000), 1)
    (349.3, 87.3)
    """
    return ppi_one_arc_minute(distance_mm)


def beyond_eye_from_mm(ppi: float) -> float:
    """The distance from which one pixel spans no more than one arc-minute, mm.

    >>> round(beyond_eye_from_mm(200))
    437
    """
    return needed_ppi(1.0) / ppi


def grade(ppi: float) -> str:
    """The trade's step for a resolution, from the whole number people see.

    >>> grade(299.6), grade(200), grade(100)
    ('excellent', 'good', 'only far')
    """
    shown = math.floor(ppi + 0.5)
    return next(step for step, least in GRADES if shown >= least)


def is_large(width_mm: float, height_mm: float) -> bool:
    """Whether the rule for large prints holds: 14 in and up on the long side of the picture."""
    return max(width_mm, height_mm) >= _LARGE_SIDE_MM


def distance_verdicts(ppi: float, stated_mm: float) -> tuple[DistanceVerdict, ...]:
    """Verdicts at arm's length, at half a metre and at the stated distance.

    Where the stated distance is one of the first two it is not said twice.
    """
    asked = [("arm's length", ARMS_LENGTH_MM), ("half a metre", HALF_METRE_MM)]
    for index, (name, distance_mm) in enumerate(asked):
        if abs(distance_mm - stated_mm) < 1:
            asked[index] = (f"{name}, the stated distance", distance_mm)
            break
    else:
        asked.append(("the stated distance", stated_mm))
    return tuple(_verdict(name, distance_mm, ppi) for name, distance_mm in asked)


def _verdict(name: str, distance_mm: float, ppi: float) -> DistanceVerdict:
    needed = needed_ppi(distance_mm)
    beyond = ppi >= needed - 0.5
    if beyond:
        says = "the pixels are finer than the eye separates"
    elif ppi >= 0.75 * needed:
        says = "a sharp eye on fine line work can see the limit, most subjects hide it"
    elif ppi >= 0.5 * needed:
        says = "fine detail looks soft"
    else:
        says = "the print looks plainly soft"
    sentence = (
        f"From {distance_words(distance_mm)} the eye separates {needed:.0f} ppi; the file gives "
        f"{ppi:.0f}: {says}."
    )
    return DistanceVerdict(
        name=name,
        distance_mm=distance_mm,
        needed_ppi=round(needed, 4),
        effective_ppi=round(ppi, 4),
        beyond_eye=beyond,
        step=grade(ppi),
        sentence=sentence,
    )


def parse_shape(text: str) -> float:
    """Long side over short side of a wished shape.

    Parameters
    ----------
    text
        `3:2`, `4x5`, `1:1`, `A` (the √2 of ISO 216) or `square`.

    >>> parse_shape("3:2"), parse_shape("4:5"), parse_shape("square")
    (1.5, 1.25, 1.0)
    """
    plain = text.strip().lower()
    if plain in ("a", "square"):
        return math.sqrt(2) if plain == "a" else 1.0
    match = re.match(r"^([0-9]+(?:[.,][0-9]+)?)\s*[:x×/]\s*([0-9]+(?:[.,][0-9]+)?)$", plain)
    sides = [float(side.replace(",", ".")) for side in match.groups()] if match else [0.0]
    if min(sides) <= 0:
        raise TicketError(
            f"“{text}” is not a shape.",
            "The picture cannot be cropped to it.",
            "Write two numbers such as 3:2, 4:5 or 1:1, or A for the shape of A4 and A3.",
            "not-a-shape",
        )
    return max(sides) / min(sides)


def crop_to_shape(
    width_px: int, height_px: int, aspect: float, offset_x: float = 0.0, offset_y: float = 0.0
) -> Crop:
    """The largest part of a picture with a wished width over height.

    Parameters
    ----------
    aspect
        Width over height of the part, as it lies.
    offset_x, offset_y
        -1 keeps the left or top edge, 0 the middle, 1 the right or bottom edge.

    >>> round(crop_to_shape(6000, 4000, 10 / 8).loss_percent, 2)
    16.67
    """
    if width_px >= height_px * aspect:
        part_width, part_height = height_px * aspect, float(height_px)
    else:
        part_width, part_height = float(width_px), width_px / aspect
    return _placed(width_px, height_px, part_width, part_height, offset_x, offset_y)


def _placed(
    width_px: int,
    height_px: int,
    part_width: float,
    part_height: float,
    offset_x: float,
    offset_y: float,
) -> Crop:
    part_width, part_height = min(part_width, width_px), min(part_height, height_px)
    return Crop(
        left_px=(width_px - part_width) * (offset_x + 1) / 2,
        top_px=(height_px - part_height) * (offset_y + 1) / 2,
        width_px=part_width,
        height_px=part_height,
        loss_percent=max(0.0, 100 * (1 - part_width * part_height / (width_px * height_px))),
    )


def choose_raster(
    *,
    width_px: int,
    height_px: int,
    aspect: float,
    width_mm: float,
    wish: float | str,
    native_ppi: int,
    allow_enlarge: bool,
    offset_x: float = 0.0,
    offset_y: float = 0.0,
) -> Raster:
    """Choose crop and raster: the stock's native raster, or the file's own pixels.

    Parameters
    ----------
    width_px, height_px
        The upright picture.
    aspect, width_mm
        Width over height of the printed part, and its width on paper.
    wish
        `native`, `own`, or a ppi.
    native_ppi
        The stock's raster.
    allow_enlarge
        Whether pixels may be invented.

    Notes
    -----
    The file's own pixel count is never exceeded unless the person allows it: then the file's
    own pixels go out at their own ppi, and nothing is resampled. Where the picture is
    resampled, the crop is trimmed by less than one print pixel so that both directions are
    scaled alike.
    """
    part = crop_to_shape(width_px, height_px, aspect, offset_x, offset_y)
    own_ppi = effective_ppi(part.width_px, width_mm)
    wanted = own_ppi if wish == "own" else float(native_ppi if wish == "native" else wish)
    enough = mm_to_px(width_mm, wanted) <= round(part.width_px) and wanted <= own_ppi * (1 + 1e-3)
    if wish == "own" or not (enough or allow_enlarge):
        return _own_pixels(
            width_px, height_px, part, width_mm, wanted, wish != "own", offset_x, offset_y
        )
    print_width = max(1, mm_to_px(width_mm, wanted))
    print_height = max(1, mm_to_px(width_mm / aspect, wanted))
    crop = crop_to_shape(width_px, height_px, print_width / print_height, offset_x, offset_y)
    if (print_width, print_height) == (round(crop.width_px), round(crop.height_px)):
        crop = _whole(width_px, height_px, crop, offset_x, offset_y)
    return Raster(
        crop=crop,
        width_px=print_width,
        height_px=print_height,
        ppi=wanted,
        scale=print_width / crop.width_px,
        wanted_ppi=wanted,
        held_back=False,
    )


def _own_pixels(
    width_px: int,
    height_px: int,
    part: Crop,
    width_mm: float,
    wanted: float,
    held_back: bool,
    offset_x: float,
    offset_y: float,
) -> Raster:
    crop = _whole(width_px, height_px, part, offset_x, offset_y)
    ppi = round(effective_ppi(crop.width_px, width_mm), _PPI_DECIMALS)
    return Raster(
        crop=crop,
        width_px=int(crop.width_px),
        height_px=int(crop.height_px),
        ppi=ppi,
        scale=1.0,
        wanted_ppi=wanted if held_back else ppi,
        held_back=held_back,
    )


def _whole(width_px: int, height_px: int, crop: Crop, offset_x: float, offset_y: float) -> Crop:
    """The same crop on whole pixels of the file."""
    width, height = max(1, round(crop.width_px)), max(1, round(crop.height_px))
    placed = _placed(width_px, height_px, width, height, offset_x, offset_y)
    corner = {"left_px": float(round(placed.left_px)), "top_px": float(round(placed.top_px))}
    return placed.model_copy(update=corner)


def size_table(
    width_px: int, height_px: int, *, distance_mm: float = HALF_METRE_MM
) -> tuple[SizeRow, ...]:
    """Every standard size, turned with the picture: ppi, what is cut off, and a verdict.

    Rows are ordered by area, smallest first.
    """
    rows = []
    for sheet in sorted(SHEETS.values(), key=lambda one: one.width_mm * one.height_mm):
        short, long = sorted((sheet.width_mm, sheet.height_mm))
        width_mm, height_mm = (long, short) if width_px >= height_px else (short, long)
        crop = crop_to_shape(width_px, height_px, width_mm / height_mm)
        ppi = effective_ppi(crop.width_px, width_mm)
        fit = min(width_mm / width_px, height_mm / height_px)
        rows.append(
            SizeRow(
                name=sheet.name,
                kind=sheet.kind,
                width_mm=width_mm,
                height_mm=height_mm,
                ppi=round(ppi, 2),
                crop_loss_percent=round(crop.loss_percent, 3),
                whole_width_mm=round(width_px * fit, 2),
                whole_height_mm=round(height_px * fit, 2),
                step=grade(ppi),
                good_from_mm=round(beyond_eye_from_mm(ppi), 1),
                sentence=_row_sentence(ppi, crop.loss_percent, distance_mm),
            )
        )
    return tuple(rows)


def _row_sentence(ppi: float, loss_percent: float, distance_mm: float) -> str:
    cut = f"{percent(loss_percent)} cut off" if loss_percent >= 0.05 else "nothing cut off"
    seen = "beyond the eye" if ppi >= needed_ppi(distance_mm) - 0.5 else "limit can be seen"
    return f"{grade(ppi)}, {cut}, {seen} from {distance_words(distance_mm)}"


def largest_sizes(width_px: int, height_px: int) -> tuple[GradeSize, ...]:
    """The largest uncropped print for each grade that has a lower bound.

    >>> [(one.step, round(one.width_mm / 25.4, 1)) for one in largest_sizes(3000, 2200)][:2]
    [('excellent', 10.0), ('very good', 12.5)]
    """
    return tuple(
        GradeSize(
            step=step,
            ppi=least,
            width_mm=round(px_to_mm(width_px, least), 2),
            height_mm=round(px_to_mm(height_px, least), 2),
        )
        for step, least in GRADES
        if least
    )
