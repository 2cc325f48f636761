"""What the file truly holds, in one record and a few sentences.

Takes the picture's size and a reader of lightness, or the facts already measured; gives
DetailFacts. Every figure carries its confidence, and what cannot be told is said so.
Theory: docs/theory/true-detail.md. Tests: tests/engine/detail/test_verdict.py.
"""

from __future__ import annotations

import math
from typing import Final

from firstsheet.engine.detail.double_jpeg import double_jpeg_sentence
from firstsheet.engine.detail.edges import edge_facts, edge_profiles
from firstsheet.engine.detail.enlargement import enlarged
from firstsheet.engine.detail.grain import noise_facts
from firstsheet.engine.detail.halo import halo_facts
from firstsheet.engine.detail.jpegblocks import block_facts
from firstsheet.engine.detail.steps import step_facts
from firstsheet.engine.detail.survey import LEAST_PX, Read, choose_tiles, nothing_seen
from firstsheet.engine.records.detail import (
    BlockFacts,
    DetailFacts,
    DoubleJpegFacts,
    EdgeFacts,
    EnlargedFacts,
    FilmDetail,
    HaloFacts,
    Limit,
    NoiseFacts,
    Rescan,
    StepFacts,
)
from firstsheet.engine.sharpness.eye import F10_SIGMA

__all__ = [
    "analyse",
    "conclude",
    "film_detail",
    "with_double_jpeg",
]


_NYQUIST: Final = 0.5
_FULL: Final = 0.9  # share of Nyquist from which the pixels are called the limit
_HIDDEN: Final = 0.7  # confidence in "no sign" where JPEG could have hidden it
_WORTH: Final = 1.2  # a possible gain below this is not called one
_SURE_LIMIT: Final = 0.35  # confidence below which nothing is said of a rescan
_SURE: Final = 0.5  # confidence below which nothing is concluded
_MOST_GAIN: Final = 3.0  # more is never promised
_FILM_LP_PER_MM: Final = 80.0  # of film at low contrast, from memory; a cap for promises


def analyse(width: int, height: int, read: Read) -> DetailFacts:
    """Measure everything about one picture.

    Parameters
    ----------
    width, height
        Pixels of the stored picture.
    read
        Gives L* of a rectangle, read(top, bottom, left, right); called with full-width bands
        of at most 128 rows, from top to bottom. Of a picture with a side below 16 px nothing is
        read, and nothing can be told.
    """
    too_small = min(width, height) < LEAST_PX
    survey = nothing_seen(width, height) if too_small else choose_tiles(width, height, read)
    profiles = edge_profiles(survey.edge_tiles)
    return conclude(
        width_px=width,
        height_px=height,
        read_percent=100.0 * survey.read_px / (width * height),
        edges=edge_facts(profiles),
        noise=noise_facts(survey.even_tiles),
        enlarged_facts=enlarged(survey),
        halo=halo_facts(profiles),
        blocks=block_facts(survey),
        steps=step_facts(survey.even_tiles),
    )


def conclude(
    *,
    width_px: int,
    height_px: int,
    read_percent: float,
    edges: EdgeFacts,
    noise: NoiseFacts,
    enlarged_facts: EnlargedFacts,
    halo: HaloFacts,
    blocks: BlockFacts,
    steps: StepFacts,
) -> DetailFacts:
    """Weigh the measured facts against each other."""
    megapixels = width_px * height_px / 1e6
    if enlarged_facts.verdict == "no sign" and blocks.told != "none":
        hidden = min(enlarged_facts.confidence, _HIDDEN)
        enlarged_facts = enlarged_facts.model_copy(update={"confidence": hidden})
    share, sure = _share(edges, enlarged_facts, halo)
    limit, limit_sure = _limit(share, sure, edges, noise, enlarged_facts)
    rescan, gain = _rescan(limit, limit_sure, edges, noise)
    effective = None if share is None else megapixels * share**2
    return DetailFacts(
        width_px=width_px,
        height_px=height_px,
        read_percent=round(read_percent, 1),
        edges=edges,
        noise=noise,
        enlarged=enlarged_facts,
        halo=halo,
        blocks=blocks,
        steps=steps,
        share=None if share is None else round(share, 3),
        share_confidence=round(sure, 3),
        megapixels=round(megapixels, 2),
        effective_megapixels=None if effective is None else round(effective, 2),
        limit=limit,
        limit_confidence=round(limit_sure, 3),
        rescan=rescan,
        rescan_gain=None if gain is None else round(gain, 2),
        sentences=(
            _detail_sentence(megapixels, effective, sure),
            _enlarged_sentence(enlarged_facts, blocks),
            _limit_sentence(limit, rescan, gain),
            *_damage_sentences(halo, blocks, steps),
        ),
    )


