"""What the regions of a picture mean for its print, as findings.

Takes the losses by region and, for black-and-white, tone and grey axis; gives findings.
Tests: tests/engine/loss/regions/test_region_findings.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from firstsheet.engine.findings import PRACTICE, choice, finding, joined
from firstsheet.engine.loss.regions.neutral import FileTone, GreyAxis
from firstsheet.engine.records import Finding
from firstsheet.engine.records.losses import EdgeMelt, PictureLosses

__all__ = ["of_no_place", "region_findings"]

_LEAST_EDGE_MM: Final = 10.0


def region_findings(
    losses: PictureLosses, *, tone: FileTone | None = None, axis: GreyAxis | None = None
) -> tuple[Finding, ...]:
    """Say what truly loses, which edges melt, and whether greys stay grey."""
    return (_regions(losses), *_edge(losses.ends.edge), *_greys(tone, axis))


def of_no_place(findings: Sequence[Finding]) -> tuple[str, ...]:
    """What findings say that is true of no one place: edges that melt, greys that drift or stay."""
    return tuple(
        one.found if one.code == "edge-melts" else one.consequence
        for one in findings
        if one.code in ("edge-melts", "greys-drift", "greys-stay")
    )


def _regions(losses: PictureLosses) -> Finding:
    hurt = [one for one in losses.regions if one.weight == "caution"]
    if not hurt:
        return finding(
            "nothing-truly-lost",
            "fine",
            losses.verdict,
            "Colours out of gamut that keep their separation are no fault.",
            figures={"moved_fine_percent": losses.moved_fine_percent},
        )
    more = len(hurt) - 1
    others = f" {more} smaller {'area loses' if more == 1 else 'areas lose'} less." if more else ""
    return finding(
        "regions-lose",
        "caution",
        hurt[0].words[0].upper() + hurt[0].words[1:],
        f"The print shows less detail there than the file holds.{others}",
        choice("See every area that loses.", goes_to="losses"),
        choice("See which paper and intent lose least.", goes_to="compare"),
        figures={
            "places": len(hurt),
            "hurt_percent": losses.hurt_percent,
            "lost_total": losses.lost_total,
        },
    )


def _edge(edge: EdgeMelt) -> tuple[Finding, ...]:
    if edge.total_mm < _LEAST_EDGE_MM:
        return ()
    sides = (
        ("top", edge.top_mm),
        ("right", edge.right_mm),
        ("bottom", edge.bottom_mm),
        ("left", edge.left_mm),
    )
    said = [
        f"{length / 10.0:.0f} cm of the {name} edge"
        for name, length in sides
        if length >= _LEAST_EDGE_MM
    ]
    where = joined(said) if said else f"{edge.total_mm / 10.0:.0f} cm of the edges"
    return (
        finding(
            "edge-melts",
            "caution",
            f"{where} will print as white as the paper (within ΔE00 2).",
            "The border will seem to run into the picture there.",
            "Bring textured highlights down to about L* 97.",
            "Add a thin keyline, or mount it behind a mat.",
            source=PRACTICE,
            figures={"edge_mm": edge.total_mm},
        ),
    )


def _greys(tone: FileTone | None, axis: GreyAxis | None) -> tuple[Finding, ...]:
    if tone is None or axis is None or tone.kind == "colour":
        return ()
    if axis.neutral:
        return (finding("greys-stay", "fine", tone.words, axis.words),)
    return (
        finding(
            "greys-drift",
            "caution",
            tone.words,
            axis.words,
            choice(
                "Keep the picture's own colours and use the printer's own grey mode.",
                {"colour.keep": "true"},
            ),
            "Tone the file slightly warm on purpose; that hides a small cast.",
            source=PRACTICE,
            figures={
                "largest_shift_ab": axis.largest_shift,
                "at_l": axis.largest_at_l,
                "crossovers": len(axis.crossovers_l),
            },
        ),
    )
