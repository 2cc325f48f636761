"""What the plan says about size: enough or not, what is cut, invented, rounded; the rescan.

Takes records already decided; gives findings. Numbers of the trade are common practice, no
source, and say so. Theory: docs/theory/sizing.md, docs/theory/rescan.md.
Tests: tests/engine/test_plan.py.
"""

from __future__ import annotations

from firstsheet.engine.findings import PRACTICE, choice, finding, joined, percent, shown
from firstsheet.engine.records import Choice, Finding, Stock, Ticket
from firstsheet.engine.records.plan import DistanceVerdict, RescanAnswer, SizePlan
from firstsheet.engine.sizing.size import (
    LARGE_PRINT_PPI,
    NOTHING_GAINED_PPI,
    SMALLEST_OFFERED_MM,
    grade,
    is_large,
)
from firstsheet.engine.units import both_units, plain_number, px_to_mm, size_words

__all__ = ["WARN_PPI", "rescan_findings", "size_findings", "smaller_print"]

WARN_PPI = 180  # below this always warn; common practice, no source
_SAFE_ENLARGEMENT = 2.0  # a commonly quoted limit for interpolation; common practice, no source
_FINEST_PRINTER_PPI = 720
_TOLD_CROP_PERCENT = 0.05
_TOLD_ROUNDING_MM = 0.05


def size_findings(
    ticket: Ticket,
    stock: Stock,
    size: SizePlan,
    wanted_ppi: float,
    held_back: bool,
) -> tuple[Finding, ...]:
    """Is it enough, what is cut off, what is invented, what was rounded."""
    return (
        *_enough(ticket, size),
        *_cut_off(ticket, size),
        *_raster(ticket, stock, size, wanted_ppi, held_back),
        *_rounded(ticket, size),
    )


def _enough(ticket: Ticket, size: SizePlan) -> tuple[Finding, ...]:
    ppi = size.effective_ppi
    rounded = round(ppi)
    large = is_large(size.width_mm, size.height_mm)
    least = LARGE_PRINT_PPI[0] if large else WARN_PPI
    place = _stated(ticket, size)
    figures: dict[str, float | int | str | bool] = {"effective_ppi": ppi, "least_ppi": least}
    have = (
        f"Printed {size_words(size.width_mm, size.height_mm)}, the file gives "
        f"{shown('effective-ppi', f'{rounded} ppi')}"
    )
    if rounded >= least:
        more = (
            f"Nothing visible is gained above about {NOTHING_GAINED_PPI} ppi."
            if rounded > NOTHING_GAINED_PPI
            else place.sentence
        )
        return (
            finding(
                "enough-pixels",
                "fine",
                f"{have}: {grade(ppi)}.",
                more,
                source=PRACTICE,
                figures=figures,
            ),
        )
    rule = (
        f"large prints want at least {LARGE_PRINT_PPI[0]}–{LARGE_PRINT_PPI[1]}"
        if large
        else f"below {WARN_PPI} a print held in the hand looks soft"
    )
    fits = LARGE_PRINT_PPI[1]
    enough_mm = px_to_mm(size.crop_width_px, fits)
    smaller = smaller_print(enough_mm, f", at {fits} ppi.")
    return (
        finding(
            "too-few-pixels",
            "caution",
            f"{have}: too low, {rule}.",
            place.sentence,
            "Go back to a larger original; a film can be rescanned finer."
            if ticket.film is None
            else "Rescan the film finer.",
            *smaller,
            "Keep the size; it is softer close to.",
            source=PRACTICE,
            figures=figures | {"width_mm_at_240_ppi": enough_mm},
        ),
    )


def smaller_print(width_mm: float, what_for: str) -> tuple[Choice, ...]:
    """The way out to a smaller print; none smaller than a stamp is offered.

    >>> smaller_print(300.0, ", at 240 ppi.")[0].text
    'Print it 300 mm (11.8 in) wide, at 240 ppi.'
    >>> smaller_print(4.0, ", at 240 ppi.")
    ()
    """
    if width_mm < SMALLEST_OFFERED_MM:
        return ()
    words = f"Print it {both_units(width_mm)} wide{what_for}"
    return (choice(words, {"print.width": f"{width_mm:.1f} mm"}),)


def _stated(ticket: Ticket, size: SizePlan) -> DistanceVerdict:
    """The verdict at the place the ticket names."""
    return min(size.verdicts, key=lambda one: abs(one.distance_mm - ticket.place.distance_mm))


