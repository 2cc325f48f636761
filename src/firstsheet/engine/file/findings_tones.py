"""Findings about tones: bits, steps, clipping, JPEG damage, negatives, film edges.

Pure functions from PictureFacts to a Finding or None. Rules and thresholds:
docs/theory/judging.md. Tests: tests/engine/file/test_findings.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from firstsheet.engine.file.mask import MASK_ASKS_FROM
from firstsheet.engine.findings import finding
from firstsheet.engine.records import ChannelFacts, Finding, PictureFacts, Weight

__all__ = [
    "clipped",
    "comb",
    "eight_bit",
    "film_border",
    "jpeg_artefacts",
    "line_art",
    "palette",
    "sixteen_bit_is_eight",
    "uninverted_negative",
]

# Common practice, no source, unless said otherwise; docs/theory/judging.md.
_COMB_TOLD_PERCENT: Final = 2.0
_JPEG_GOOD: Final = 90
_JPEG_POOR: Final = 75
_BORDER_TOLD_PERCENT: Final = 0.5
_CLIP_TOLD_PERCENT: Final = 0.1
_CLIP_HIGH_CAUTION_PERCENT: Final = 0.5
_CLIP_LOW_CAUTION_PERCENT: Final = 2.0
_PATCH_CAUTION_PERCENT: Final = 0.25
_CHANNEL_WORDS: Final = {
    "R": "red",
    "G": "green",
    "B": "blue",
    "K": "grey",
    "C": "cyan",
    "M": "magenta",
    "Y": "yellow",
    "L": "lightness",
}


def eight_bit(facts: PictureFacts) -> Finding | None:
    """Eight bits per channel: enough for most, not for large edits."""
    if facts.bits != 8 or facts.sample_format != "uint" or facts.palette_colours is not None:
        return None
    return finding(
        code="eight-bit",
        weight="fine",
        found="The picture has 8 bits per channel.",
        consequence="Steps are 0.27 to 0.5 L* in sRGB: hidden by grain, visible in clean wide "
        "gradients. It is worked on with 16 bits from here on.",
        choices=("If it will be edited much, scan or render again with 16 bits.",),
        source="step heights computed from the sRGB curve",
    )


def sixteen_bit_is_eight(facts: PictureFacts) -> Finding | None:
    """A 16-bit file that holds no more than 256 levels."""
    if facts.bits <= 8 or facts.sample_format != "uint" or facts.true_bits > 8:
        return None
    levels = max((one.levels_used for one in facts.channels), default=256)
    return finding(
        code="sixteen-bit-is-eight",
        weight="caution",
        found=f"The file has {facts.bits} bits per channel but only {levels} levels: it was "
        f"{facts.true_bits}-bit once.",
        consequence="It carries no finer steps than an 8-bit file; edits can show bands.",
        choices=("Scan again with 16 bits from the start.", "Nothing, where grain covers it."),
        figures={"bits": facts.bits, "true_bits": facts.true_bits, "levels": levels},
    )


def line_art(facts: PictureFacts) -> Finding | None:
    """One bit per pixel."""
    if facts.bits != 1:
        return None
    return finding(
        code="line-art",
        weight="caution",
        found="The picture has 1 bit per pixel: black and white, no tones.",
        consequence="It prints as line art; resizing gives its edges a grey fringe.",
        choices=("For tones, scan again as grey with 16 bits.",),
    )


def palette(facts: PictureFacts) -> Finding | None:
    """Colours from a palette."""
    if facts.palette_colours is None:
        return None
    return finding(
        code="palette",
        weight="caution",
        found=f"The picture takes its colours from a palette of {facts.palette_colours:,}.",
        consequence="Expect visible steps in skies and skin.",
        choices=("Go back to the picture before it was reduced.",),
        figures={"palette_colours": facts.palette_colours},
    )


def jpeg_artefacts(facts: PictureFacts) -> Finding | None:
    """JPEG quality below what large prints want."""
    quality = facts.jpeg_quality
    if quality is None or quality >= _JPEG_GOOD:
        return None
    poor = quality < _JPEG_POOR
    coarse = facts.chroma_sampling not in (None, "4:4:4")
    halved = (
        f" Colour is stored coarser than lightness ({facts.chroma_sampling})." if coarse else ""
    )
    return finding(
        code="jpeg-artefacts",
        weight="caution" if poor else "fine",
        found=f"The JPEG was saved at a quality of about {quality} of 100.{halved}",
        consequence="Blocks and fringes are likely to show in a print of any size."
        if poor
        else "One such save is harmless in a small print; edges may show fringes in a large one.",
        choices=("Ask for the original, or save it again from the master at 95 or as TIFF.",),
        figures={"jpeg_quality": quality, "chroma_sampling": facts.chroma_sampling or "none"},
        source="quality scale of the Independent JPEG Group on the tables of ITU-T T.81 annex K; "
        "90 for large prints is common practice",
    )


def clipped(facts: PictureFacts) -> Finding | None:
    """Tones cut off at the ends, per channel and as the largest patch."""
    if facts.colour_model == "cmyk":  # no ink is paper there, and all ink is usual
        return None
    looked_at = [one for one in facts.channels if one.name in _CHANNEL_WORDS]
    high = [one for one in looked_at if one.clipped_high_percent >= _CLIP_TOLD_PERCENT]
    low = [one for one in looked_at if one.clipped_low_percent >= _CLIP_TOLD_PERCENT]
    if not (high or low) or facts.bits == 1:
        return None
    parts = []
    if high:
        parts.append("highlights " + _list(high, "clipped_high_percent"))
    if low:
        parts.append("shadows " + _list(low, "clipped_low_percent"))
    patch = max(
        [0.0]
        + [one.largest_high_patch_percent for one in high]
        + [one.largest_low_patch_percent for one in low]
    )
    largest = f" The largest patch is {patch:.2f} % of the picture." if patch >= 0.005 else ""
    return finding(
        code="clipped",
        weight=_clip_weight(high, low),
        found=f"Clipped: {' and '.join(parts)}.{largest}",
        consequence=_clip_consequence(high, low),
        choices=(
            "If it is a scan, scan again with room at both ends.",
            "Nothing, where only glints and deep shadows are cut.",
        ),
        figures={
            **{f"{one.name}_high_percent": round(one.clipped_high_percent, 3) for one in high},
            **{f"{one.name}_low_percent": round(one.clipped_low_percent, 3) for one in low},
            "largest_patch_percent": round(patch, 3),
        },
        source="thresholds: common practice, no source",
    )


def _list(channels: Sequence[ChannelFacts], share: str) -> str:
    return ", ".join(
        f"in {_CHANNEL_WORDS[one.name]} ({getattr(one, share):.1f} %)" for one in channels
    )


def _clip_weight(high: Sequence[ChannelFacts], low: Sequence[ChannelFacts]) -> Weight:
    serious = any(
        one.clipped_high_percent >= _CLIP_HIGH_CAUTION_PERCENT
        or one.largest_high_patch_percent >= _PATCH_CAUTION_PERCENT
        for one in high
    ) or any(one.clipped_low_percent >= _CLIP_LOW_CAUTION_PERCENT for one in low)
    return "caution" if serious else "fine"


def _clip_consequence(high: Sequence[ChannelFacts], low: Sequence[ChannelFacts]) -> str:
    if high and low:
        return "No detail is left in those highlights and shadows; no print brings it back."
    if high:
        return "No detail is left in those highlights; they print as bare paper or flat colour."
    return "No detail is left in those shadows; they print as one tone."


def comb(facts: PictureFacts) -> Finding | None:
    """Empty levels between used ones: tones were pulled apart."""
    worst = max(facts.channels, key=lambda one: one.comb_percent, default=None)
    if worst is None or worst.comb_percent < _COMB_TOLD_PERCENT:
        return None
    if facts.palette_colours is not None or facts.bits == 1:
        return None
    name = _CHANNEL_WORDS.get(worst.name, worst.name)
    if facts.colour_model == "cmyk" and worst.name == "K":
        name = "black"
    return finding(
        code="comb",
        weight="caution",
        found=f"{worst.comb_percent:.0f} % of the levels between darkest and lightest are empty "
        f"(worst in {name}): the tones were pulled apart after they were recorded.",
        consequence="Steps in smooth gradients are larger than the bit depth suggests.",
        choices=("Repeat the edit on a 16-bit original.", "Nothing, where grain covers it."),
        figures={"comb_percent": round(worst.comb_percent, 2), "channel": worst.name},
        source="only levels where at least 9 pixels were to be expected are counted",
    )


def uninverted_negative(facts: PictureFacts) -> Finding | None:
    """Orange all over: perhaps a colour negative as scanned."""
    if facts.mask_confidence is None or facts.mask_confidence < MASK_ASKS_FROM:
        return None
    return finding(
        code="uninverted-negative",
        weight="caution",
        found="Lights and darks are equally orange, and there is no black: is this a colour "
        "negative that was not inverted?",
        consequence="If it is, the print would be a negative too.",
        choices=(
            "If it is one, invert it first and open the result.",
            "If it is a picture of warm light, go on: nothing is changed.",
        ),
        figures={"confidence": round(facts.mask_confidence, 2)},
        source="our own rule, tried on made negatives and photographs",
    )


def film_border(facts: PictureFacts) -> Finding | None:
    """Film edge or holder left around the picture."""
    if facts.film_border_percent < _BORDER_TOLD_PERCENT:
        return None
    return finding(
        code="film-border",
        weight="caution",
        found=f"An even frame of about {facts.film_border_percent:.0f} % of the area lies around "
        "the picture: film edge, holder or a scanned border.",
        consequence="It would be printed, and it falsifies statistics such as clipping.",
        choices=("Crop it off in the master.", "Nothing, if the frame is wanted."),
        figures={"film_border_percent": round(facts.film_border_percent, 2)},
    )
