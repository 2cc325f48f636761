"""Turns facts about a picture into findings: found, consequence, choices.

One small function per kind of finding lives in `findings_colour`, `findings_tones` and
`findings_container`; the table ROWS puts them in the order in which a person wants to read them.
Refusals are not findings: the room that opens files raises them. Theory:
docs/theory/judging.md. Tests: tests/engine/file/test_findings.py.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from firstsheet.engine.file import findings_colour, findings_container, findings_tones
from firstsheet.engine.records import Finding, PictureFacts

__all__ = ["ROWS", "picture_findings"]

Row = Callable[[PictureFacts], Finding | None]

ROWS: Final[Mapping[str, Row]] = MappingProxyType(
    {
        "output-profile": findings_colour.output_profile,
        "uninverted-negative": findings_tones.uninverted_negative,
        "untagged-rgb": findings_colour.untagged_rgb,
        "untagged-grey": findings_colour.untagged_grey,
        "broken-profile": findings_colour.broken_profile,
        "flag-against-profile": findings_colour.flag_against_profile,
        "screen-profile": findings_colour.screen_profile,
        "input-profile": findings_colour.input_profile,
        "cmyk-tagged": findings_colour.cmyk_tagged,
        "lab-file": findings_colour.lab_file,
        "clipped": findings_tones.clipped,
        "sixteen-bit-is-eight": findings_tones.sixteen_bit_is_eight,
        "eight-bit-wide": findings_colour.eight_bit_wide,
        "comb": findings_tones.comb,
        "jpeg-artefacts": findings_tones.jpeg_artefacts,
        "line-art": findings_tones.line_art,
        "palette": findings_tones.palette,
        "film-border": findings_tones.film_border,
        "several-pages": findings_container.several_pages,
        "large-file": findings_container.large_file,
        "wrong-extension": findings_container.wrong_extension,
        "multi-picture": findings_container.multi_picture,
        "orientation-applied": findings_container.orientation_applied,
        "orientation-ignored": findings_container.orientation_ignored,
        "eight-bit": findings_tones.eight_bit,
        "alpha-opaque": findings_container.alpha_opaque,
        "extra-channels": findings_container.extra_channels,
        "tag-resolution-ignored": findings_container.tag_resolution_ignored,
    }
)

# A finding of the first name leaves no need for the second.
_COVERS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "eight-bit-wide": ("eight-bit",),
        "line-art": ("eight-bit", "comb", "clipped"),
        "palette": ("eight-bit", "comb"),
        # What the opening room says itself, with more knowledge of the file:
        "orientation-conflict": ("orientation-applied",),
        "profile-mismatch": ("broken-profile", "untagged-rgb", "untagged-grey"),
        "profile-unreadable": ("broken-profile",),
        "read-as": ("untagged-rgb", "untagged-grey"),
    }
)


def picture_findings(facts: PictureFacts) -> tuple[Finding, ...]:
    """Say everything the facts of a picture call for, the weightiest first.

    Parameters
    ----------
    facts
        What the file is. Findings it already carries are neither repeated nor returned; where
        one of them says the same with more knowledge, ours is left out.

    Returns
    -------
    tuple of Finding
        At most one per code of ROWS; `stop` before `mind` before `fine`, else in table order.
    """
    said = {finding.code for finding in facts.findings}
    found = {
        code: finding
        for code, row in ROWS.items()
        if code not in said and (finding := row(facts)) is not None
    }
    covered = {code for by in said | found.keys() if by in _COVERS for code in _COVERS[by]}
    order = {"stop": 0, "caution": 1, "fine": 2}
    kept = [finding for code, finding in found.items() if code not in covered]
    return tuple(sorted(kept, key=lambda finding: order[finding.weight]))