def _cut_off(ticket: Ticket, size: SizePlan) -> tuple[Finding, ...]:
    if ticket.crop.shape is None or size.crop_loss_percent < _TOLD_CROP_PERCENT:
        return ()
    names = ("top", "right", "bottom", "left")
    sides = joined(
        f"{plain_number(lost)} mm at the {name}"
        for name, lost in zip(names, size.crop_loss_mm, strict=True)
        if lost >= _TOLD_ROUNDING_MM
    )
    return (
        finding(
            "cropped",
            "caution" if size.crop_loss_percent >= 1 else "fine",
            f"{shown('crop-loss', percent(size.crop_loss_percent))} of the picture is cropped: "
            f"{sides}, measured on the print.",
            "What lies there is not printed; look at heads and horizons.",
            choice("Move the crop.", option="--offset X,Y", goes_to="crop"),
            choice(
                "Print the whole picture; the border takes up the rest.",
                {"crop.shape": "", "crop.offset-x": "", "crop.offset-y": ""},
            ),
            figures={"loss_percent": size.crop_loss_percent},
        ),
    )


def _raster(
    ticket: Ticket, stock: Stock, size: SizePlan, wanted_ppi: float, held_back: bool
) -> tuple[Finding, ...]:
    if size.enlarged:
        return (
            finding(
                "enlarged",
                "caution",
                f"The picture is enlarged {size.scale:.2f} times a side, as the ticket allows.",
                "The added pixels are computed, they hold no new detail"
                + (
                    f"; beyond {_SAFE_ENLARGEMENT:.0f} times it usually shows."
                    if size.scale > _SAFE_ENLARGEMENT
                    else "."
                ),
                choice(
                    "Turn enlarging off: the file's own pixels go out as they are.",
                    {"detail.allow-enlarge": ""},
                ),
                source=PRACTICE,
                figures={"factor": size.scale},
            ),
        )
    if size.ppi > _FINEST_PRINTER_PPI:
        return (
            finding(
                "raster-too-fine",
                "caution",
                f"The print file has {plain_number(size.ppi)} ppi, more than the "
                f"{_FINEST_PRINTER_PPI} ppi that printers take.",
                "The file grows and the printer's driver throws the pixels away by its own rule.",
                choice("Reduce it once, to the printer's own resolution.", {"detail.ppi": ""}),
                source=PRACTICE,
                figures={"ppi": size.ppi},
            ),
        )
    if not held_back:
        return ()
    asked = not isinstance(ticket.detail.ppi, str)
    wish = f"{plain_number(wanted_ppi, 2)} ppi " + (
        "is asked for" if asked else f"is the raster of {stock.title}"
    )
    return (
        finding(
            "own-pixels",
            "caution" if asked else "fine",
            f"{wish}; the file has {plain_number(size.effective_ppi, 2)} ppi at this size.",
            "No pixel is invented: the file's own pixels go out at that resolution, and the "
            "printer's driver brings them to its raster.",
            choice(
                f"Enlarge it {wanted_ppi / size.effective_ppi:.2f} times a side.",
                {"detail.allow-enlarge": "true"},
            ),
            figures={
                "wanted_ppi": wanted_ppi,
                "effective_ppi": size.effective_ppi,
                "factor": wanted_ppi / size.effective_ppi,
            },
        ),
    )


def _rounded(ticket: Ticket, size: SizePlan) -> tuple[Finding, ...]:
    """A wish that whole pixels cannot meet exactly."""
    wish = ticket.print
    wished, got, side = next(
        (
            one
            for one in (
                (wish.width_mm, size.width_mm, "wide"),
                (wish.height_mm, size.height_mm, "high"),
                (wish.long_side_mm, max(size.width_mm, size.height_mm), "on its long side"),
            )
            if one[0] is not None
        ),
        (None, 0.0, ""),
    )
    if wished is None or abs(got - wished) < _TOLD_ROUNDING_MM:
        return ()
    return (
        finding(
            "size-rounded",
            "fine",
            f"The picture is {got:.2f} mm {side}, {abs(got - wished):.2f} mm "
            f"{'more' if got > wished else 'less'} than wished.",
            f"A size is a whole number of pixels, {25.4 / size.ppi:.3f} mm each here.",
            figures={"wished_mm": wished, "got_mm": got},
        ),
    )


def rescan_findings(answer: RescanAnswer | None) -> tuple[Finding, ...]:
    """Say whether the scan or the wish is the limit, and what a rescan would weigh."""
    if answer is None:
        return ()
    sizes = (
        f"{answer.width_px} × {answer.height_px} pixels: "
        f"{answer.bytes_8bit / 1e6:.1f} MB at 8 bit, {answer.bytes_16bit / 1e6:.1f} MB at 16 bit."
    )
    return (
        finding(
            "rescan-would-help" if answer.present_is_limit else "scan-is-enough",
            "fine",
            answer.sentence,
            f"The whole frame at that setting is {sizes}",
            *(
                (
                    "Scan at 16 bit, unclipped and unsharpened, at a whole fraction of the "
                    "scanner's own pitch.",
                )
                if answer.present_is_limit
                else ()
            ),
            figures={"needed_spi": answer.needed_spi, "present_spi": answer.present_spi},
        ),
    )
