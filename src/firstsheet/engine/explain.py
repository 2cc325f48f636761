"""How each figure of a plan is worked out: formula, inputs, source.

Takes a Plan; gives Figures. The numbers are the plan's own; what stands beside them is enough
to get them again with a pocket calculator. Theory: docs/theory/sizing.md, sharpening.md,
viewing.md, loss.md. Tests: tests/engine/test_explain.py.
"""

from __future__ import annotations

from firstsheet.engine.colour.lab import lightness_to_y
from firstsheet.engine.explain_look import look_figures
from firstsheet.engine.findings import PRACTICE
from firstsheet.engine.light.viewing import paper_white_luminance
from firstsheet.engine.records.figure import Figure, one_figure
from firstsheet.engine.records.plan import LossFacts, Plan
from firstsheet.engine.sharpness.output import HALF_HEIGHT_WIDTH
from firstsheet.engine.units import MM_PER_INCH, both_units, distance_words

__all__ = ["figures"]

_CIEDE2000 = "CIEDE2000: ISO/CIE 11664-6; Sharma, Wu, Dalal (2005)"
_INCH = "1 in = 25.4 mm exactly (1959)"


def figures(plan: Plan) -> tuple[Figure, ...]:
    """All figures of a plan that a person is shown."""
    return (
        *_size(plan),
        *_distances(plan),
        *_sheet(plan),
        *_sharpening(plan),
        *(look_figures(plan.look) if plan.look is not None else ()),
        *_place(plan),
        *(_paper(plan.loss) if plan.loss is not None else ()),
        *(_lost(plan.loss) if plan.loss is not None else ()),
        *_link(plan),
        *_file(plan),
        *_rescan(plan),
    )


def _size(plan: Plan) -> tuple[Figure, ...]:
    size = plan.size
    width_in = size.width_mm / MM_PER_INCH
    return (
        one_figure(
            "width", "Width of the picture", size.width_mm, "mm",
            "pixels across ÷ raster × 25.4 mm", _INCH,
            ("pixels across", size.width_px, "px"), ("raster", size.ppi, "ppi"),
            words=both_units(size.width_mm),
        ),
        one_figure(
            "height", "Height of the picture", size.height_mm, "mm",
            "pixels down ÷ raster × 25.4 mm", _INCH,
            ("pixels down", size.height_px, "px"), ("raster", size.ppi, "ppi"),
            words=both_units(size.height_mm),
        ),
        one_figure(
            "effective-ppi", "The file's own pixels at this size", size.effective_ppi, "ppi",
            "pixels of the printed part ÷ its width in inches",
            "definition of pixels per inch",
            ("pixels of the printed part", size.crop_width_px, "px"), ("width", width_in, "in"),
            decimals=0,
        ),
        one_figure(
            "scale", "Print pixels for one of the file's", size.scale, "",
            "pixels across on the print ÷ pixels across of the printed part",
            "docs/theory/resampling.md",
            ("on the print", size.width_px, "px"), ("in the file", size.crop_width_px, "px"),
            decimals=3,
        ),
        one_figure(
            "crop-loss", "Cut off", size.crop_loss_percent, "%",
            "100 − 100 × printed part ÷ whole file", "areas in pixels",
            ("printed part", size.crop_width_px * size.crop_height_px, "px"),
            ("whole file", float(plan.picture.width_px * plan.picture.height_px), "px"),
        ),
    )  # fmt: skip


def _distances(plan: Plan) -> tuple[Figure, ...]:
    return tuple(
        one_figure(
            f"needed-ppi-{round(one.distance_mm)}",
            f"Needed from {distance_words(one.distance_mm)}", one.needed_ppi, "ppi",
            "25.4 mm ÷ (distance × tan(1/60°))",
            f"one pixel under one arc minute, the norm of good eyesight ({PRACTICE})",
            ("distance", one.distance_mm, "mm"), decimals=0,
        )
        for one in plan.size.verdicts
    )  # fmt: skip


def _sheet(plan: Plan) -> tuple[Figure, ...]:
    sheet, size = plan.sheet, plan.size
    names = ("top", "right", "bottom", "left")
    left_px, top_px = sheet.picture_left_px, sheet.picture_top_px
    before = (
        top_px,
        sheet.width_px - left_px - size.width_px,
        sheet.height_px - top_px - size.height_px,
        left_px,
    )
    return tuple(
        one_figure(
            f"border-{name}", f"Border, {name}", border, "mm",
            "bare pixels on that side ÷ raster × 25.4 mm", f"docs/theory/layout.md; {_INCH}",
            ("bare pixels", bare, "px"), ("raster", size.ppi, "ppi"),
        )
        for name, border, bare in zip(names, sheet.border_mm, before, strict=True)
    )  # fmt: skip


def _sharpening(plan: Plan) -> tuple[Figure, ...]:
    sharp = plan.sharpen
    if not sharp.strength:
        return ()
    return (
        one_figure(
            "sharpen-radius", "Sharpening radius", sharp.radius_mm, "mm",
            "radius on the raster ÷ raster × 25.4 mm",
            f"two pixels at 360 ppi, a little more where ink spreads ({PRACTICE})",
            ("radius on the raster", sharp.radius_px, "px"), ("raster", plan.size.ppi, "ppi"),
            decimals=3,
        ),
        one_figure(
            "halo-width", "Width of what it adds along an edge", sharp.halo_width_mm, "mm",
            "1.349 × radius, the half-height width of a Gaussian's quartiles",
            "docs/theory/sharpening.md",
            ("factor", HALF_HEIGHT_WIDTH, ""), ("radius", sharp.radius_mm, "mm"),
            decimals=2,
        ),
        one_figure(
            "sharpen-gain", "Sharpening, times the detail", sharp.gain, "",
            "0.9 × strength × share of the surface × (distance ÷ 500 mm)^¼, held to 0.85…1.3",
            f"{PRACTICE}; docs/theory/sharpening.md",
            ("strength", sharp.strength, ""), ("distance", plan.place.distance_mm, "mm"),
            decimals=2,
        ),
    )  # fmt: skip