def with_double_jpeg(facts: DetailFacts, twice: DoubleJpegFacts) -> DetailFacts:
    """The same facts, with what was found of an earlier save."""
    said = double_jpeg_sentence(twice)
    sentences = (*facts.sentences, said) if said else facts.sentences
    return facts.model_copy(update={"double_jpeg": twice, "sentences": sentences})


def _share(
    edges: EdgeFacts, enlarged_facts: EnlargedFacts, halo: HaloFacts
) -> tuple[float | None, float]:
    """Share of Nyquist that is reached, and how sure that is."""
    if edges.tenth_cpp is not None:
        share = min(1.0, edges.tenth_cpp / _NYQUIST)
        sure = edges.confidence * (0.7 if halo.told == "clear" else 1.0)
        if enlarged_facts.factor is not None:
            share = min(share, 1.1 / enlarged_facts.factor)
        return share, sure
    if enlarged_facts.factor is not None:
        return min(1.0, 1.0 / enlarged_facts.factor), enlarged_facts.confidence
    return None, 0.0


def _limit(
    share: float | None,
    sure: float,
    edges: EdgeFacts,
    noise: NoiseFacts,
    enlarged_facts: EnlargedFacts,
) -> tuple[Limit, float]:
    """What keeps the picture from holding more."""
    if enlarged_facts.verdict == "enlarged":
        return "enlargement", enlarged_facts.confidence
    if share is None or sure < _SURE or edges.tenth_cpp is None:
        return "cannot tell", 0.0
    if share >= _FULL:
        return "pixels", sure
    if noise.tenth_cpp is None or noise.floor_share is None or noise.confidence < 0.3:
        return "cannot tell", 0.0
    if noise.floor_share > 0.5:  # noise from after the lens and the scanner's optics
        return "cannot tell", 0.0
    whole, scanner, left = _blurs(edges.tenth_cpp, noise.tenth_cpp)
    clearness = abs(scanner - left) / whole  # near 0 where both limit alike
    both = math.sqrt(sure * noise.confidence) * min(1.0, 0.6 + clearness)
    return ("scanner" if scanner >= left else "negative or lens"), both


def _blurs(edge_tenth_cpp: float, noise_tenth_cpp: float) -> tuple[float, float, float]:
    """Gaussian widths, px: of everything, of the scanner, and of what stood before it.

    Blurs add as squares where they are near Gaussian; the scanner's is known from the grain.
    What is left is held to a share of the whole, so that no gain above the most is promised.
    """
    whole, scanner = F10_SIGMA / edge_tenth_cpp, F10_SIGMA / noise_tenth_cpp
    return whole, scanner, math.sqrt(max(whole**2 - scanner**2, (whole / _MOST_GAIN) ** 2))


def _rescan(
    limit: Limit, sure: float, edges: EdgeFacts, noise: NoiseFacts
) -> tuple[Rescan, float | None]:
    """What a sharper scan would bring at most, where it was a scan."""
    known = edges.tenth_cpp is not None and noise.tenth_cpp is not None
    if limit not in ("scanner", "negative or lens") or sure < _SURE_LIMIT or not known:
        return "cannot tell", None
    assert edges.tenth_cpp is not None
    assert noise.tenth_cpp is not None
    whole, _, left = _blurs(edges.tenth_cpp, noise.tenth_cpp)
    gain = min(whole / left, _MOST_GAIN)
    return ("gains", gain) if gain >= _WORTH else ("only sharper grain", None)


