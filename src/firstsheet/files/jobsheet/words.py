"""The words of the job sheet: settings, checklists, drying, loss, identity, cautions.

Takes a plan; gives plain sentences, no drawing. Printing at home and ordering from a lab read
differently. Sources of each rule: docs/jobsheet.md. Tests: tests/files/test_jobsheet_words.py.
"""

from __future__ import annotations

from pathlib import PurePath
from typing import NamedTuple

from firstsheet.engine.records.plan import Plan
from firstsheet.engine.units import both_units

__all__ = [
    "Row",
    "after_printing",
    "before_printing",
    "cautions",
    "drying",
    "feed_edge",
    "headline",
    "identity",
    "is_order",
    "loss_rows",
    "settings",
    "size_line",
    "two_sides",
]

_PRACTICE = "common practice, no source"
_INTENTS = {
    "perceptual": "perceptual",
    "relative": "relative colorimetric",
    "saturation": "saturation",
    "absolute": "absolute colorimetric",
}
_COMPRESSION = {"none": "uncompressed", "lzw": "LZW", "deflate": "deflate"}


class Row(NamedTuple):
    """A label and what stands beside it."""

    label: str
    value: str


def is_order(plan: Plan) -> bool:
    """Whether somebody else converts and prints."""
    return plan.colour.mode == "keep"


def headline(plan: Plan) -> str:
    """The picture's name without folder and ending."""
    return PurePath(plan.picture.path.replace("\\", "/")).stem or plan.picture.path


def two_sides(width_mm: float, height_mm: float) -> str:
    """A size in mm and inch.

    Examples
    --------
    >>> two_sides(381, 254)
    '381.0 × 254.0 mm (15.00 × 10.00 in)'
    """
    inches = f"{width_mm / 25.4:.2f} × {height_mm / 25.4:.2f} in"
    return f"{width_mm:.1f} × {height_mm:.1f} mm ({inches})"


def size_line(plan: Plan) -> str:
    """Picture size, stock and sheet in one line."""
    size, sheet = plan.size, plan.sheet
    return (
        f"{two_sides(size.width_mm, size.height_mm)} on {_short(plan.stock.title, 80)}, sheet "
        f"{_sheet_name(plan)}{two_sides(sheet.asked_width_mm, sheet.asked_height_mm)}"
    )


def feed_edge(plan: Plan) -> str:
    """Edge of the drawing that enters the printer first: `left` or `top` (short edge first)."""
    return "left" if plan.sheet.width_mm > plan.sheet.height_mm else "top"


def settings(plan: Plan) -> tuple[Row, ...]:
    """What to choose in the print dialog, or what to ask of the lab."""
    return _order_rows(plan) if is_order(plan) else _dialog_rows(plan)


def _dialog_rows(plan: Plan) -> tuple[Row, ...]:
    sheet = plan.sheet
    came = (
        f"the file is already in the colours of {plan.stock.title}"
        if plan.colour.mode == "paper"
        else "the file came in an output space and was left as it is"
    )
    margins = plan.stock.margins
    return (
        Row(
            "Colour management",
            f"Off, everywhere: {came}. In the driver and in the system's dialog choose no "
            "correction, no profile, nothing automatic.",
        ),
        Row(
            "Scaling and place",
            "100 %, actual size. The file is the whole sheet: no fitting to the page, no centring "
            "in the printable area, no turning on its own.",
        ),
        Row("Borderless", "Off. Borderless printing enlarges the sheet and cuts its edges."),
        Row(
            "Media setting",
            _short(plan.stock.media_setting, 160)
            or "None is recorded for this stock: take the one its profile was made with.",
        ),
        Row(
            "Sheet size",
            f"{_sheet_name(plan)}{two_sides(sheet.asked_width_mm, sheet.asked_height_mm)}. "
            "If the list has no such sheet, enter the size yourself.",
        ),
        Row(
            "Feed",
            f"Short edge first: the {feed_edge(plan)} edge of the drawing enters the printer "
            f"first. The printer leaves {margins.top:g} mm bare there, {margins.bottom:g} mm at "
            f"the end, {margins.left:g} and {margins.right:g} mm at the sides. "
            f"{_short(plan.stock.notes, 240)}".strip(),
        ),
        Row("Quality", "The highest this media setting offers; two-way (fast) printing off."),
        Row("Bit depth", _bits_sentence(plan)),
        Row("File", _file_sentence(plan)),
    )