def _place(plan: Plan) -> tuple[Figure, ...]:
    facts = plan.stock.facts
    if facts is None:
        return ()
    reflectance = float(lightness_to_y(facts.white_lab[0]))
    lux = plan.place.illuminance_lux
    return (
        one_figure(
            "paper-luminance", "Brightness of the bare paper there",
            paper_white_luminance(lux, reflectance), "cd/m²", "E × ρ ÷ π",
            "definition of a matt (Lambertian) surface",
            ("light E", lux, "lux"), ("reflectance ρ of the paper's white", reflectance, ""),
            decimals=0,
        ),
    )  # fmt: skip


def _paper(loss: LossFacts) -> tuple[Figure, ...]:
    white_y, black_y = float(lightness_to_y(loss.white_l)), float(lightness_to_y(loss.black_l))
    return (
        one_figure(
            "paper-white", "White of the paper", loss.white_l, "L*",
            "media white of the profile, as L*", "ICC.1, media white point",
            ("luminous reflectance", white_y, ""),
        ),
        one_figure(
            "paper-black", "Black of the ink", loss.black_l, "L*",
            "the darkest colour the profile prints, as L*", "the profile's colorimetric table",
            ("luminous reflectance", black_y, ""),
        ),
        one_figure(
            "contrast", "Contrast of the print", loss.contrast, ": 1",
            "reflectance of white ÷ reflectance of black", "ratio of luminances",
            ("white", white_y, ""), ("black", black_y, ""), decimals=0,
        ),
    )  # fmt: skip


def _lost(loss: LossFacts) -> tuple[Figure, ...]:
    bands = loss.bands_percent
    way = "wanted against printed colour of every pixel of the small picture"
    return (
        one_figure(
            "loss-mean", "Mean colour difference", loss.mean_de00, "ΔE00", f"mean, {way}",
            _CIEDE2000, ("noise of the profile itself", loss.floor_de00, "ΔE00"), decimals=2,
        ),
        one_figure(
            "loss-max", "Largest colour difference", loss.max_de00, "ΔE00", f"largest, {way}",
            _CIEDE2000, ("noise of the profile itself", loss.floor_de00, "ΔE00"),
        ),
        one_figure(
            "loss-over-2", "Changed by more than ΔE00 2", sum(bands[2:]), "%",
            "shares from 2 to 5, from 5 to 10 and above 10, added", _CIEDE2000,
            ("2 to 5", bands[2], "%"), ("5 to 10", bands[3], "%"), ("above 10", bands[4], "%"),
        ),
        one_figure(
            "loss-over-5", "Changed plainly, by more than ΔE00 5", sum(bands[3:]), "%",
            "shares from 5 to 10 and above 10, added", _CIEDE2000,
            ("5 to 10", bands[3], "%"), ("above 10", bands[4], "%"),
        ),
        one_figure(
            "merged-levels", "Darkest grey levels that print as one", loss.merged_shadow_levels,
            "of 256", "a ramp of 256 greys printed; those no darker than the darkest, counted",
            "docs/theory/loss.md",
            ("share of the picture there", loss.merged_shadow_percent, "%"), decimals=0,
        ),
    )  # fmt: skip


def _link(plan: Plan) -> tuple[Figure, ...]:
    colour = plan.colour
    if not colour.link:
        return ()
    return (
        one_figure(
            "link-error", "Error of the fast way into paper colour", colour.link_p99_de00, "ΔE00",
            "99 % of the picture's colours lie below it, against the ICC engine in floating point",
            f"docs/theory/links.md; {_CIEDE2000}",
            ("mean", colour.link_mean_de00, "ΔE00"), ("largest", colour.link_max_de00, "ΔE00"),
            decimals=3,
        ),
    )  # fmt: skip


def _file(plan: Plan) -> tuple[Figure, ...]:
    output, sheet = plan.output, plan.sheet
    pixels = sheet.width_px * sheet.height_px
    channels = output.print_file_bytes * 8 // (pixels * output.bits)
    return (
        one_figure(
            "file-bytes", "Size of the print file", output.print_file_bytes / 1e6, "MB",
            "pixels across × pixels down × channels × bits ÷ 8 ÷ 1,000,000",
            "before compression; MB of 1,000,000 bytes",
            ("pixels across", sheet.width_px, "px"), ("pixels down", sheet.height_px, "px"),
            ("channels", channels, ""), ("bits", output.bits, ""), decimals=0,
        ),
    )  # fmt: skip


def _rescan(plan: Plan) -> tuple[Figure, ...]:
    answer = plan.rescan
    if answer is None:
        return ()
    return (
        one_figure(
            "needed-spi", "Scan needed of this film", answer.needed_spi, "spi",
            "print raster × enlargement of the film's frame", "docs/theory/rescan.md",
            ("frame across", answer.frame_width_mm, "mm"),
            ("picture across", plan.size.width_mm, "mm"), decimals=0,
        ),
    )  # fmt: skip
