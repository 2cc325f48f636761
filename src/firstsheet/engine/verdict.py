"""What the plan says about the ticket's words and the print file, and its verdict in one sentence.

Takes records already decided; gives findings and the verdict. Size: `sizing_findings`. Colour:
`colour_findings`. Tests: tests/engine/test_plan.py.
"""

from __future__ import annotations

import math

from firstsheet.engine.findings import choice, finding, shown
from firstsheet.engine.light.findings import NEAREST_MM
from firstsheet.engine.records import Finding, Ticket
from firstsheet.engine.records.plan import OutputPlan, SheetPlan, SizePlan
from firstsheet.engine.sizing.findings import WARN_PPI
from firstsheet.engine.sizing.size import LARGE_PRINT_PPI, beyond_eye_from_mm, grade, is_large
from firstsheet.engine.units import both_units, distance_words

__all__ = ["earlier_word_findings", "output_findings", "verdict"]


def earlier_word_findings(ticket: Ticket) -> tuple[Finding, ...]:
    """Words of earlier versions that stand in the ticket, and what they were read as."""
    return tuple(
        finding(
            "earlier-word",
            "fine",
            f"The ticket says {one.line} = {one.word}, a word of an earlier version.",
            f"It is read as {one.now}." if one.now else "It is read as if the line were left out.",
            choice(
                f"Write {one.now} there." if one.now else "Leave the line out.",
                {one.line: one.now},
            ),
        )
        for one in ticket.earlier
    )


def output_findings(output: OutputPlan, sheet: SheetPlan) -> tuple[Finding, ...]:
    """What the print file itself makes necessary."""
    found = []
    if output.big_tiff:
        found.append(
            finding(
                "big-tiff",
                "caution",
                f"The print file is {output.print_file_bytes / 1e9:.2f} GB: "
                f"{sheet.width_px} × {sheet.height_px} pixels at {output.bits} bit.",
                "Above 4 GiB only a BigTIFF holds it; some labs and older programs read none.",
                "Ask the lab first.",
                *(
                    (choice("Write 8 bit instead: half the size.", {"output.bits": "8"}),)
                    if output.bits == 16
                    else ()
                ),
                source="TIFF 6.0: offsets of 32 bits",
                figures={"bytes": output.print_file_bytes},
            )
        )
    return tuple(found)


def verdict(size: SizePlan, findings: tuple[Finding, ...]) -> str:
    """One honest sentence: good enough or not, at which distance, and why."""
    stops = [one for one in findings if one.weight == "stop"]
    minds = [one for one in findings if one.weight == "caution"]
    ppi, large = size.true_ppi or size.effective_ppi, is_large(size.width_mm, size.height_mm)
    of = " of true detail" if size.true_ppi else ""
    at = f"{shown('effective-ppi', f'{round(ppi)} ppi')}{of} at {both_units(size.width_mm)} wide"
    whole_cm_mm = math.ceil(beyond_eye_from_mm(ppi) / 10) * 10.0
    beyond = (
        "Single pixels cannot be seen from any distance at which eyes focus."
        if whole_cm_mm < NEAREST_MM
        else f"Single pixels cannot be seen from {distance_words(whole_cm_mm)} or farther."
    )
    if stops:
        return f"Not ready to print: {stops[0].found}"
    too_little = size.true_ppi is not None and round(ppi) < (
        LARGE_PRINT_PPI[0] if large else WARN_PPI
    )
    if too_little or any(one.code == "too-few-pixels" for one in minds):
        least = f"{LARGE_PRINT_PPI[0]}–{LARGE_PRINT_PPI[1]}" if large else str(WARN_PPI)
        return f"Too soft for close viewing: {at}, and at least {least} is wanted. {beyond}"
    cautions = f" With {len(minds)} caution{'s' if len(minds) > 1 else ''}." if minds else ""
    rating = grade(ppi)
    return f"{rating[0].upper()}{rating[1:]}: {at}. {beyond}{cautions}"