def _detail_sentence(megapixels: float, effective: float | None, sure: float) -> str:
    """Pixels against detail."""
    has = f"Has {megapixels:.1f} megapixels" if megapixels >= 0.1 else "Has below 0.1 megapixels"
    if effective is None or sure < _SURE:
        return f"{has}; how much of that is detail cannot be told from this picture."
    if effective >= _FULL**2 * megapixels:
        return f"{has} and holds detail down to its pixels."
    return f"{has}, holds about {effective:.{1 if effective >= 0.1 else 2}f} of detail."


def _enlarged_sentence(facts: EnlargedFacts, blocks: BlockFacts) -> str:
    """Enlarged or not, never on thin evidence."""
    if facts.verdict == "enlarged" and facts.told_by == "mirror images":
        return (
            "Its finest detail only mirrors coarser detail, as after an enlargement, likely "
            f"×{facts.factor:.2f} (confidence {100 * facts.confidence:.0f} %)."
        )
    if facts.verdict == "enlarged":
        return (
            f"Shows the rhythm of an enlargement, likely ×{facts.factor:.2f} "
            f"(confidence {100 * facts.confidence:.0f} %)."
        )
    if facts.verdict == "maybe enlarged":
        return (
            f"May have been resampled at some time (confidence {100 * facts.confidence:.0f} %); "
            "if so, whether made larger or smaller cannot be told."
        )
    if facts.verdict == "no sign" and blocks.told != "none":
        return "Shows no sign of having been enlarged; its compression could hide one."
    if facts.verdict == "no sign":
        return "Shows no sign of having been enlarged."
    return "Whether it was enlarged cannot be told."


def _limit_sentence(limit: Limit, rescan: Rescan, gain: float | None) -> str:
    """What limits, and what a rescan would do."""
    if limit == "pixels":
        return "The pixels are the limit: if this is a scan, a finer one may hold more."
    if limit == "enlargement":
        return "The enlargement added pixels, not detail: ask for the file it was made from."
    would = "a rescan would only give sharper grain"
    if rescan == "gains" and gain is not None:
        would = f"a rescan would gain up to {gain:.1f}× in size"
    if limit == "scanner" and rescan != "cannot tell":
        return f"Grain and detail end together, so the scanner is the limit: {would}."
    if limit == "negative or lens" and rescan != "cannot tell":
        return f"The grain is sharper than the detail, so negative or lens is the limit: {would}."
    return "Which part limits the detail cannot be told."


def _damage_sentences(halo: HaloFacts, blocks: BlockFacts, steps: StepFacts) -> list[str]:
    """Sharpening, compression and steps, only where found."""
    said = []
    if halo.told in ("slight", "clear"):
        said.append(
            f"Sharpened already: {halo.overshoot_percent:.0f} % overshoot, rims "
            f"{halo.width_px:.1f} px wide."
        )
    if blocks.told == "plain":
        said.append(f"JPEG blocks stand out by {blocks.border_l:.1f} L*: ask for the original.")
    elif blocks.told == "faint":
        said.append("Was saved as JPEG at some time; the blocks are faint.")
    if steps.told == "stepped":
        said.append(
            f"Gradients go in steps of {steps.step_l:.1f} L* over runs of {steps.run_px:.0f} px."
        )
    return said


def film_detail(facts: DetailFacts, *, scan_spi: float) -> FilmDetail | None:
    """Carry the share onto the film: spi of true detail, line pairs per mm, possible gain.

    50.8 spi are one line pair per mm. A gain is capped where it would ask more than
    80 lp/mm of the film (from memory, low contrast).
    """
    if facts.share is None or facts.share_confidence < _SURE:
        return None
    true_spi = facts.share * scan_spi
    lp_per_mm = true_spi / 50.8
    gain = facts.rescan_gain
    if gain is not None:
        gain = min(gain, _FILM_LP_PER_MM / lp_per_mm)
        gain = round(gain, 2) if gain >= 1.1 else None
    said = f"Scanned at {scan_spi:,.0f} spi, holds about {round(true_spi, -1):,.0f} spi of detail"
    if gain is not None:
        said += f"; a sharper scan would gain up to {gain:.1f}× in size"
    elif facts.rescan == "only sharper grain":
        said += "; a finer scan would only give sharper grain"
    return FilmDetail(
        scan_spi=scan_spi,
        true_spi=round(true_spi, 0),
        lp_per_mm=round(lp_per_mm, 1),
        gain=gain,
        sentence=f"{said}.",
    )