def _order_rows(plan: Plan) -> tuple[Row, ...]:
    size, sheet = plan.size, plan.sheet
    bits = plan.output.bits
    return (
        Row(
            "Colour",
            f"The file keeps the picture's own space, {plan.colour.source_name}, with its profile "
            "embedded. The lab converts it to its paper, once.",
        ),
        Row(
            "Corrections",
            "None, please: no automatic colour, contrast or sharpening. The file is sharpened for "
            "this size.",
        ),
        Row(
            "Size",
            f"Picture {two_sides(size.width_mm, size.height_mm)}. Whole sheet with its border "
            f"{two_sides(sheet.asked_width_mm, sheet.asked_height_mm)}.",
        ),
        Row("Scaling and crop", "None: 100 %. Nothing may be cut off or enlarged past the edge."),
        Row("Paper wished", f"{plan.stock.title}, {plan.stock.surface}."),
        Row(
            "Bit depth",
            f"{bits} bits per channel."
            + (" Where the lab takes 8 bits only, make an 8-bit file." if bits == 16 else ""),
        ),
        Row("File", _file_sentence(plan)),
    )


def _short(words: str, most: int) -> str:
    """Words of the stock's record, cut where they would crowd the page."""
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"


def _sheet_name(plan: Plan) -> str:
    """The sheet's name where it has one besides its size."""
    name = plan.sheet.name
    return "" if name[:1].isdigit() else f"{name}, "


def _bits_sentence(plan: Plan) -> str:
    if plan.output.bits == 16:
        return "The file has 16 bits per channel: switch 16-bit output on where it is offered."
    return "The file has 8 bits per channel; nothing to switch."


def _file_sentence(plan: Plan) -> str:
    output, sheet = plan.output, plan.sheet
    kind = _COMPRESSION.get(output.compression, output.compression)
    big = ", BigTIFF (some programs and most labs cannot open it)" if output.big_tiff else ""
    return (
        f"{output.print_file}: {sheet.width_px} × {sheet.height_px} pixels at "
        f"{plan.size.ppi:g} pixels per inch, {output.print_file_bytes / 1e6:.1f} MB, "
        f"{kind}{big}. The border is part of the file."
    )


def before_printing(plan: Plan) -> tuple[str, ...]:
    """Lines to tick before the sheet is spent."""
    if is_order(plan):
        return (
            "The lab takes TIFF with these bits and this compression, and a file of this size.",
            "The lab takes this colour space, and says which intent it converts with.",
            "Automatic correction is switched off in the order.",
            "The size ordered is the whole sheet, not the picture alone.",
            "A small sample on the same paper came first, if the print is large.",
        )
    return (
        "Nozzle pattern printed on plain paper, without a gap.",
        f"Paper is {plan.stock.title}, printable side towards the head.",
        f"Sheet flat and dust-free, loaded straight, {feed_edge(plan)} edge of the drawing first.",
        "Head height and paper thickness set for this paper.",
        "Ink and waste tank last for the whole sheet.",
        "Last dialog read once more: colour off, 100 %, media setting, sheet size.",
    )


def after_printing(plan: Plan) -> tuple[str, ...]:
    """Lines to tick once the sheet is out."""
    lines = []
    if plan.output.ruler:
        lines.append(
            "Ruler in the border measures 100 mm ± 0.5. If not, something scaled the sheet: "
            "what you measured, divided by 100, is the factor."
        )
    else:
        lines.append(
            f"Picture measures {plan.size.width_mm:.1f} × {plan.size.height_mm:.1f} mm, within "
            "0.5 mm for every 100. If not, something scaled the sheet."
        )
    if plan.output.key:
        lines.append(
            "Key in the border: eight even grey steps without a cast. A cast, or dark steps "
            + (
                "that merge, means the file was corrected or converted twice."
                if is_order(plan)
                else "that merge, means colour was converted twice or not at all."
            )
        )
    if is_order(plan):
        lines.append("Border bare and even, nothing cut off.")
        lines.append("Print compared with the proof in the light it will hang in.")
    else:
        lines.append("Border bare and even; no lines, no scratches from the head.")
    return tuple(lines)


