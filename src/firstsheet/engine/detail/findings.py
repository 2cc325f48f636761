"""What true detail says about a wished size: it takes the place of the pixels where it is sure.

Takes DetailFacts and a SizePlan; gives the ppi to judge by, and findings.
Theory: docs/theory/true-detail.md. Tests: tests/engine/test_detail_findings.py.
"""

from __future__ import annotations

from firstsheet.engine.findings import finding
from firstsheet.engine.records import Finding
from firstsheet.engine.records.detail import DetailFacts
from firstsheet.engine.records.plan import SizePlan
from firstsheet.engine.sizing.findings import smaller_print
from firstsheet.engine.sizing.size import LARGE_PRINT_PPI, grade
from firstsheet.engine.units import px_to_mm, size_words

__all__ = ["SURE", "detail_findings", "true_ppi"]

SURE = 0.6  # below this confidence the pixels are taken at their word
_CLEARLY_LESS = 0.75  # a share of detail above this is not worth a warning


def true_ppi(detail: DetailFacts | None, effective_ppi: float) -> float | None:
    """Pixels per inch of true detail; None where it is not clearly less, or cannot be told.

    Parameters
    ----------
    detail
        What was measured of the picture.
    effective_ppi
        The file's own pixels per inch at the wished size.
    """
    if detail is None or detail.share is None or detail.share_confidence < SURE:
        return None
    return detail.share * effective_ppi if detail.share < _CLEARLY_LESS else None


def detail_findings(detail: DetailFacts | None, size: SizePlan) -> tuple[Finding, ...]:
    """Say how much of the pixels is detail, where that is known and matters."""
    saved = _saved_twice(detail)
    if detail is None or size.true_ppi is None:
        return saved
    fits = LARGE_PRINT_PPI[1]
    share = size.true_ppi / size.effective_ppi
    largest_mm = px_to_mm(size.crop_width_px * share, fits)
    smaller = smaller_print(largest_mm, f": {fits} ppi of true detail.")
    enlarged = detail.enlarged.verdict == "enlarged"
    found = detail.sentences[0]
    if enlarged:
        found = f"{found} {detail.sentences[1]}"
    return (
        finding(
            "less-detail-than-pixels",
            "caution",
            found,
            f"At {size_words(size.width_mm, size.height_mm)} that is about "
            f"{size.true_ppi:.0f} ppi of true detail, not {size.effective_ppi:.0f}: "
            f"{grade(size.true_ppi)}.",
            "Ask for the file it was made from." if enlarged else _where_more(detail),
            *smaller,
            source="measured from edges and grain of the picture; docs/theory/true-detail.md",
            figures={
                "share_percent": round(100 * share, 1),
                "confidence_percent": round(100 * detail.share_confidence),
                "true_ppi": round(size.true_ppi, 1),
            },
        ),
        *saved,
    )


def _saved_twice(detail: DetailFacts | None) -> tuple[Finding, ...]:
    """Say that a JPEG was saved before at a lower quality than its table tells."""
    twice = detail.double_jpeg if detail is not None else None
    if twice is None or twice.told != "twice" or twice.first_quality is None:
        return ()
    return (
        finding(
            "saved-twice",
            "caution",
            f"This JPEG was saved at least twice, before this at a quality of about "
            f"{twice.first_quality} of 100 (confidence {100 * twice.confidence:.0f} %).",
            "The quality its last save promises is not the quality it has: blocks and rims of the "
            "first save stay.",
            "Ask for the file it was made from.",
            "If this is the best there is, print it smaller.",
            source="measured; docs/theory/jpeg-twice.md",
            figures={
                "first_quality": twice.first_quality,
                "confidence_percent": round(100 * twice.confidence),
            },
        ),
    )


def _where_more(detail: DetailFacts) -> str:
    if detail.rescan == "gains" and detail.rescan_gain is not None:
        return f"If it is a scan, a sharper one would gain up to {detail.rescan_gain:.1f}× in size."
    if detail.rescan == "only sharper grain":
        return "A finer scan would only give sharper grain."
    return "Go back to a sharper original, if there is one."
