"""How the figures of sharpness are worked out: for `engine.explain`.

Takes a plan's look; gives Figures. Theory: docs/theory/acutance.md, true-detail.md.
Tests: tests/engine/test_explain_look.py.
"""

from __future__ import annotations

from firstsheet.engine.findings import PRACTICE
from firstsheet.engine.records.figure import Figure, one_figure
from firstsheet.engine.records.sharpness import LookPlan
from firstsheet.engine.sharpness.findings import BOUND_WORDS
from firstsheet.engine.units import distance_words

__all__ = ["look_figures"]

_EYE = "eye after Mannos and Sakrison (1974); docs/theory/acutance.md"
_CHAIN = "∫ file × resampling × sharpening × raster × ink × eye ÷ ∫ eye, over frequency"


def look_figures(look: LookPlan) -> tuple[Figure, ...]:
    """Sharpness, the sharpening fitted for it, grain and rims, as far as they are known."""
    return (*_sharpness(look), *_fitted(look), *_grain(look), *_rims(look))


def _sharpness(look: LookPlan) -> tuple[Figure, ...]:
    away = distance_words(look.distance_mm)
    basis = "the picture's own edges" if look.basis == "edges" else "ideal pixels: at best"
    spread = ("ink spread, Gaussian, assumed from the surface", look.spread_mm, "mm")
    seen = ("distance", look.distance_mm, "mm")
    figures = [
        one_figure(
            "sharpness", f"Sharpness from {away}, 1 being a perfect print",
            look.acutance_sharpened, "", f"{_CHAIN}; {basis}", _EYE,
            spread, seen, ("without output sharpening", look.acutance_plain, ""), decimals=2,
        ),
        one_figure(
            "sharpness-wanted", "Sharpness wanted", look.target, "",
            "the same print without ink spread and a tenth more, or what looks sharp (0.76), "
            "never half as much again as the file holds", f"our own choice; {_EYE}",
            spread, seen, decimals=2,
        ),
        one_figure(
            "rim-width", "Width of the halos that sharpening makes", look.halo_mm, "mm",
            "both halos of an edge from L* 30 to 70 on the print's pixels, each at half its height",
            f"2.9 arc minutes are noticed ({PRACTICE}); docs/theory/acutance.md",
            ("noticed from there", look.halo_limit_mm, "mm"),
            ("height of a rim", look.overshoot_l, "L*"), decimals=2,
        ),
    ]  # fmt: skip
    if look.sharp_from_mm is not None:
        figures.append(
            one_figure(
                "sharp-from", "Looks sharp from", look.sharp_from_mm / 10, "cm",
                "the nearest distance at which sharpness reaches 0.76", f"our own step; {_EYE}",
                spread, ("sharpness there", 0.76, ""), decimals=0,
                words=distance_words(round(look.sharp_from_mm, -1)),
            )
        )  # fmt: skip
    return tuple(figures)


def _fitted(look: LookPlan) -> tuple[Figure, ...]:
    fitted = look.fitted
    if fitted is None:
        return ()
    return (
        one_figure(
            "fitted-strength", "Sharpening that fits file, paper and distance", fitted.strength,
            "", f"the least strength, in steps of 0.05, that reaches what is wanted; here "
            f"{BOUND_WORDS[fitted.bound_by]}", "docs/theory/acutance.md",
            ("wanted", fitted.target, ""), ("reached", fitted.reached, ""),
            ("radius", fitted.radius_mm, "mm"), ("rims", fitted.halo_width_mm, "mm"),
            ("rims at most", fitted.halo_limit_mm, "mm"),
            ("overshoot, 5 at most", fitted.overshoot_l, "L*"),
            ("growth of noise, 1.25 at most", fitted.noise_gain, ""), decimals=2,
        ),
    )  # fmt: skip


def _grain(look: LookPlan) -> tuple[Figure, ...]:
    grain = look.grain
    if grain is None:
        return ()
    return (
        one_figure(
            "grain", "Grain on the print", grain.sigma_l, "L*",
            "its power spectrum up to what the raster holds, summed; the eye's threshold in its "
            "most sensitive octave", "Barten (1999); docs/theory/true-detail.md",
            ("size of a grain", grain.size_mm, "mm"),
            ("times what the eye can just see", grain.times_threshold, ""), decimals=1,
        ),
    )  # fmt: skip


def _rims(look: LookPlan) -> tuple[Figure, ...]:
    rims = look.file_halo
    if rims is None:
        return ()
    return (
        one_figure(
            "file-rims", "Halos the file already has, on the print", rims.width_mm, "mm",
            "width of both halos in the file × print pixels for one of the file's ÷ raster",
            "measured on the picture's edges; docs/theory/true-detail.md",
            ("noticed nearer than", rims.visible_from_mm, "mm"), decimals=2,
        ),
    )  # fmt: skip