def drying(plan: Plan) -> tuple[str, ...]:
    """Waiting times; all of them common practice."""
    if is_order(plan):
        return ()
    coated = plan.stock.surface in ("gloss", "satin")
    frame = (
        "Frame after 24 to 48 hours in moving air, longer in the cold: resin-coated paper gives "
        "off solvent slowly, and it fogs the glass."
        if coated
        else "Frame after 24 hours; longer in the cold."
    )
    return (
        "Judge tone and colour after 1 hour.",
        "Measure after 1 hour at the earliest, better after 24.",
        frame,
        "Lay plain absorbent paper between prints before stacking them.",
        f"({_PRACTICE.capitalize()}.)",
    )


def loss_rows(plan: Plan) -> tuple[Row, ...]:
    """Figures of what the paper takes away; empty where nothing is converted."""
    loss = plan.loss
    if loss is None:
        return ()
    return (
        Row(
            "Colour difference",
            f"mean {loss.mean_de00:.1f}, 95 % below {loss.p95_de00:.1f}, largest "
            f"{loss.max_de00:.1f} ΔE00; the profile's round-trip error is {loss.floor_de00:.1f}",
        ),
        Row(
            "Merged shadows",
            f"{loss.merged_shadow_levels} of 256 grey levels print as the darkest one; "
            f"{loss.merged_shadow_percent:.1f} % of the picture",
        ),
        Row(
            "Paper",
            f"white L* {loss.white_l:.1f}, black L* {loss.black_l:.1f}, contrast "
            f"{loss.contrast:.0f}:1",
        ),
    )


def identity(plan: Plan) -> tuple[Row, ...]:
    """What this sheet was made from, to find it again."""
    facts = plan.stock.facts
    profile = facts.profile.sha256[:16] if facts is not None else "not recorded"
    black_point = ", black point compensation" if plan.colour.black_point else ""
    conversion = {
        "paper": f"{plan.colour.source_name} to {plan.stock.title}, "
        f"{_INTENTS[plan.colour.intent]}{black_point}, once",
        "keep": f"none, kept in {plan.colour.source_name}",
        "as-is": f"none, it came in {plan.colour.source_name}",
    }[plan.colour.mode]
    return (
        Row("Picture", f"{PurePath(plan.picture.path.replace(chr(92), '/')).name}"),
        Row("SHA-256 of it", plan.picture.sha256[:16]),
        Row("SHA-256 of profile", profile),
        Row("Conversion", conversion),
        Row("Sharpening", _sharpening(plan)),
        Row(
            "Judged for",
            f"{both_units(plan.place.distance_mm)} away, {plan.place.illuminance_lux:g} lux",
        ),
        Row("Plan", plan.digest[:16]),
        Row("Made by", plan.made_by),
    )


def _sharpening(plan: Plan) -> str:
    sharp, look = plan.sharpen, plan.look
    said = f"{sharp.name}, strength {sharp.strength:.2f}, radius {sharp.radius_mm:.2f} mm"
    return said if look is None else f"{said}, rims {look.halo_mm:.2f} mm"


def cautions() -> tuple[str, ...]:
    """Short warnings; local codes come first."""
    return (
        "Blades: a fresh one, a steel rule with a guard, away from the hand.",
        "Varnish and sprays: outdoors or with extraction, mask on, no flame near.",
        "Hanging: weigh the framed work; fixings rated well above that and right for the wall, "
        "two of them for a wide frame.",
        "Local rules and the makers' instructions come before this sheet.",
    )
